"""The store's small parts, each by itself: breaker, fair cache, counting, names, revisions, registers, keys."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.store.breaker import FAILURES_TO_OPEN, OPEN_S, Breaker
from service.store.contract import RateLimit, Scope
from service.store.fair_cache import FairCache
from service.store.keys import key_digest, mint_key, read_record, write_record
from service.store.memory import WITHDRAWN, WorkerMemory
from service.store.publication import read_pointer, read_register, write_register
from service.store.rate import MICROSECONDS, arrive, interval
from service.store.revision import canonical, content_address
from tests.store.support import Items, MovableClock, key_record


def state_of(breaker: Breaker) -> str:
    """The state as plain text."""
    return breaker.state


def test_breaker_opens_after_failures_in_a_row_only() -> None:
    """A success in between starts the count anew."""
    breaker = Breaker(MovableClock().clock().monotonic)
    for _ in range(FAILURES_TO_OPEN - 1):
        breaker.failed()
    breaker.succeeded()
    for _ in range(FAILURES_TO_OPEN - 1):
        breaker.failed()
    assert state_of(breaker) == "closed"
    assert breaker.admits()
    breaker.failed()
    assert state_of(breaker) == "open"
    assert not breaker.admits()


def test_half_open_breaker_lets_one_call_through() -> None:
    """After a second one call is tried; its success closes the breaker, its failure opens it for another second."""
    clock = MovableClock()
    breaker = Breaker(clock.clock().monotonic)
    for _ in range(FAILURES_TO_OPEN):
        breaker.failed()
    clock.seconds += OPEN_S
    assert state_of(breaker) == "half_open"
    assert [breaker.admits() for _ in range(3)] == [True, False, False]
    breaker.failed()
    clock.seconds += OPEN_S * 0.99
    assert state_of(breaker) == "open"
    clock.seconds += OPEN_S * 0.01
    assert breaker.admits()
    breaker.succeeded()
    assert state_of(breaker) == "closed"


def test_half_open_breaker_does_not_wait_for_ever_for_its_one_call() -> None:
    """A call that never comes back (its caller went away) does not keep the breaker shut."""
    clock = MovableClock()
    breaker = Breaker(clock.clock().monotonic)
    for _ in range(FAILURES_TO_OPEN):
        breaker.failed()
    clock.seconds += OPEN_S
    assert breaker.admits()
    clock.seconds += OPEN_S
    assert breaker.admits()


ENTRIES = st.lists(
    st.tuples(st.sampled_from("abc"), st.sampled_from("xyz0123"), st.integers(1, 40)), max_size=60
)


@given(entries=ENTRIES)
def test_cache_never_holds_more_than_its_most(entries: list[tuple[str, str, int]]) -> None:
    """The weight is the sum of what can be got back, and bounded."""
    cache = FairCache[int](100, MovableClock().clock().monotonic)
    for dealer, name, weight in entries:
        cache.put(dealer, name, weight, weight=weight, lifetime_s=1.0)
        assert cache.weight <= 100
        # The dealer that holds most makes room, so an entry of its own may go at once.
        assert cache.get(dealer, name) in {weight, None}
    held = [cache.get(dealer, name) or 0 for dealer in "abc" for name in "xyz0123"]
    assert sum(held) == cache.weight


@given(entries=ENTRIES, modest=st.lists(st.integers(1, 11), min_size=1, max_size=3))
def test_dealer_within_its_share_loses_nothing(
    entries: list[tuple[str, str, int]], modest: list[int]
) -> None:
    """One dealer of four that holds no more than a quarter keeps every entry, whatever the other three do."""
    cache = FairCache[int](160, MovableClock().clock().monotonic)
    # Three entries of at most 11 weigh 33, less than a quarter of 160 by more than nothing.
    for number, weight in enumerate(modest):
        cache.put("modest", str(number), weight, weight=weight, lifetime_s=1.0)
    for dealer, name, weight in entries:
        cache.put(dealer, name, weight, weight=weight, lifetime_s=1.0)
    assert [cache.get("modest", str(number)) for number in range(len(modest))] == modest


def test_cache_forgets_the_least_recently_used_first() -> None:
    """An entry that was read is younger than one that was not."""
    cache = FairCache[str](2, MovableClock().clock().monotonic)
    cache.put("a", "1", "one", weight=1, lifetime_s=1.0)
    cache.put("a", "2", "two", weight=1, lifetime_s=1.0)
    cache.get("a", "1")
    cache.put("a", "3", "three", weight=1, lifetime_s=1.0)
    assert [cache.get("a", name) for name in "123"] == ["one", None, "three"]


def test_cache_forgets_in_time() -> None:
    """An entry ends when its lifetime is over, and weighs nothing then."""
    clock = MovableClock()
    cache = FairCache[str](10, clock.clock().monotonic)
    cache.put("a", "1", "one", weight=4, lifetime_s=60.0)
    clock.seconds += 59.9
    assert cache.get("a", "1") == "one"
    clock.seconds += 0.1
    assert cache.get("a", "1") is None
    assert cache.weight == 0


def test_entry_heavier_than_the_cache_is_not_kept() -> None:
    """It would push out everything and still not fit."""
    cache = FairCache[str](10, MovableClock().clock().monotonic)
    cache.put("a", "1", "one", weight=10, lifetime_s=1.0)
    cache.put("b", "2", "two", weight=11, lifetime_s=1.0)
    assert (cache.get("a", "1"), cache.get("b", "2")) == ("one", None)


LIMITS = st.builds(RateLimit, units=st.integers(1, 50), window_s=st.integers(1, 100))


@given(limit=LIMITS, gaps=st.lists(st.integers(0, 3_000_000), max_size=120))
def test_no_window_grants_more_than_twice_its_units(limit: RateLimit, gaps: list[int]) -> None:
    """A full burst and the units that come back meanwhile: never more than that in any window, and a burst in any case.

    In a window of length w starting when all units are there: units at once, then one each w/units.
    """
    now, full_at, granted = 10**15, 0, []
    for gap in gaps:
        now += gap
        full_at, answer = arrive(full_at, now, limit, 1)
        if answer.allowed:
            granted.append(now)
    window = interval(limit) * limit.units
    for start in granted:
        assert sum(start <= moment < start + window for moment in granted) <= 2 * limit.units
    # Over the whole time, no more than a burst and the rate.
    if granted:
        assert len(granted) <= limit.units + (granted[-1] - granted[0]) // interval(limit)


def test_units_come_back_evenly() -> None:
    """Three a minute: three at once, the fourth after exactly 20 s (60 s / 3), the fifth 20 s later."""
    limit, full_at, start = RateLimit(units=3, window_s=60), 0, 10**15
    granted = []
    for moment in (0, 0, 0, 0, 19_999_999, 20_000_000, 20_000_001, 39_999_999, 40_000_000):
        full_at, answer = arrive(full_at, start + moment, limit, 1)
        granted.append(answer.allowed)
    assert granted == [True, True, True, False, False, True, False, False, True]


@given(limit=LIMITS, units=st.integers(1, 50), wait=st.integers(0, 10**8))
def test_refused_units_are_granted_when_promised(limit: RateLimit, units: int, wait: int) -> None:
    """Coming back after `retry_after_s` is enough, and a moment earlier is not."""
    now = 10**15
    full_at = min(now + wait, now + interval(limit) * limit.units)
    units = min(units, limit.units)
    _, answer = arrive(full_at, now, limit, units)
    if not answer.allowed:
        later = round(answer.retry_after_s * MICROSECONDS)
        assert arrive(full_at, now + later, limit, units)[1].allowed
        assert not arrive(full_at, now + later - 1, limit, units)[1].allowed


@given(limit=LIMITS, taken=st.integers(0, 50))
def test_remaining_units_are_there(limit: RateLimit, taken: int) -> None:
    """Exactly as many units as the answer says can still be taken."""
    now, full_at, remaining = 10**15, 0, limit.units
    for _ in range(min(taken, limit.units)):
        full_at, answer = arrive(full_at, now, limit, 1)
        remaining = answer.remaining
    if remaining:
        assert arrive(full_at, now, limit, remaining)[1].allowed
    assert not arrive(full_at, now, limit, remaining + 1)[1].allowed


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
)


@given(document=st.dictionaries(st.text(max_size=3), JSON, max_size=4))
def test_spelling_is_json_with_sorted_members(document: dict[str, Any]) -> None:
    """The spelling reads back as the document and does not depend on the order of members.

    The oracle is the standard library's writer with the settings of RFC 8785, section 3.2 (for integers and text).
    """
    spelling = canonical(document)
    assert json.loads(spelling) == document
    assert canonical(dict(reversed(document.items()))) == spelling
    assert (
        spelling == json.dumps(document, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
    )


def test_revision_is_the_digest_of_the_spelling() -> None:
    """`r-` and the first 32 hexadecimal digits of SHA-256; the value is computed here from the spelling by hand."""
    spelling = b'{"a":1,"b":[true,null,"x"]}'
    assert canonical({"b": [True, None, "x"], "a": 1}) == spelling
    assert content_address(spelling) == "r-" + hashlib.sha256(spelling).hexdigest()[:32]
    # SHA-256 of no bytes, FIPS 180-4 example as published with its test vectors (from memory): e3b0c442 98fc1c14 ...
    assert content_address(b"") == "r-e3b0c44298fc1c149afbf4c8996fb924"


@given(generation=st.integers(0, WITHDRAWN), value=st.binary(max_size=20))
def test_register_reads_back(generation: int, value: bytes) -> None:
    """What is written is read."""
    assert read_register(write_register(generation, value)) == (generation, value)


@pytest.mark.parametrize(
    "garbage",
    [
        None,
        b"",
        b"7",
        b"7 ",
        b" r-" + b"0" * 32,
        b"-1 r-" + b"0" * 32,
        b"1 r-" + b"0" * 31,
        b"1 r-" + b"0" * 33,
        b"1 R-" + b"0" * 32,
        b"9" * 17 + b" r-" + b"0" * 32,
        b"9007199254740991 r-" + b"0" * 32,
        b"\xff\xfe",
    ],
)
def test_garbage_is_no_pointer(garbage: bytes | None) -> None:
    """Whatever is not a generation and a revision is none."""
    assert read_pointer(garbage) is None


@given(
    scopes=st.frozensets(st.sampled_from(Scope)),
    origins=st.lists(st.text(max_size=8), max_size=3).map(tuple),
    rate=st.none() | LIMITS,
    moment=st.none() | st.datetimes(timezones=st.just(UTC)),
    revoked=st.booleans(),
)
def test_key_record_reads_back(
    scopes: frozenset[Scope],
    origins: tuple[str, ...],
    rate: RateLimit | None,
    moment: datetime | None,
    revoked: bool,
) -> None:
    """What is written of a key is read."""
    record = replace(
        key_record("ann", "ab" * 32),
        scopes=scopes,
        origins=origins,
        rate=rate,
        not_before=moment,
        not_after=moment,
        revoked=revoked,
    )
    assert read_record("ann", "ab" * 32, write_record(record)) == record


@given(garbage=st.binary(max_size=30) | JSON.map(lambda value: json.dumps(value).encode()))
def test_garbage_is_no_key_record(garbage: bytes) -> None:
    """Whatever is not a record is none, without an error."""
    assert read_record("ann", "ab" * 32, garbage) is None


@pytest.mark.parametrize(
    "change",
    [
        {"scopes": ["everything"]},
        {"rate": [0, 60]},
        {"rate": [5]},
        {"not_after": "soon"},
        {"revoked": None, "scopes": 1},
    ],
)
def test_record_with_a_wrong_field_is_none(change: dict[str, object]) -> None:
    """A record is whole or nothing: a key never gets more because a field cannot be read."""
    written = json.loads(write_record(key_record("ann", "ab" * 32))) | change
    assert read_record("ann", "ab" * 32, json.dumps(written).encode()) is None


def test_record_without_a_clear_no_is_withdrawn() -> None:
    """Anything but `false` for withdrawn counts as withdrawn."""
    written = json.loads(write_record(key_record("ann", "ab" * 32))) | {"revoked": 0}
    record = read_record("ann", "ab" * 32, json.dumps(written).encode())
    assert record is not None
    assert record.revoked


def test_minted_keys_are_long_and_never_the_same() -> None:
    """256 random bits are 43 characters of base 64 (RFC 4648, section 5: six bits each)."""
    keys = {mint_key() for _ in range(100)}
    assert len(keys) == 100
    assert {len(key) for key in keys} == {len("shin_") + 43}


def test_digest_depends_on_key_and_pepper() -> None:
    """A stolen list of digests is of no use without the pepper; any length of either is taken."""
    digests = {
        key_digest(key, pepper)
        for key in ("", "a", "b", "ü", "\ud800", "x" * 1000)
        for pepper in (b"", b"p", b"p" * 64, b"p" * 65)
    }
    assert len(digests) == 24
    assert {len(digest) for digest in digests} == {64}
    # BLAKE2b-256 with key "p" of "a", by the standard library's own construction.
    assert key_digest("a", b"p") == hashlib.blake2b(b"a", key=b"p", digest_size=32).hexdigest()


def test_older_record_of_a_key_is_not_taken() -> None:
    """A memory never goes back to an earlier generation."""
    memory = WorkerMemory[Items](MovableClock().clock(), 100)
    memory.hold_key(WITHDRAWN, replace(key_record("ann", "ab" * 32), revoked=True))
    memory.hold_key(7, key_record("ann", "ab" * 32))
    record = memory.key("ab" * 32)
    assert record is not None
    assert record.revoked
