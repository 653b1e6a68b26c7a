"""The keys that quotes are signed with: one signs, the ones before it still verify.

Rules of this file
------------------
- A ring is written as a JWK set (RFC 7517) with private keys; its first key signs, all of them verify: rotation is a new
  first key, and leaving the old one out once its last quote has expired.
- A key is named by its thumbprint (RFC 7638), so that two services never give one name to two keys.
- What is published has no private part.
"""

import json
from collections.abc import Mapping
from typing import Any, Final

from joserfc.errors import JoseError
from joserfc.jwk import OKPKey

from service.planner.records import record

ALGORITHM: Final = "Ed25519"
"""The one algorithm, by its name in RFC 9864, section 2.2"""
MOST: Final = 20
"""Keys in a ring at most [-]"""


class RingUnreadable(ValueError):
    """A text that is no ring of keys."""


@record
class Ring:
    """The keys of a service."""

    signing: str
    """Name of the key that signs"""
    keys: Mapping[str, OKPKey]
    """Every key by its name, the signing one first"""


def new_ring() -> bytes:
    """Make a ring of one new key, as it is kept."""
    key = OKPKey.generate_key(ALGORITHM)
    return json.dumps({"keys": [key.as_dict(private=True)]}).encode()


def read_ring(text: str | bytes) -> Ring:
    """Read a ring as it is kept.

    Parameters
    ----------
    text
        A JWK set with private Ed25519 keys, the signing one first.

    Raises
    ------
    RingUnreadable
        When it is anything else; nothing of the text is repeated.
    """
    try:
        found = [_key(entry) for entry in json.loads(text)["keys"][:MOST]]
    except (ValueError, TypeError, KeyError, JoseError):
        raise RingUnreadable("this is not a JWK set of private Ed25519 keys") from None
    if not found:
        raise RingUnreadable("the JWK set has no key")
    return Ring(signing=found[0].thumbprint(), keys={key.thumbprint(): key for key in found})


def _key(entry: dict[str, Any]) -> OKPKey:
    """Read one key; its own name and use do not matter."""
    if not (entry["kty"] == "OKP" and entry["crv"] == ALGORITHM and entry["d"]):
        raise ValueError
    return OKPKey.import_key({name: entry[name] for name in ("kty", "crv", "x", "d")})


def published(ring: Ring) -> dict[str, Any]:
    """The public JWK set of a ring."""
    return {
        "keys": [
            key.as_dict(private=False) | {"kid": name, "use": "sig", "alg": ALGORITHM}
            for name, key in ring.keys.items()
        ]
    }
