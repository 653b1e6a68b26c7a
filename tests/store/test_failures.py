"""What happens to readers, publishers and counters when the server fails in each way it can.

Every test runs a real server process and really breaks it. Readers do what a plan request does: read the active catalog,
count against a rate limit, look for a finished plan and keep one. None of them may fail, whatever the server does.
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from service.store.contract import ANY_REVISION, STALENESS_BOUND_S, RateLimit, Trouble
from service.store.errors import StoreUnavailable
from service.store.mirror import POLL_S
from service.store.redis_store import RedisStore
from service.store.server import CALL_BOUND_S, READING_BOUND_S
from tests.store.support import (
    Items,
    RealServer,
    catalog,
    eventually,
    key_record,
    redis_store,
    timed,
)

pytestmark = pytest.mark.anyio

DIGEST = "ab" * 32
READERS = 8
SLACK_S = 0.25
"""What a busy test machine may add to a bound [s]."""


@dataclass
class Load:
    """What readers saw."""

    sent: int = 0
    failed: int = 0
    longest_s: float = 0.0
    goes_on: bool = True

    def line(self, name: str) -> str:
        """Say it in one line."""
        return (
            f"{name}: {self.sent} requests, {self.failed} failed, longest wait {self.longest_s * 1000:.0f} ms"
        )


async def plan_request(store: RedisStore[Items], number: int) -> bool:
    """Do what a plan request asks of the store; tell whether it could be answered."""
    snapshot = store.active("ann", "main")
    await store.count("ann", DIGEST, RateLimit(units=1_000_000, window_s=60))
    digest = f"plan-{number % 50}"
    if await store.cached("ann", digest) is None:
        await store.remember("ann", digest, b"x" * 1000)
    return snapshot is not None and len(snapshot.catalog.items) > 0


async def _read(store: RedisStore[Items], load: Load) -> None:
    while load.goes_on:
        began = time.monotonic()
        try:
            answered = await plan_request(store, load.sent)
        except Exception:  # noqa: BLE001 - whatever reaches a reader is a failed request
            answered = False
        load.sent += 1
        load.failed += not answered
        load.longest_s = max(load.longest_s, time.monotonic() - began)
        await asyncio.sleep(0.002)


@asynccontextmanager
async def readers(store: RedisStore[Items]) -> AsyncIterator[Load]:
    """Send plan requests all the while."""
    load = Load()
    tasks = [asyncio.create_task(_read(store, load)) for _ in range(READERS)]
    await asyncio.sleep(0.1)
    try:
        yield load
        await asyncio.sleep(0.1)
    finally:
        load.goes_on = False
        await asyncio.gather(*tasks)


@asynccontextmanager
async def worker(
    server: RealServer, state_file: Path | None = None, shared_plan_lifetime_s: int = 60
) -> AsyncIterator[RedisStore[Items]]:
    """Run one worker's store."""
    store = redis_store(server.address, state_file, shared_plan_lifetime_s)
    await store.start()
    try:
        yield store
    finally:
        await store.close()


async def filled(store: RedisStore[Items]) -> str:
    """Publish a catalog and a key; give the revision."""
    await store.put_key(key_record("ann", DIGEST))
    outcome = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    return outcome.revision


def contents(server: RealServer) -> dict[bytes, object]:
    """Give everything stored but counters and plans, to see that nothing is half-written."""
    with server.client() as client:
        found: dict[bytes, object] = {}
        for key in client.keys("*"):
            if b":count:" not in key and b":plan:" not in key:
                found[key] = client.dump(key)
        return found


async def refused_publication(store: RedisStore[Items], trouble: Trouble) -> float:
    """Publish and be refused for the reason given; give how long that took."""
    seconds, outcome = await timed(
        store.publish("ann", "main", catalog("9.00"), if_match=ANY_REVISION, activate=True)
    )
    assert isinstance(outcome, StoreUnavailable)
    assert outcome.reason == trouble
    assert outcome.retry_after_s > 0
    return seconds


def healthy(store: RedisStore[Items]) -> bool:
    """Tell whether all is well."""
    return not store.status().degraded


