"""What a worker knows by heart: active catalogs, keys, recent revisions, its own counters and finished plans.

Rules of this module: nothing here waits, and no server or file is known. Both stores keep one of these in front, so that
reading the active catalog is a look-up in a dictionary.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from time import monotonic
from typing import Generic, TypeVar

from service.store.contract import Allowance, CatalogRecord, KeyRecord, RateLimit, Snapshot
from service.store.fair_cache import FairCache
from service.store.rate import MICROSECONDS, arrive

Parsed = TypeVar("Parsed")

REVISION_BYTES_MOST = 33_554_432
"""The most that documents of recently used revisions take in a worker [B]."""
COUNTERS_MOST = 100_000
"""The most counters in a worker [-]."""

WITHDRAWN = 2**53 - 1
"""The generation of a withdrawn key: nothing is later, so no stale worker can bring it back [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """The two clocks of a store, handed in so that tests can move them.

    Attributes
    ----------
    now
        The time of day, UTC [-].
    monotonic
        Seconds that never go back [s].
    """

    now: Callable[[], datetime]
    monotonic: Callable[[], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldCatalog(Generic[Parsed]):
    """An active catalog and how often the active revision had been set by then."""

    generation: int
    snapshot: Snapshot[Parsed]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldKey:
    """A key and how often its record had been set by then."""

    generation: int
    record: KeyRecord


class WorkerMemory(Generic[Parsed]):
    """One worker's memory, always answerable.

    Parameters
    ----------
    clock
        The store's clocks [-].
    plan_bytes
        The most that finished plans take [B].
    """

    def __init__(self, clock: Clock, plan_bytes: int) -> None:
        self.catalogs: dict[tuple[str, str], HeldCatalog[Parsed]] = {}
        self.keys: dict[tuple[str, str], HeldKey] = {}
        self._keys_by_digest: dict[str, KeyRecord | None] = {}
        self._origins: frozenset[str] | None = frozenset()
        self._clock = clock
        self._revisions = FairCache[Snapshot[Parsed]](REVISION_BYTES_MOST, clock.monotonic)
        self._counters = FairCache[int](COUNTERS_MOST, clock.monotonic)
        self._plans = FairCache[bytes](plan_bytes, clock.monotonic)

    def hold_catalog(self, generation: int, snapshot: Snapshot[Parsed]) -> None:
        """Make a snapshot the active one, unless a later one is held; readers see the old or the new one, whole."""
        name = (snapshot.dealer, snapshot.catalog_id)
        held = self.catalogs.get(name)
        if held is None or held.generation <= generation:
            self.catalogs[name] = HeldCatalog(generation=generation, snapshot=snapshot)

    def hold_key(self, generation: int, record: KeyRecord) -> None:
        """Make a key known, unless a later record is held; a digest that two dealers claim is good for neither."""
        held = self.keys.get((record.dealer, record.digest))
        if held is not None and held.generation > generation:
            return
        self.keys[record.dealer, record.digest] = HeldKey(generation=generation, record=record)
        self._origins = None
        known = self._keys_by_digest.get(record.digest, record)
        claimed_twice = known is None or known.dealer != record.dealer
        self._keys_by_digest[record.digest] = None if claimed_twice else record

    def active(self, dealer: str, catalog_id: str) -> Snapshot[Parsed] | None:
        """The active revision of a catalog."""
        held = self.catalogs.get((dealer, catalog_id))
        return None if held is None else held.snapshot

    def catalog_records(self, dealer: str) -> tuple[CatalogRecord, ...]:
        """List a dealer's catalogs by name."""
        return tuple(
            CatalogRecord(catalog_id=catalog_id, revision=held.snapshot.revision, generation=held.generation)
            for (holder, catalog_id), held in sorted(self.catalogs.items(), key=lambda item: item[0])
            if holder == dealer
        )

    def key(self, digest: str) -> KeyRecord | None:
        """What is known of a key."""
        return self._keys_by_digest.get(digest)

    def origins(self) -> frozenset[str]:
        """Give every web origin that a key lists which is not withdrawn; gathered once after each change of a key."""
        if self._origins is None:
            records = (held.record for held in self.keys.values() if not held.record.revoked)
            self._origins = frozenset(origin for record in records for origin in record.origins)
        return self._origins

    def key_records(self, dealer: str) -> tuple[KeyRecord, ...]:
        """List a dealer's keys by digest."""
        return tuple(
            held.record
            for (holder, _), held in sorted(self.keys.items(), key=lambda item: item[0])
            if holder == dealer
        )

    def taken(self, record: KeyRecord) -> bool:
        """Tell whether another dealer holds a key of this digest."""
        return any(digest == record.digest and dealer != record.dealer for dealer, digest in self.keys)

    def revision(self, dealer: str, catalog_id: str, revision: str) -> Snapshot[Parsed] | None:
        """A revision that is active or was used recently."""
        active = self.active(dealer, catalog_id)
        if active is not None and active.revision == revision:
            return active
        return self._revisions.get(dealer, f"{catalog_id} {revision}")

    def keep_revision(self, snapshot: Snapshot[Parsed]) -> None:
        """Remember a revision that was used."""
        name = f"{snapshot.catalog_id} {snapshot.revision}"
        self._revisions.put(
            snapshot.dealer, name, snapshot, weight=len(snapshot.document), lifetime_s=sys.maxsize
        )

    def count(self, dealer: str, bucket: str, limit: RateLimit, units: int) -> Allowance:
        """Count units in this worker alone."""
        now = int(self._clock.monotonic() * MICROSECONDS)
        full_at, allowance = arrive(self._counters.get(dealer, bucket) or 0, now, limit, units)
        self._counters.put(dealer, bucket, full_at, weight=1, lifetime_s=allowance.reset_s)
        return allowance

    def plan(self, dealer: str, digest: str) -> bytes | None:
        """A finished plan."""
        return self._plans.get(dealer, digest)

    def keep_plan(self, dealer: str, digest: str, body: bytes, lifetime_s: float) -> None:
        """Keep a finished plan for a while."""
        self._plans.put(dealer, digest, body, weight=len(body) + len(digest), lifetime_s=lifetime_s)


def system_clock() -> Clock:
    """The clocks of the machine."""
    return Clock(now=lambda: datetime.now(UTC), monotonic=monotonic)
