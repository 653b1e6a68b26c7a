"""Make an API key for a dealer and print it, once; only its keyed digest is kept.

Usage: python issue_key.py DEALER SCOPE [SCOPE ...] [--origin URL ...] [--per-minute N] [--structures N] [--tier NAME ...]
       python issue_key.py DEALER plan --storefront CATALOG --origin URL [--tier NAME] [--per-minute N]

The second makes the public key of a shop's page: it plans and quotes from one catalog, at one tier or at list prices, and
is good on the pages of its origins only.

The settings are the service's own (`SHIN_WALL_...`): the store that they name learns the key, and every worker over a
shared store knows it within seconds.
"""

import argparse
import asyncio
import sys
from typing import Any

from service.api.stores import digest_with, open_store
from service.settings import Settings
from service.store.contract import KeyRecord, RateLimit, Scope, Storefront
from service.store.errors import StoreUnavailable
from service.store.keys import mint_key


def read_arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("dealer", help="whose key it is")
    parser.add_argument("scopes", nargs="+", type=Scope, metavar="scope", help=", ".join(Scope))
    parser.add_argument(
        "--origin", action="append", default=[], help="web origin whose pages may use the key"
    )
    parser.add_argument("--per-minute", type=int, help="requests per minute, if not the service's default")
    parser.add_argument(
        "--structures", type=int, help="structures of batches and jobs per minute, if not the default"
    )
    parser.add_argument(
        "--tier",
        action="append",
        help="tier whose prices it may ask for; without one, every tier of the dealer",
    )
    parser.add_argument("--storefront", metavar="CATALOG", help="make the public key of a shop's page")
    chosen = parser.parse_args()
    if chosen.storefront and (
        not chosen.origin or set(chosen.scopes) != {Scope.PLAN} or len(chosen.tier or ()) > 1
    ):
        parser.error("the key of a shop's page has the scope plan alone, an origin, and one tier at most")
    return chosen


def bound_to(arguments: argparse.Namespace) -> dict[str, Any]:
    """What a key is bound to: a shop page's catalog and tier, or tiers."""
    if arguments.storefront:
        tier = next(iter(arguments.tier or ()), None)
        return {"storefront": Storefront(catalog=arguments.storefront, tier=tier)}
    return {"tiers": tuple(arguments.tier) if arguments.tier else None}


def per_minute(units: int | None) -> RateLimit | None:
    """Read a limit by the minute; none: the service's default."""
    return RateLimit(units=units, window_s=60) if units else None


async def issue(arguments: argparse.Namespace, settings: Settings) -> str:
    """Make a key known and give it."""
    key, store = mint_key(), open_store(settings)
    await store.start()
    try:
        await store.put_key(
            KeyRecord(
                dealer=arguments.dealer,
                digest=digest_with(settings)(key),
                scopes=frozenset(arguments.scopes),
                origins=tuple(arguments.origin),
                **bound_to(arguments),
                rate=per_minute(arguments.per_minute),
                structures=per_minute(arguments.structures),
            )
        )
    finally:
        await store.close()
    return key


if __name__ == "__main__":
    try:
        sys.stdout.write(asyncio.run(issue(read_arguments(), Settings())) + "\n")
    except StoreUnavailable as error:
        raise SystemExit("The store is away or refuses to write; nothing was changed.") from error