async def test_starts_without_the_server_and_recovers_when_it_comes(
    own_server: RealServer, tmp_path: Path, figures: list[str]
) -> None:
    """A worker that starts while the server is away answers from its state file, says so, and recovers by itself."""
    state_file = tmp_path / "state"
    async with worker(own_server, state_file) as store:
        revision = await filled(store)
        await eventually(state_file.exists)
    own_server.kill()
    began = time.monotonic()
    async with worker(own_server, state_file) as store:
        started = time.monotonic() - began
        snapshot = store.active("ann", "main")
        assert snapshot is not None
        assert snapshot.revision == revision
        assert store.key(DIGEST) == key_record("ann", DIGEST)
        assert store.status().trouble is Trouble.UNREACHABLE
        assert store.status().since is not None
        await refused_publication(store, Trouble.UNREACHABLE)
        async with readers(store) as load:
            own_server.start()
            recovered = await eventually(lambda: healthy(store))
        assert await store.publish("ann", "main", catalog("2.00"), if_match=revision, activate=True)
    assert load.failed == 0
    figures.append(
        load.line(f"absent at start (started in {started * 1000:.0f} ms, well {recovered:.2f} s after)")
    )


async def test_starts_with_nothing_at_all(own_server: RealServer) -> None:
    """Without a server and without a state file a worker starts, knows nothing, says so, and learns later."""
    async with worker(own_server) as first:
        await filled(first)
        async with worker(own_server) as second:
            assert second.active("ann", "main") is not None
        own_server.kill()
        async with worker(own_server) as third:
            assert third.active("ann", "main") is None
            status = third.status()
            assert (status.degraded, status.snapshot_age_s) == (True, None)
            own_server.start()
            # The server is empty now; the first worker gives it back what it holds.
            await eventually(lambda: third.active("ann", "main") is not None)


async def test_killed_under_load_and_restarted_empty(own_server: RealServer, figures: list[str]) -> None:
    """A server that crashes twice and comes back empty is given everything back; no request fails."""
    async with worker(own_server) as store, worker(own_server) as other:
        revision = await filled(store)
        await eventually(lambda: other.active("ann", "main") is not None)
        async with readers(store) as load:
            for _ in range(2):
                own_server.kill()
                await eventually(lambda: not healthy(store))
                own_server.start()
                await eventually(lambda: healthy(store))
        async with worker(own_server) as newcomer:
            await eventually(lambda: newcomer.active("ann", "main") is not None)
            assert newcomer.key(DIGEST) == key_record("ann", DIGEST)
            assert (await newcomer.revisions("ann", "main"))[0].revision == revision
    assert load.failed == 0
    assert load.longest_s < 2 * CALL_BOUND_S + SLACK_S
    figures.append(load.line("killed twice under load, restarted empty"))


async def test_hung_server_keeps_nobody_longer_than_the_bound(
    own_server: RealServer, figures: list[str]
) -> None:
    """A server that takes connections and never answers costs a request at most two bounded calls, then none."""
    async with worker(own_server) as store:
        await filled(store)
        async with readers(store) as load:
            own_server.pause()
            longest = max([await refused_publication(store, Trouble.UNREACHABLE) for _ in range(6)])
            await asyncio.sleep(1.5)
            own_server.resume()
            recovered = await eventually(lambda: healthy(store))
    assert load.failed == 0
    assert longest < CALL_BOUND_S + SLACK_S
    assert load.longest_s < 2 * CALL_BOUND_S + SLACK_S
    figures.append(load.line("hung (SIGSTOP)"))
    figures.append(f"hung: publication refused within {longest * 1000:.0f} ms, well {recovered:.2f} s after")


@pytest.mark.parametrize("how", ["replica", "too few replicas", "out of memory"])
async def test_server_that_refuses_writes(own_server: RealServer, figures: list[str], how: str) -> None:
    """Plans go on, publishing is refused and leaves no trace, and all is well once the server takes writes."""
    async with worker(own_server) as store:
        await filled(store)
        await eventually(lambda: healthy(store))
        before = contents(own_server)
        async with readers(store) as load:
            _refuse_writes(own_server, how)
            await refused_publication(store, Trouble.REFUSES_WRITES)
            assert store.status().trouble is Trouble.REFUSES_WRITES
            await asyncio.sleep(0.2)
            _take_writes(own_server, how)
            # Counting is a write: it shows that the server takes them again.
            recovered = await eventually(lambda: healthy(store))
        assert contents(own_server) == before
        await store.publish("ann", "main", catalog("9.00"), if_match=ANY_REVISION, activate=True)
    assert load.failed == 0
    figures.append(load.line(f"refuses writes, {how} (well {recovered:.2f} s after)"))


