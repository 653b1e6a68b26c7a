"""No dealer can see or affect another's catalogs, keys, counters or finished plans.

The theorem: whatever two dealers do in whatever order, each gets exactly the answers, and is left with exactly the state,
that it would have got alone. Each interleaving is run on one store for both dealers and on a fresh store for each alone.
"""

from __future__ import annotations

import asyncio
import string
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.planner.errors import CatalogInvalid
from service.store.contract import ANY_REVISION, Allowance, RateLimit, Store
from service.store.errors import StoreError
from service.store.folder import FolderSettings, FolderStore
from service.store.redis_store import RedisSettings, RedisStore
from tests.store.support import Items, MovableClock, RealServer, catalog, key_record, read_items

DEALERS = ("ann", "bob")
PRICES = ("1.00", "2.00", "3.00")
CATALOGS = ("main", "other")
MATCHES = (None, ANY_REVISION, "seen")
LIMIT = RateLimit(units=4, window_s=3600)


@dataclass(frozen=True)
class Step:
    """One dealer's operation with its choices."""

    dealer: str
    operation: str
    catalog_id: str
    price: str
    match: str | None
    slot: int


STEPS = st.lists(
    st.builds(
        Step,
        dealer=st.sampled_from(DEALERS),
        operation=st.sampled_from(
            (
                "publish",
                "keep",
                "roll_back",
                "pinned",
                "listed",
                "key",
                "withdraw",
                "count",
                "remember",
                "recall",
            )
        ),
        catalog_id=st.sampled_from(CATALOGS),
        price=st.sampled_from(PRICES),
        match=st.sampled_from(MATCHES),
        slot=st.integers(0, 2),
    ),
    max_size=30,
)


def digest_of(dealer: str, slot: int) -> str:
    """A key digest; each dealer's keys are its own random numbers, so digests never meet."""
    return f"{DEALERS.index(dealer)}{slot}" * 32


async def perform(store: Store[Items], step: Step) -> object:
    """Do one step and give what the dealer learns from it."""
    dealer, catalog_id = step.dealer, step.catalog_id
    active = store.active(dealer, catalog_id)
    seen = active.revision if active is not None else "r-" + "0" * 32
    match = seen if step.match == "seen" else step.match
    newest = (await store.revisions(dealer, catalog_id))[-1].revision if active is not None else seen
    record = key_record(dealer, digest_of(dealer, step.slot))
    operations: dict[str, Callable[[], Awaitable[object]]] = {
        "publish": lambda: store.publish(
            dealer, catalog_id, catalog(step.price), if_match=match, activate=True
        ),
        "keep": lambda: store.publish(dealer, catalog_id, catalog(step.price), if_match=None, activate=False),
        "roll_back": lambda: store.activate(dealer, catalog_id, newest, if_match=match),
        "pinned": lambda: store.revision(dealer, catalog_id, newest),
        "listed": lambda: store.revisions(dealer, catalog_id),
        "key": lambda: store.put_key(replace(record, origins=(f"https://{step.price}.example",))),
        "withdraw": lambda: store.revoke_key(dealer, record.digest),
        # Both dealers use the same names for counters and plans.
        "count": lambda: store.count(dealer, f"bucket-{step.slot}", LIMIT, units=1 + step.slot),
        "remember": lambda: store.remember(dealer, f"plan-{step.slot}", step.price.encode()),
        "recall": lambda: store.cached(dealer, f"plan-{step.slot}"),
    }
    try:
        learned = await operations[step.operation]()
    except (StoreError, CatalogInvalid) as refusal:
        learned = (type(refusal).__name__, str(refusal))
    return without_times(learned)


def without_times(learned: object) -> object:
    """Leave out what depends on when, which differs between any two runs."""
    if isinstance(learned, tuple) and learned and hasattr(learned[0], "published_at"):
        # Revisions of one moment are ordered by name, so their order depends on when as well.
        return sorted((each.revision, each.active) for each in learned)
    if isinstance(learned, Allowance):
        return learned.allowed, learned.remaining
    return learned


