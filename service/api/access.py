"""Who may do what: keys, scopes, origins and quotas.

Rules of this file
------------------
- Deny by default: an operation is open only when it says so by `PUBLIC`; every other one asks for a scope.
- A key is compared by its keyed digest in constant time, is never logged and is never read from an address.
- Without a key, only open mode answers: embedded catalogs, a loopback connection, a loopback host name.
- A key of a shop's page is public: it is good with the origins, the catalog, the tier and the operations that a shopper
  needs, and each visitor has a quota of its own beside the key's.
- What another dealer has does not exist: the dealer comes from the key and from nothing else.
"""

import hmac
import math
from dataclasses import dataclass
from datetime import UTC, datetime
from ipaddress import ip_address
from typing import Annotated, Final
from urllib.parse import urlsplit

from fastapi import Depends
from starlette.requests import Request

from service.api.exchange import exchange_of
from service.api.problems import PARAMETERS, Problem
from service.api.state import Service, service_of
from service.api.visitors import bucket_of
from service.planner.messages import say
from service.store.contract import OPEN_DEALER, Allowance, KeyRecord, RateLimit, Scope, Storefront

WINDOW: Final = 60
"""Window of the default quota [s]"""
_LONGEST_KEY: Final = 200
"""Characters of a key that are looked at [-]"""
_LOOPBACK_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})
_CHALLENGE: Final = {"www-authenticate": 'Bearer realm="shin-wall"'}


@dataclass(frozen=True, slots=True, kw_only=True)
class Principal:
    """Who asks, and what they may do."""

    dealer: str
    """Whose catalogs, plans and quotas"""
    scopes: frozenset[Scope]
    """What may be done"""
    key: KeyRecord | None = None
    """The key in hand; none in open mode"""

    @property
    def storefront(self) -> Storefront | None:
        """What the key of a shop's page is bound to."""
        return self.key.storefront if self.key else None

    @property
    def tiers(self) -> tuple[str, ...] | None:
        """Tiers whose prices may be asked for and heard of; none: every tier of the dealer."""
        if self.key is None:
            return None
        if self.key.storefront is not None:
            return () if self.key.storefront.tier is None else (self.key.storefront.tier,)
        return self.key.tiers


OPEN: Final = Principal(dealer=OPEN_DEALER, scopes=frozenset(Scope))
"""Whoever asks in open mode"""


def sent_key(request: Request) -> str | None:
    """The key that a request carries in its headers."""
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    key = token.strip() if kind.lower() == "bearer" else request.headers.get("x-api-key")
    return key[:_LONGEST_KEY] if key else None


def on_loopback(request: Request) -> bool:
    """Tell whether a connection was accepted on a loopback address under a loopback name.

    The name is looked at because a page on another site can point its own name at the loopback address.
    """
    address, name = (request.scope.get("server") or ("", None))[0], request.url.hostname or ""
    try:
        local = ip_address(address).is_loopback
    except ValueError:
        local = address == "localhost"
    return local and name in _LOOPBACK_NAMES


def _known(service: Service, key: str) -> KeyRecord:
    """Find a live key, or refuse."""
    digest = service.digest(key)
    record = service.store.key(digest)
    if record is None or not hmac.compare_digest(record.digest, digest) or not record.live(datetime.now(UTC)):
        raise Problem(
            "key-required",
            say("problem.key_unknown", "The key is not known, or it is not valid now."),
            headers=_CHALLENGE,
        )
    return record


def identify(request: Request) -> Principal:
    """Tell who asks, or refuse."""
    service = service_of(request)
    key = sent_key(request)
    if key is not None:
        record = _known(service, key)
        return Principal(dealer=record.dealer, scopes=record.scopes, key=record)
    if service.open_mode and on_loopback(request):
        return OPEN
    raise Problem("key-required", say("problem.key_missing", "Send a key."), headers=_CHALLENGE)


def _own_origins(request: Request) -> tuple[str, str]:
    """The service's own origin, as the request reached it and as it is published."""
    public = urlsplit(service_of(request).settings.public_url)
    return f"{request.url.scheme}://{request.url.netloc}", f"{public.scheme}://{public.netloc}"


def _check_origin(request: Request, principal: Principal) -> None:
    """Refuse a page of an origin that this dealer's key does not list.

    A browser names the origin of every page that asks across origins; the service's own pages it marks otherwise when they
    only read. A key that stands in a page is good for nothing else.
    """
    origin = request.headers.get("origin")
    listed = principal.key.origins if principal.key else service_of(request).settings.open_origins
    own = _own_origins(request)
    from_page = origin is not None or request.headers.get("sec-fetch-site") == "same-origin"
    if (origin is not None and origin not in own and origin not in listed) or (
        principal.storefront is not None and not from_page
    ):
        raise Problem(
            "origin-not-allowed", say("problem.origin", "The page's origin is not listed with this key.")
        )


def _quota(name: str, limit: RateLimit, allowance: Allowance) -> dict[str, str]:
    """Write a quota as the fields of draft-ietf-httpapi-ratelimit-headers-11."""
    return {
        "ratelimit-policy": f'"{name}";q={limit.units};w={limit.window_s}',
        "ratelimit": f'"{name}";r={allowance.remaining};t={math.ceil(allowance.reset_s)}',
    }