def _refuse_writes(server: RealServer, how: str) -> None:
    with server.client() as client:
        if how == "replica":
            client.replicaof("127.0.0.1", "1")
        elif how == "too few replicas":
            client.config_set("min-replicas-to-write", 1)
        else:
            client.config_set("maxmemory-policy", "noeviction")
            client.config_set("maxmemory", "1mb")
            assert client.info("memory")["used_memory"] > 1_000_000


def _take_writes(server: RealServer, how: str) -> None:
    with server.client() as client:
        if how == "replica":
            client.replicaof("NO", "ONE")
        elif how == "too few replicas":
            client.config_set("min-replicas-to-write", 0)
        else:
            client.config_set("maxmemory", 0)


NOWHERE = "r-" + "0" * 32
GARBAGE: dict[str, dict[str, str] | str] = {
    "text": "\x00garbage",
    "fields": {"main": "not a register", DIGEST: "not a register"},
    "low generation": {"main": f"0 {NOWHERE}", DIGEST: "0 {}"},
    "missing document": {"main": f"99 {NOWHERE}", DIGEST: "99 {}"},
    "long number": {"main": f"{'9' * 400} {NOWHERE}", DIGEST: "9" * 400 + " {}"},
    "high number": {"main": f"{2**53 - 1} {NOWHERE}", DIGEST: "[]"},
}
"""What is put under every key: a text or a hash [-]."""


def spoil(server: RealServer, kind: str) -> None:
    """Put garbage under every key of ours and announce it."""
    with server.client() as client:
        for key in client.keys("shin-wall:*"):
            client.delete(key)
            garbage = GARBAGE[kind]
            if isinstance(garbage, str):
                client.set(key, garbage)
            else:
                client.hset(key, mapping=garbage)
        client.publish("shin-wall:changes", "garbage")


@pytest.mark.parametrize("kind", sorted(GARBAGE))
async def test_garbage_under_every_key(own_server: RealServer, figures: list[str], kind: str) -> None:
    """A worker keeps the last good state whatever stands under our keys; one without any takes none of it."""
    async with worker(own_server) as store:
        revision = await filled(store)
        await eventually(lambda: healthy(store))
        async with readers(store) as load:
            spoil(own_server, kind)
            await asyncio.sleep(0.3)
            async with worker(own_server) as newcomer:
                snapshot = newcomer.active("ann", "main")
                assert snapshot is None or snapshot.revision == revision
            kept = store.active("ann", "main")
            assert kept is not None
            assert kept.revision == revision
            assert store.key(DIGEST) == key_record("ann", DIGEST)
            outcome = await store.publish("ann", "main", catalog("2.00"), if_match=revision, activate=True)
        assert outcome.previous == revision
        async with worker(own_server) as newcomer:
            await eventually(lambda: newcomer.active("ann", "main") is not None)
            snapshot = newcomer.active("ann", "main")
            assert snapshot is not None
            assert snapshot.revision == outcome.revision
    assert load.failed == 0
    figures.append(load.line(f"garbage under every key ({kind})"))


async def test_damaged_document_is_never_used(own_server: RealServer) -> None:
    """A document whose content is not what its name says is refused, and the trouble is named."""
    async with worker(own_server) as store:
        revision = await filled(store)
        with own_server.client() as client:
            key = f"shin-wall:{{ann}}:document:main:{revision}"
            document = client.get(key)
            assert isinstance(document, bytes)
            client.set(key, document.replace(b"1.00", b"0.01"))
        async with worker(own_server) as newcomer:
            assert newcomer.active("ann", "main") is None
            assert newcomer.status().trouble is Trouble.CORRUPT
            assert newcomer.status().rejected == 1
            with pytest.raises(StoreUnavailable) as refusal:
                await newcomer.revision("ann", "main", revision)
            assert refusal.value.reason == Trouble.CORRUPT
            await store.publish("ann", "main", catalog("1.00"), if_match=revision, activate=True)
            await eventually(lambda: newcomer.active("ann", "main") is not None)