async def final_state(store: Store[Items], dealer: str) -> object:
    """Give everything that a dealer can see."""
    revisions = []
    for catalog_id in CATALOGS:
        try:
            revisions.append(without_times(await store.revisions(dealer, catalog_id)))
        except StoreError as refusal:
            revisions.append(str(refusal))
    return (
        store.catalogs(dealer),
        [store.active(dealer, catalog_id) for catalog_id in CATALOGS],
        revisions,
        store.keys(dealer),
        [store.key(digest_of(dealer, slot)) for slot in range(3)],
        [await store.cached(dealer, f"plan-{slot}") for slot in range(3)],
    )


async def run(store: Store[Items], steps: list[Step], dealer: str) -> tuple[list[object], object]:
    """Do all steps; give what one dealer learned and can see in the end."""
    await store.start()
    try:
        learned = [(step, await perform(store, step)) for step in steps]
        return [what for step, what in learned if step.dealer == dealer], await final_state(store, dealer)
    finally:
        await store.close()


def assert_isolated(fresh: Callable[[], Store[Items]], steps: list[Step]) -> None:
    """Compare each dealer's answers among others with its answers alone."""
    for dealer in DEALERS:
        together = asyncio.run(run(fresh(), steps, dealer))
        alone = asyncio.run(run(fresh(), [step for step in steps if step.dealer == dealer], dealer))
        assert together == alone


@settings(max_examples=25, deadline=None)
@given(steps=STEPS)
def test_dealers_are_alone_in_the_embedded_store(steps: list[Step]) -> None:
    """Two dealers on one folder are as two dealers on two."""
    with TemporaryDirectory() as folder:
        numbers = iter(range(100))

        def fresh() -> Store[Items]:
            own = Path(folder) / str(next(numbers))
            clock = MovableClock().clock()
            return FolderStore(FolderSettings(shipped=None, folder=own), read_items, clock)

        assert_isolated(fresh, steps)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=STEPS)
def test_dealers_are_alone_on_the_server(server: RealServer, steps: list[Step]) -> None:
    """Two dealers on one server are as two dealers on two."""

    def fresh() -> Store[Items]:
        with server.client() as client:
            client.flushall()
        return RedisStore(RedisSettings(address=server.address, shared_plan_lifetime_s=60), read_items)

    assert_isolated(fresh, steps)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    dealer=st.text(string.ascii_letters + string.digits + ":{}*-/.\n\x00", max_size=12),
    catalog_id=st.text(string.ascii_letters + string.digits + ":{}*-/.\n\x00", max_size=12),
)
def test_no_name_reaches_another_dealers_keys(server: RealServer, dealer: str, catalog_id: str) -> None:
    """Whatever is given as a dealer's and a catalog's name, every key written is of the common ones or that dealer's."""

    async def scenario() -> None:
        store = RedisStore(RedisSettings(address=server.address), read_items)
        try:
            await store.publish(dealer, catalog_id, catalog("1.00"), if_match=ANY_REVISION, activate=True)
        except StoreError:
            pass
        finally:
            await store.close()

    with server.client() as client:
        client.flushall()
        asyncio.run(scenario())
        own = f"shin-wall:{{{dealer}}}:".encode()
        common = {b"shin-wall:dealers", b"shin-wall:change"}
        assert all(key in common or key.startswith(own) for key in client.keys("*"))


@pytest.mark.parametrize("claimant", ["bob", "zoe"])
def test_digest_claimed_by_two_dealers_is_good_for_neither(server: RealServer, claimant: str) -> None:
    """If garbage gives one key to two dealers, nobody gets in with it as the other."""

    async def scenario() -> None:
        store = RedisStore(RedisSettings(address=server.address), read_items)
        await store.start()
        await store.put_key(key_record("ann", "ab" * 32))
        with server.client() as client:
            stolen = client.hget("shin-wall:{ann}:keys", "ab" * 32)
            client.hset(f"shin-wall:{{{claimant}}}:keys", "ab" * 32, str(stolen, "ascii"))
            client.sadd("shin-wall:dealers", claimant)
        other = RedisStore(RedisSettings(address=server.address), read_items)
        await other.start()
        assert other.key("ab" * 32) is None
        await store.close()
        await other.close()

    asyncio.run(scenario())
