"""What every store does, tested on each kind."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from service.planner.errors import CatalogInvalid
from service.store.contract import ANY_REVISION, RateLimit, Scope, Store
from service.store.errors import (
    ActiveRevisionDiffers,
    CatalogUnknown,
    IdentifierInvalid,
    KeyTaken,
    LimitReached,
    MatchRequired,
    RevisionUnknown,
)
from service.store.publication import CATALOGS_MOST
from service.store.revision import DOCUMENT_BYTES_MOST
from tests.store.support import Items, catalog, key_record

pytestmark = pytest.mark.anyio

DIGEST, OTHER_DIGEST = "ab" * 32, "cd" * 32


async def publish(store: Store[Items], price: str, if_match: str | None = None) -> str:
    """Publish and activate a one-item catalog for the dealer `ann`; give its revision."""
    outcome = await store.publish("ann", "main", catalog(price), if_match=if_match, activate=True)
    return outcome.revision


async def test_published_catalog_is_read_at_once(store: Store[Items]) -> None:
    """What a worker publishes, it reads back without waiting, parsed, under its content address."""
    revision = await publish(store, "1.00")
    snapshot = store.active("ann", "main")
    assert snapshot is not None
    assert snapshot.revision == revision
    assert snapshot.catalog.items[0]["price"] == "1.00"
    assert snapshot.document == b'{"items":[{"price":"1.00","sku":"S1"}]}'


async def test_publishing_again_changes_nothing(store: Store[Items]) -> None:
    """The same content twice is one revision, also for a publisher who repeats a lost answer with its old If-Match."""
    first = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    again = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    assert (first.created, first.activated, first.previous) == (True, True, None)
    assert (again.created, again.activated, again.previous) == (False, False, first.revision)
    assert again.active == first.revision
    assert [record.generation for record in store.catalogs("ann")] == [1]


async def test_members_in_another_order_are_the_same_revision(store: Store[Items]) -> None:
    """A revision is named by content, not by spelling."""
    first = await store.publish("ann", "main", {"items": [], "a": 1}, if_match=None, activate=True)
    again = await store.publish("ann", "main", {"a": 1, "items": []}, if_match=None, activate=True)
    assert again.revision == first.revision


async def test_second_publisher_without_if_match_is_refused(store: Store[Items]) -> None:
    """Replacing an active revision takes its name."""
    active = await publish(store, "1.00")
    with pytest.raises(MatchRequired) as refusal:
        await publish(store, "2.00")
    assert refusal.value.current == active


async def test_publisher_with_an_old_if_match_is_refused(store: Store[Items]) -> None:
    """An update based on a revision that is no longer active is not taken, and leaves the active one."""
    first = await publish(store, "1.00")
    second = await publish(store, "2.00", first)
    with pytest.raises(ActiveRevisionDiffers) as refusal:
        await publish(store, "3.00", first)
    assert (refusal.value.expected, refusal.value.current) == (first, second)
    assert len(await store.revisions("ann", "main")) == 2


async def test_any_revision_is_replaced_on_demand(store: Store[Items]) -> None:
    """`*` replaces whatever is active."""
    await publish(store, "1.00")
    assert await publish(store, "2.00", ANY_REVISION) == store.catalogs("ann")[0].revision


async def test_publishing_without_activating_leaves_the_active_revision(store: Store[Items]) -> None:
    """A revision may be kept for later."""
    first = await publish(store, "1.00")
    kept = await store.publish("ann", "main", catalog("2.00"), if_match=None, activate=False)
    assert (kept.created, kept.activated, kept.active) == (True, False, first)
    assert (await store.revision("ann", "main", kept.revision)).catalog.items[0]["price"] == "2.00"
    with pytest.raises(ActiveRevisionDiffers):
        await store.publish("ann", "main", catalog("3.00"), if_match=kept.revision, activate=False)


async def test_rolling_back_is_activating_an_older_revision(store: Store[Items]) -> None:
    """The older revision is active again, byte for byte, and the list says so, newest first."""
    first = await publish(store, "1.00")
    second = await publish(store, "2.00", first)
    outcome = await store.activate("ann", "main", first, if_match=second)
    assert (outcome.activated, outcome.active, outcome.previous) == (True, first, second)
    assert [(record.revision, record.active) for record in await store.revisions("ann", "main")] == [
        (second, False),
        (first, True),
    ]


async def test_activating_needs_the_active_revision_too(store: Store[Items]) -> None:
    """Rolling back cannot lose an update either."""
    first = await publish(store, "1.00")
    await publish(store, "2.00", first)
    with pytest.raises(MatchRequired):
        await store.activate("ann", "main", first, if_match=None)
    with pytest.raises(ActiveRevisionDiffers):
        await store.activate("ann", "main", first, if_match="r-" + "0" * 32)


async def test_unknown_catalogs_and_revisions_are_named(store: Store[Items]) -> None:
    """What is not there is said to be not there."""
    await publish(store, "1.00")
    assert store.active("ann", "other") is None
    with pytest.raises(RevisionUnknown):
        await store.revision("ann", "main", "r-" + "0" * 32)
    with pytest.raises(RevisionUnknown):
        await store.activate("ann", "main", "r-" + "0" * 32, if_match=ANY_REVISION)
    with pytest.raises(CatalogUnknown):
        await store.revisions("ann", "other")


async def test_invalid_catalog_is_refused_with_every_problem(store: Store[Items]) -> None:
    """Nothing of a refused document is kept."""
    with pytest.raises(CatalogInvalid) as refusal:
        await store.publish("ann", "main", {"items": [{}, {"sku": "A"}, {}]}, if_match=None, activate=True)
    assert [problem.pointer for problem in refusal.value.problems] == ["/items/0", "/items/2"]
    with pytest.raises(CatalogUnknown):
        await store.revisions("ann", "main")


async def test_document_that_is_no_plain_json_is_refused(store: Store[Items]) -> None:
    """An integer beyond 64 bits has no spelling that every reader understands."""
    with pytest.raises(CatalogInvalid):
        await store.publish("ann", "main", {"items": [{"sku": 2**70}]}, if_match=None, activate=True)


async def test_document_that_is_too_long_is_refused(store: Store[Items]) -> None:
    """The longest document is stated; one character more is refused."""
    room = DOCUMENT_BYTES_MOST - len('{"items":[],"note":""}')
    for length, taken in ((room, True), (room + 1, False)):
        document = {"items": [], "note": "x" * length}
        if taken:
            await store.publish("ann", "main", document, if_match=ANY_REVISION, activate=True)
        else:
            with pytest.raises(LimitReached):
                await store.publish("ann", "main", document, if_match=ANY_REVISION, activate=True)


async def test_number_of_catalogs_is_limited(store: Store[Items]) -> None:
    """A dealer cannot fill the store with catalogs, and a full shelf still takes new revisions."""
    for number in range(CATALOGS_MOST):
        await store.publish("ann", f"c{number}", catalog("1.00"), if_match=None, activate=True)
    with pytest.raises(LimitReached):
        await store.publish("ann", "more", catalog("1.00"), if_match=None, activate=True)
    await store.publish("ann", "c0", catalog("2.00"), if_match=ANY_REVISION, activate=True)
    await store.publish("bob", "main", catalog("1.00"), if_match=None, activate=True)


@pytest.mark.parametrize("name", ["", "Ann", "a:b", "a/b", "..", "a{b}", "a" * 64, "a\n", "-a", "ä"])
async def test_names_that_could_mean_something_else_are_refused(store: Store[Items], name: str) -> None:
    """No name reaches a path or a server key unless it is plain."""
    with pytest.raises(IdentifierInvalid):
        await store.publish(name, "main", catalog("1.00"), if_match=None, activate=True)
    with pytest.raises(IdentifierInvalid):
        await store.publish("ann", name, catalog("1.00"), if_match=None, activate=True)
    with pytest.raises(IdentifierInvalid):
        await store.revision("ann", "main", name)
    assert store.active(name, name) is None


async def test_dealers_do_not_see_each_other(store: Store[Items]) -> None:
    """The same names under another dealer are other things."""
    revision = await publish(store, "1.00")
    assert store.active("bob", "main") is None
    assert store.catalogs("bob") == ()
    with pytest.raises(RevisionUnknown):
        await store.revision("bob", "main", revision)
    outcome = await store.publish("bob", "main", catalog("9.00"), if_match=None, activate=True)
    assert outcome.previous is None
    assert store.catalogs("ann")[0].revision == revision


async def test_key_is_known_with_its_scopes_and_origins(store: Store[Items]) -> None:
    """A key's record comes back as it was put."""
    record = replace(
        key_record("ann", DIGEST),
        scopes=frozenset({Scope.PLAN, Scope.PUBLISH}),
        origins=("https://shop.example",),
        rate=RateLimit(units=10, window_s=60),
        not_before=datetime(2026, 1, 1, tzinfo=UTC),
        not_after=datetime(2027, 1, 1, tzinfo=UTC),
    )
    await store.put_key(record)
    assert store.key(DIGEST) == record
    assert store.keys("ann") == (record,)
    assert store.origins() == {"https://shop.example"}
    assert store.key(OTHER_DIGEST) is None
    assert store.keys("bob") == ()