async def publish_until_killed(
    store: RedisStore[Items], server: RealServer, price: str, after: int
) -> list[object]:
    """Publish forty catalogs at once and kill the server when some have been acknowledged; give the outcomes."""
    acknowledged = 0

    async def publish(number: int) -> object:
        nonlocal acknowledged
        _, outcome = await timed(
            store.publish("ann", f"c{number}", catalog(price), if_match=ANY_REVISION, activate=True)
        )
        acknowledged += not isinstance(outcome, Exception)
        if acknowledged == after:
            server.kill()
        return outcome

    return await asyncio.gather(*(publish(number) for number in range(40)))


async def test_killed_in_the_middle_of_publications(figures: list[str]) -> None:
    """Whatever moment the server dies at, a publication happened as a whole or not at all, and can be repeated."""
    server = RealServer("--appendonly", "yes", "--appendfsync", "always")
    server.start()
    happened = lost = 0
    try:
        for after in (1, 3, 5, 8, 12, 20):
            price = f"{after}.00"
            async with worker(server) as store:
                outcomes = await publish_until_killed(store, server, price, after)
            server.start()
            async with worker(server) as newcomer:
                assert newcomer.status().rejected == 0
                for number, outcome in enumerate(outcomes):
                    snapshot = newcomer.active("ann", f"c{number}")
                    done = snapshot is not None and snapshot.catalog.items[0]["price"] == price
                    # An acknowledged publication is never lost.
                    assert done or isinstance(outcome, StoreUnavailable)
                    happened, lost = happened + done, lost + (not done)
                    again = await newcomer.publish(
                        "ann", f"c{number}", catalog(price), if_match=ANY_REVISION, activate=True
                    )
                    assert again.activated is not done
    finally:
        server.close()
    assert happened
    assert lost
    figures.append(f"killed in mid-publication: {happened} happened whole, {lost} not at all, 0 in part")


async def test_racing_publishers_lose_no_update(server: RealServer, figures: list[str]) -> None:
    """Two workers that count one number up together reach exactly the number of publications that were taken."""
    taken = refused = 0

    async def count_up(store: RedisStore[Items]) -> None:
        nonlocal taken, refused
        for _ in range(25):
            snapshot = store.active("ann", "main")
            assert snapshot is not None
            number = int(snapshot.catalog.items[0]["price"]) + 1
            _, outcome = await timed(
                store.publish("ann", "main", catalog(str(number)), if_match=snapshot.revision, activate=True)
            )
            if getattr(outcome, "activated", False):
                taken += 1
            else:
                refused += 1
                await asyncio.sleep(0.002)

    async with worker(server) as one, worker(server) as two:
        await one.publish("ann", "main", catalog("0"), if_match=None, activate=True)
        await eventually(lambda: two.active("ann", "main") is not None)
        await asyncio.gather(*(count_up(store) for store in (one, two, one, two)))
        async with worker(server) as newcomer:
            snapshot = newcomer.active("ann", "main")
            assert snapshot is not None
            assert snapshot.catalog.items[0]["price"] == str(taken)
            assert newcomer.catalogs("ann")[0].generation == taken + 1
    assert refused, "the publishers never met, so nothing was shown"
    figures.append(f"two workers racing to publish: {taken} taken, {refused} refused, 0 lost")


async def test_change_is_seen_without_its_announcement(server: RealServer, figures: list[str]) -> None:
    """A change whose announcement is lost is seen within the stated bound."""
    async with worker(server) as one, worker(server) as two:
        revision = await filled(one)
        await eventually(lambda: two.active("ann", "main") is not None)
        with server.client() as client:
            # A change of which nobody hears: the register and the token are set behind the workers' backs.
            outcome = await one.publish("ann", "main", catalog("2.00"), if_match=None, activate=False)
            client.hset("shin-wall:{ann}:active", "main", f"2 {outcome.revision}")
            client.set("shin-wall:change", "another token")
        assert two.catalogs("ann")[0].revision == revision
        seen = await eventually(
            lambda: two.catalogs("ann")[0].revision == outcome.revision, STALENESS_BOUND_S
        )
    assert seen < STALENESS_BOUND_S
    figures.append(f"unannounced change seen after {seen:.2f} s (bound {STALENESS_BOUND_S:.0f} s)")


def test_staleness_bound_is_what_following_takes() -> None:
    """At worst a change is missed by one asking, and found by the next, which may take its whole bound."""
    assert POLL_S + READING_BOUND_S <= STALENESS_BOUND_S


