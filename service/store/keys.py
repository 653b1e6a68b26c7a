"""API keys: how one is made, what is kept of it, and how that is written down.

Rules of this module: no server, no file, no clock. A key is 256 random bits, so a fast keyed digest is enough to keep
(slow password hashes are for secrets that people choose). The digest is looked up; compare it once more in constant
time (`hmac.compare_digest`) where a key is let in.
"""

import hashlib
import secrets
from datetime import UTC, datetime
from typing import Any

import orjson

from service.store.contract import KeyRecord, RateLimit, Scope, Storefront

KEY_PREFIX = "shin_"
"""What every key begins with, so that scanners for leaked secrets can find one [-]."""


def mint_key() -> str:
    """Make a new key; it is shown once and kept nowhere."""
    return KEY_PREFIX + secrets.token_urlsafe(32)


def key_digest(key: str, pepper: bytes) -> str:
    """The digest that is kept of a key.

    Parameters
    ----------
    key
        The key as the caller presents it [-].
    pepper
        The service's own secret, the same for every worker; beyond 64 bytes its digest is used [-].

    References
    ----------
    RFC 7693, section 1: BLAKE2b with a key is a message authentication code by itself (from memory).
    """
    secret = pepper if len(pepper) <= hashlib.blake2b.MAX_KEY_SIZE else hashlib.blake2b(pepper).digest()
    return hashlib.blake2b(key.encode("utf-8", "surrogatepass"), key=secret, digest_size=32).hexdigest()


def write_record(record: KeyRecord) -> bytes:
    """Write what is known of a key as JSON, without its dealer and digest, which say where it is kept."""
    return orjson.dumps(
        {
            "scopes": sorted(record.scopes),
            "origins": record.origins,
            "rate": _pair(record.rate),
            "structures": _pair(record.structures),
            "not_before": record.not_before,
            "not_after": record.not_after,
            "revoked": record.revoked,
            "tiers": record.tiers,
            "storefront": _written(record.storefront),
        },
        option=orjson.OPT_SORT_KEYS,
    )


def read_record(dealer: str, digest: str, written: bytes) -> KeyRecord | None:
    """Read what `write_record` wrote; None when it is anything else.

    Parameters
    ----------
    dealer
        Whose place it was found in [-].
    digest
        The name it was found under [-].
    written
        What was found [-].
    """
    try:
        fields = orjson.loads(written)
        return KeyRecord(
            dealer=dealer,
            digest=digest,
            scopes=frozenset(Scope(scope) for scope in fields["scopes"]),
            origins=tuple(str(origin) for origin in fields["origins"]),
            rate=_rate(fields["rate"]),
            structures=_rate(fields.get("structures")),
            not_before=_moment(fields["not_before"]),
            not_after=_moment(fields["not_after"]),
            revoked=fields["revoked"] is not False,
            tiers=_names(fields.get("tiers")),
            storefront=_storefront(fields.get("storefront")),
        )
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def _written(storefront: Storefront | None) -> dict[str, object] | None:
    if storefront is None:
        return None
    return {
        "catalog": storefront.catalog,
        "tier": storefront.tier,
        "visitor": _pair(storefront.visitor),
    }


def _pair(rate: RateLimit | None) -> list[int] | None:
    return [rate.units, rate.window_s] if rate else None


def _names(written: list[str] | None) -> tuple[str, ...] | None:
    return None if written is None else tuple(str(name) for name in written)


def _storefront(written: dict[str, Any] | None) -> Storefront | None:
    if written is None:
        return None
    tier = written["tier"]
    return Storefront(
        catalog=str(written["catalog"]),
        tier=None if tier is None else str(tier),
        visitor=_rate(written["visitor"]),
    )


def _rate(pair: list[int] | None) -> RateLimit | None:
    if pair is None:
        return None
    units, window_s = pair
    if min(int(units), int(window_s)) < 1:
        raise ValueError
    return RateLimit(units=int(units), window_s=int(window_s))


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text).astimezone(UTC)