async def test_two_keys_are_valid_while_a_dealer_changes_over(store: Store[Items]) -> None:
    """The old key ends a day after the new one begins; in between both are valid."""
    begin = datetime(2026, 6, 1, tzinfo=UTC)
    await store.put_key(replace(key_record("ann", DIGEST), not_after=begin + timedelta(days=1)))
    await store.put_key(replace(key_record("ann", OTHER_DIGEST), not_before=begin))
    valid = [
        [record.digest for record in store.keys("ann") if record.live(begin + timedelta(hours=hours))]
        for hours in (-1, 0, 23, 24)
    ]
    assert valid == [[DIGEST], [DIGEST, OTHER_DIGEST], [DIGEST, OTHER_DIGEST], [OTHER_DIGEST]]


async def test_withdrawn_key_stays_withdrawn(store: Store[Items]) -> None:
    """Nothing makes a withdrawn key valid again, not even putting it once more."""
    await store.put_key(replace(key_record("ann", DIGEST), origins=("https://shop.example",)))
    await store.revoke_key("ann", DIGEST)
    await store.put_key(key_record("ann", DIGEST))
    record = store.key(DIGEST)
    assert record is not None
    assert not record.live(datetime(2026, 6, 1, tzinfo=UTC))
    assert store.origins() == frozenset()


