"""Tokens: what was signed comes back, and nothing else does."""

import base64
import hashlib
import hmac
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from joserfc import jwk, jws

from service.sales import asked
from service.sales.errors import AlgorithmRefused, QuoteError, SigningKeyUnknown, TokenUnreadable
from service.sales.keys import RingUnreadable, new_ring, published, read_ring
from service.sales.tokens import sign, verify
from tests.planner.asking import SPEC, spec_of
from tests.planner.plan_cases import CASES
from tests.planner.requests import requests

RING = read_ring(new_ring())
CLAIMS = {"iss": "here", "aud": "dealer", "ask": {"wall": {"panel_thickness": 8}}, "total": "915.75"}
TOKEN = sign(RING, CLAIMS)
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_."


def _part(value: object) -> str:
    return base64.urlsafe_b64encode(json.dumps(value).encode()).rstrip(b"=").decode()


def test_what_was_signed_comes_back() -> None:
    """And the same claims are the same token: Ed25519 is deterministic (RFC 8032, section 5.1), canonical JSON too."""
    assert verify(RING, TOKEN) == CLAIMS
    assert sign(RING, dict(reversed(CLAIMS.items()))) == TOKEN


@given(at=st.integers(0, len(TOKEN) - 1), letter=st.sampled_from(_LETTERS))
@settings(max_examples=300)
def test_no_byte_can_be_changed(at: int, letter: str) -> None:
    """Whichever byte is another, the token is refused; also in the spare bits at the end of a part."""
    altered = TOKEN[:at] + letter + TOKEN[at + 1 :]
    if altered != TOKEN:
        with pytest.raises(QuoteError):
            verify(RING, altered)


def test_every_byte_of_the_signature_counts() -> None:
    """The last letter of 86 has four spare bits: only one spelling of them is ours."""
    for letter in _LETTERS:
        if letter != TOKEN[-1]:
            with pytest.raises(QuoteError):
                verify(RING, TOKEN[:-1] + letter)


@pytest.mark.parametrize(
    "text",
    [
        "",
        ".",
        "..",
        "a.b",
        "a.b.c.d",
        "é.é.é",
        "[].e30.c2ln",
        "A" * 100_000,
        TOKEN + ".x",
        TOKEN + "=",
        " " + TOKEN,
    ],
)
def test_what_is_no_token_is_refused(text: str) -> None:
    """Whatever it is, there is one kind of answer."""
    with pytest.raises(TokenUnreadable):
        verify(RING, text)


def test_another_algorithm_is_refused_whatever_it_proves() -> None:
    """RFC 8725, section 2.1: none, and a public key that is taken for a secret (HS256)."""
    payload = TOKEN.split(".")[1]
    none = f"{_part({'alg': 'none', 'typ': 'shin-wall-quote'})}.{payload}."
    public = json.dumps(published(RING)["keys"][0]).encode()
    head = f"{_part({'alg': 'HS256', 'kid': RING.signing, 'typ': 'shin-wall-quote'})}.{payload}"
    mac = (
        base64.urlsafe_b64encode(hmac.new(public, head.encode(), hashlib.sha256).digest())
        .rstrip(b"=")
        .decode()
    )
    for token in (none, f"{head}.{mac}"):
        with pytest.raises(AlgorithmRefused):
            verify(RING, token)


def test_a_key_that_the_token_brings_along_is_not_used() -> None:
    """RFC 8725, section 3.10: `jwk` in the header is the attacker's."""
    own = jwk.OKPKey.generate_key("Ed25519")
    registry = jws.JWSRegistry(algorithms=["Ed25519"])
    header: dict[str, Any] = {"alg": "Ed25519", "typ": "shin-wall-quote", "jwk": own.as_dict(private=False)}
    with pytest.raises(SigningKeyUnknown):
        verify(RING, jws.serialize_compact(header, b"{}", own, registry=registry))
    named = {**header, "kid": RING.signing}
    with pytest.raises(TokenUnreadable):
        verify(RING, jws.serialize_compact(named, b"{}", own, registry=registry))


def test_a_token_of_another_kind_is_no_quote() -> None:
    """Signed by the same key for another purpose."""
    key = RING.keys[RING.signing]
    header = {"alg": "Ed25519", "kid": RING.signing, "typ": "JWT"}
    token = jws.serialize_compact(header, b"{}", key, registry=jws.JWSRegistry(algorithms=["Ed25519"]))
    with pytest.raises(TokenUnreadable):
        verify(RING, token)


def test_keys_are_rotated_with_overlap() -> None:
    """A new first key signs; the old one verifies as long as it is listed, then it is unknown."""
    old, new = json.loads(new_ring())["keys"], json.loads(new_ring())["keys"]
    before, during = read_ring(json.dumps({"keys": old})), read_ring(json.dumps({"keys": new + old}))
    after = read_ring(json.dumps({"keys": new}))
    given_before = sign(before, CLAIMS)
    assert verify(during, given_before) == CLAIMS == verify(after, sign(during, CLAIMS))
    with pytest.raises(SigningKeyUnknown):
        verify(after, given_before)


def test_what_is_published_has_no_private_part() -> None:
    """RFC 8037, section 2: `d` is the private key. Names are RFC 7638 thumbprints."""
    (key,) = published(RING)["keys"]
    assert set(key) == {"kty", "crv", "x", "kid", "use", "alg"}
    said = json.dumps({"crv": "Ed25519", "kty": "OKP", "x": key["x"]}, separators=(",", ":"))
    assert (
        key["kid"] == base64.urlsafe_b64encode(hashlib.sha256(said.encode()).digest()).rstrip(b"=").decode()
    )


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{}",
        '{"keys": []}',
        '{"keys": [{"kty": "OKP", "crv": "Ed448", "x": "AA", "d": "AA"}]}',
        '{"keys": [{"kty": "OKP", "crv": "Ed25519", "x": "AA"}]}',
    ],
)
def test_a_ring_that_cannot_be_read_says_so(text: str) -> None:
    """Without repeating it: it may hold a private key."""
    with pytest.raises(RingUnreadable) as caught:
        read_ring(text)
    assert "AA" not in str(caught.value)


@pytest.mark.parametrize("name", CASES)
def test_a_question_in_few_words_is_the_question(name: str) -> None:
    """Written by what differs from the defaults, and read again to the nanometre."""
    spec = spec_of(CASES[name])
    assert SPEC.validate_json(json.dumps(asked.differing(spec))) == spec


@given(body=requests())
@settings(max_examples=150, deadline=None)
def test_every_question_in_few_words_is_the_question(body: dict[str, Any]) -> None:
    """The whole space of specs."""
    spec = spec_of(body)
    assert SPEC.validate_json(json.dumps(asked.differing(spec))) == spec


def test_a_plain_question_is_told_in_six_answers() -> None:
    """Defaults that were written out are left out again."""
    body = {
        "structure": {
            "bays": 18,
            "bay_spacing": "5 ft",
            "sides": ["left", "right"],
            "post": {"shape": "round"},
        },
        "wall": {"panel_thickness": "8 mm", "height": "23 in"},
        "allowances": {"cut": "1.25"},
    }
    assert asked.differing(spec_of(body)) == {
        "structure": {"bays": 18, "bay_spacing": 1524},
        "wall": {"panel_thickness": 8, "height": 584.2},
        "allowances": {"cut": "1.25"},
    }