async def test_revision_with_a_damaged_date_is_listed_without_one(server: RealServer) -> None:
    """A damaged date costs the date; a damaged name is left out."""
    async with worker(server) as store:
        revision = await filled(store)
        with server.client() as client:
            client.hset("shin-wall:{ann}:revisions:main", mapping={revision: "yesterday", "r-1": "today"})
        (record,) = await store.revisions("ann", "main")
        assert (record.revision, record.published_at, record.active) == (revision, None, True)


async def test_server_that_lost_the_last_change_is_given_it_back(server: RealServer) -> None:
    """A server that comes back with an older state than a worker holds takes the worker's."""
    async with worker(server) as store:
        first = await filled(store)
        second = await store.publish("ann", "main", catalog("2.00"), if_match=first, activate=True)
        with server.client() as client:
            client.hset("shin-wall:{ann}:active", "main", f"1 {first}")
            client.set("shin-wall:change", "older token")
        async with worker(server) as newcomer:
            await eventually(lambda: newcomer.catalogs("ann")[0].revision == second.revision)
        assert store.catalogs("ann")[0].revision == second.revision


async def test_withdrawn_key_is_not_brought_back_by_a_stale_worker(
    own_server: RealServer, tmp_path: Path
) -> None:
    """A worker that slept through the withdrawal of a key cannot make it valid again, even on an empty server."""
    stale_state = tmp_path / "stale"
    async with worker(own_server, stale_state) as sleeper:
        await filled(sleeper)
        await eventually(stale_state.exists)
    async with worker(own_server) as keeper:
        await keeper.revoke_key("ann", DIGEST)
        own_server.kill()
        own_server.start()
        async with worker(own_server, stale_state) as sleeper:

            def withdrawn() -> bool:
                record = sleeper.key(DIGEST)
                return record is not None and record.revoked

            await eventually(withdrawn)
        async with worker(own_server) as newcomer:
            assert newcomer.keys("ann")[0].revoked


async def test_counters_are_shared_by_workers_and_go_on_alone(own_server: RealServer) -> None:
    """Two workers grant one quota together; while the server is away each counts for itself and says so."""
    limit = RateLimit(units=10, window_s=600)
    async with worker(own_server) as one, worker(own_server) as two:
        answers = [await store.count("ann", DIGEST, limit) for _ in range(6) for store in (one, two)]
        assert [answer.allowed for answer in answers] == [True] * 10 + [False] * 2
        own_server.kill()
        alone = [await one.count("ann", DIGEST, limit) for _ in range(12)]
        assert [answer.allowed for answer in alone] == [True] * 10 + [False] * 2
        assert not any(answer.shared for answer in alone)


async def test_finished_plans_are_shared_and_damaged_ones_ignored(server: RealServer) -> None:
    """A plan finished by one worker is given by the other; a damaged one counts as none."""
    async with worker(server) as one, worker(server) as two, worker(server) as three:
        await one.remember("ann", "plan", b"body")
        assert await two.cached("ann", "plan") == b"body"
        with server.client() as client:
            assert 0 < int(str(client.ttl("shin-wall:{ann}:plan:plan"))) <= 60
            client.setrange("shin-wall:{ann}:plan:plan", 33, b"ad")
        assert await three.cached("ann", "plan") is None


async def test_reading_the_active_catalog_asks_nothing_of_the_server(
    server: RealServer, figures: list[str]
) -> None:
    """Ten thousand reads send not one command."""
    async with worker(server) as store:
        await filled(store)
        with server.client() as client:
            before = client.info("commandstats")
            began = time.perf_counter()
            for _ in range(10_000):
                assert store.active("ann", "main") is not None
            each = (time.perf_counter() - began) / 10_000
            after = client.info("commandstats")
    calls = {name: int(stat["calls"]) for name, stat in after.items()}
    for name, stat in before.items():
        calls[name] -= int(stat["calls"])
    assert sum(calls.values()) - calls["cmdstat_info"] == 0
    figures.append(f"reading the active catalog: {each * 1e9:.0f} ns, no command sent")


async def test_state_that_cannot_be_saved_stops_nothing(own_server: RealServer, tmp_path: Path) -> None:
    """A full or read-only disk costs the next start its memory, not this worker its work."""
    blocked = tmp_path / "file"
    blocked.write_text("a file where a folder should be")
    async with worker(own_server, blocked / "state") as store:
        await filled(store)
        await asyncio.sleep(0.1)
        assert healthy(store)
        blocked.unlink()
        await eventually((blocked / "state").exists)