async def _count(request: Request, dealer: str, counted: tuple[str, str], limit: RateLimit) -> None:
    """Count the request against a quota; a second quota stands beside the first in the answer."""
    name, bucket = counted
    allowance = await service_of(request).store.count(dealer, bucket, limit)
    headers = exchange_of(request).headers
    for field, value in _quota(name, limit, allowance).items():
        headers[field] = f"{headers[field]}, {value}" if field in headers else value
    if not allowance.allowed:
        wait = max(1, math.ceil(allowance.retry_after_s))
        raise Problem(
            "rate-limited",
            say(
                "problem.rate",
                "The key may send {most} requests in {seconds} s.",
                most=limit.units,
                seconds=limit.window_s,
            )
            if name == "key"
            else say(
                "problem.rate_of_visitor",
                "A visitor may send {most} requests in {seconds} s.",
                most=limit.units,
                seconds=limit.window_s,
            ),
            headers={"retry-after": str(wait)},
        )


async def _spend(request: Request, key: KeyRecord) -> None:
    """Count the request against the key's quota, and a shop page's against its visitor's."""
    usual = RateLimit(units=service_of(request).settings.rate_limit, window_s=WINDOW)
    if key.storefront is not None:
        await count_visitor(request, key.dealer, key.storefront.visitor)
    await _count(request, key.dealer, ("key", key.digest), key.rate or usual)


async def count_visitor(request: Request, dealer: str, limit: RateLimit | None = None) -> None:
    """Count the request against its visitor's quota."""
    settings = service_of(request).settings
    usual = RateLimit(units=settings.visitor_rate_limit, window_s=WINDOW)
    await _count(request, dealer, ("visitor", bucket_of(request, settings.trusted_proxies)), limit or usual)


def check_parameters(request: Request) -> None:
    """Refuse parameters that the operation does not have, and one given twice: neither can mean anything."""
    if not request.scope["query_string"]:
        return
    known = {field.alias for field in request.scope["route"].dependant.query_params}
    given = [name for name, _ in request.query_params.multi_items()]
    wrong = [name for name in dict.fromkeys(given) if name not in known or given.count(name) > 1]
    if wrong:
        found = [
            {
                "parameter": name[:60],
                "detail": say("field.parameter", "is not a parameter here, or is given twice"),
            }
            for name in wrong
        ]
        raise Problem("invalid-parameters", PARAMETERS, found)


def _store_header(service: Service) -> dict[str, str]:
    """Say that answers come from the last good state while the shared store is away."""
    status = service.store.status()
    return {"catalog-freshness": f'degraded;trouble="{status.trouble}"'} if status.degraded else {}


@dataclass(frozen=True, slots=True)
class Access:
    """The dependency of an operation that asks for a scope."""

    scope: Scope
    shopper: bool = False
    """Whether a shop page's key may call it"""

    async def __call__(self, request: Request) -> Principal:
        """Let the request in, or refuse."""
        principal = await admitted(request)
        require_scope(principal, self.scope, shopper=self.shopper)
        if self.scope is Scope.PUBLISH and principal.tiers is not None:
            raise Problem(
                "not-allowed",
                say("problem.bound_publishes", "A key that is bound to tiers publishes no catalogs."),
            )
        check_parameters(request)
        return principal


def require_scope(principal: Principal, scope: Scope, *, shopper: bool = False) -> None:
    """Refuse a key without a scope, and a shop page's unless that is for shoppers too."""
    if scope not in principal.scopes or (principal.storefront is not None and not shopper):
        detail = say("problem.scope", "This asks for the scope {scope}.", scope=str(scope))
        raise Problem("not-allowed", detail)


async def admitted(request: Request) -> Principal:
    """Tell who asks, count it, and see that it may come from there."""
    principal = identify(request)
    exchange = exchange_of(request)
    exchange.dealer = principal.dealer
    exchange.headers.update(_store_header(service_of(request)))
    if principal.key is not None:
        await _spend(request, principal.key)
    _check_origin(request, principal)
    return principal


async def _bearing(request: Request) -> None:
    """Let in whoever holds a token: counted by key where one is sent, else by visitor."""
    service = service_of(request)
    if sent_key(request) is not None:
        await admitted(request)
    elif not (service.open_mode and on_loopback(request)):
        await count_visitor(request, OPEN_DEALER)
    check_parameters(request)


async def _public(request: Request) -> None:
    """Let everyone in."""
    check_parameters(request)


PUBLIC: Final = Depends(_public)
"""The dependency of an operation that is open to everyone"""
BEARING: Final = Depends(_bearing)
"""The dependency of an operation that a token opens, which the operation itself reads"""

Planning = Annotated[Principal, Depends(Access(Scope.PLAN))]
Shopping = Annotated[Principal, Depends(Access(Scope.PLAN, shopper=True))]
Ordering = Annotated[Principal, Depends(Access(Scope.ORDER))]
Reading = Annotated[Principal, Depends(Access(Scope.READ_CATALOG))]
Publishing = Annotated[Principal, Depends(Access(Scope.PUBLISH))]