async def test_key_of_another_dealer_cannot_be_taken_or_withdrawn(store: Store[Items]) -> None:
    """A digest belongs to the dealer who put it first."""
    await store.put_key(key_record("ann", DIGEST))
    with pytest.raises(KeyTaken):
        await store.put_key(key_record("bob", DIGEST))
    await store.revoke_key("bob", DIGEST)
    assert store.key(DIGEST) == key_record("ann", DIGEST)


async def test_exactly_the_allowed_units_are_granted(store: Store[Items]) -> None:
    """Of 105 calls in a moment, 100 of 100 a minute are granted; a refused one says when to come back."""
    limit = RateLimit(units=100, window_s=60)
    answers = [await store.count("ann", DIGEST, limit) for _ in range(105)]
    # One unit comes back every 0.6 s; the calls together take less.
    assert [answer.allowed for answer in answers] == [True] * 100 + [False] * 5
    assert [answer.remaining for answer in answers[:3]] == [99, 98, 97]
    assert 0 < answers[-1].retry_after_s <= 0.6
    assert 59 < answers[-1].reset_s <= 60
    assert all(answer.shared for answer in answers)


async def test_a_call_may_take_several_units(store: Store[Items]) -> None:
    """Units are taken together or not at all, and more than the limit never."""
    limit = RateLimit(units=10, window_s=60)
    assert (await store.count("ann", "batch", limit, units=8)).remaining == 2
    assert not (await store.count("ann", "batch", limit, units=3)).allowed
    assert (await store.count("ann", "batch", limit, units=2)).remaining == 0
    assert not (await store.count("ann", "other", limit, units=11)).allowed


async def test_finished_plan_is_given_back_to_its_dealer_alone(store: Store[Items]) -> None:
    """A plan kept under a digest is another dealer's nothing."""
    await store.remember("ann", "plan-1", b"body")
    assert await store.cached("ann", "plan-1") == b"body"
    assert await store.cached("bob", "plan-1") is None
    assert await store.cached("ann", "plan-2") is None


async def test_all_is_well_with_a_store_that_works(store: Store[Items]) -> None:
    """A healthy store says so."""
    await publish(store, "1.00")
    status = store.status()
    assert (status.degraded, status.trouble, status.breaker, status.rejected) == (False, None, "closed", 0)


async def test_a_secret_is_the_first_callers_for_all(store: Store[Items]) -> None:
    """Whoever comes later gets what is kept, by its name."""
    assert await store.secret("one", b"first") == b"first"
    assert await store.secret("one", b"second") == b"first"
    assert await store.secret("other", b"third") == b"third"
