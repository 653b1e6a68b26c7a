"""Tokens: claims signed as a JWS in compact form (RFC 7515), and read back only when nothing of them was altered.

Rules of this file
------------------
- Ed25519 (RFC 9864) and nothing else, whatever a token's header says; keys come from the ring, never from the token.
- Claims are canonical JSON (RFC 8785), so that the same claims are the same bytes, and with Ed25519 the same token.
- One token has one spelling: base64url without spare bits, so that no byte can be changed without notice.
"""

import base64
import binascii
import json
import re
from collections.abc import Mapping
from typing import Any, Final

import rfc8785
from joserfc import jws
from joserfc.errors import JoseError

from service.planner.messages import say
from service.sales.errors import AlgorithmRefused, SigningKeyUnknown, TokenUnreadable
from service.sales.keys import ALGORITHM, Ring

TYPE: Final = "shin-wall-quote"
"""The `typ` of our tokens, so that no other token signed with the key is taken for one"""
_ALTERED: Final = say("quote.altered", "The quote was altered on its way.")
_NO_QUOTE: Final = say("quote.none", "This is no quote of this service.")
LONGEST: Final = 200_000
"""Characters of a token that is looked at [-]"""
_FORM: Final = re.compile(r"[A-Za-z0-9_-]+\.[A-Za-z0-9_-]+\.[A-Za-z0-9_-]{86}", re.ASCII)
_REGISTRY: Final = jws.JWSRegistry(algorithms=[ALGORITHM])


def sign(ring: Ring, claims: Mapping[str, Any]) -> str:
    """Sign claims.

    Parameters
    ----------
    ring
        The keys.
    claims
        JSON values.
    """
    header = {"alg": ALGORITHM, "kid": ring.signing, "typ": TYPE}
    return jws.serialize_compact(
        header, rfc8785.dumps(dict(claims)), ring.keys[ring.signing], registry=_REGISTRY
    )


def verify(ring: Ring, token: str) -> dict[str, Any]:
    """The claims of a token that this service signed.

    Parameters
    ----------
    ring
        The keys.
    token
        The token as it came.

    Raises
    ------
    TokenUnreadable, AlgorithmRefused, SigningKeyUnknown
        When it is no token, was altered, or was signed otherwise or by another.
    """
    header = _header(token)
    if header.get("alg") != ALGORITHM:
        raise AlgorithmRefused(say("quote.algorithm", "Quotes are signed with Ed25519 and nothing else."))
    key = ring.keys.get(str(header.get("kid")))
    if key is None:
        raise SigningKeyUnknown(
            say("quote.key_unknown", "The quote was signed with a key that this service does not have.")
        )
    try:
        claims = json.loads(jws.deserialize_compact(token, key, registry=_REGISTRY).payload)
    except (JoseError, ValueError):
        raise TokenUnreadable(_ALTERED) from None
    if header.get("typ") != TYPE or not isinstance(claims, dict):
        raise TokenUnreadable(_NO_QUOTE)
    return claims


def _header(token: str) -> dict[str, Any]:
    """Read the protected header of something that has the form of a token."""
    if len(token) > LONGEST or "." not in token:
        raise TokenUnreadable(_NO_QUOTE)
    try:
        header = json.loads(_bytes(token.partition(".")[0]))
    except ValueError:
        raise TokenUnreadable(_NO_QUOTE) from None
    if not isinstance(header, dict):
        raise TokenUnreadable(_NO_QUOTE)
    if header.get("alg") == ALGORITHM and not (
        _FORM.fullmatch(token) and all(map(_one_spelling, token.split(".")))
    ):
        raise TokenUnreadable(_ALTERED)
    return header


def _bytes(part: str) -> bytes:
    try:
        return base64.b64decode(part + "=" * (-len(part) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, UnicodeEncodeError) as error:
        raise ValueError from error


def _one_spelling(part: str) -> bool:
    """Tell whether a part is spelled as we spell it: the spare bits of its last character are zero."""
    try:
        return base64.urlsafe_b64encode(_bytes(part)).rstrip(b"=").decode() == part
    except ValueError:
        return False
