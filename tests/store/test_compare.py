"""What changed between two revisions."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.store.compare import Difference, compare
from service.store.folder import SHIPPED

DEMO: dict[str, Any] = json.loads(Path(SHIPPED, "demo.json").read_text())


def at(document: Any, pointer: str) -> Any:
    """Follow a pointer as RFC 6901, section 4, says."""
    for step in pointer.split("/")[1:]:
        plain = step.replace("~1", "/").replace("~0", "~")
        document = document[int(plain)] if isinstance(document, list) else document[plain]
    return document


def test_equal_documents_have_no_changes() -> None:
    """Nothing changed, nothing is said."""
    assert compare(DEMO, copy.deepcopy(DEMO)) == ()


def test_changed_price_is_one_change_of_its_item() -> None:
    """The pointer leads to the price in the newer document, and the item is named."""
    newer = copy.deepcopy(DEMO)
    newer["items"][3]["price"] = "99.99"
    (change,) = compare(DEMO, newer)
    assert change == Difference(
        kind="changed",
        pointer="/items/3/price",
        name=DEMO["items"][3]["sku"],
        before=DEMO["items"][3]["price"],
        after="99.99",
    )


def test_item_inserted_at_the_top_is_one_addition() -> None:
    """Items are matched by sku, not by place."""
    newer = copy.deepcopy(DEMO)
    newer["items"].insert(0, {"sku": "NEW-1", "price": "1.00"})
    (change,) = compare(DEMO, newer)
    assert (change.kind, change.pointer, change.name) == ("added", "/items/0", "NEW-1")
    assert change.after == {"sku": "NEW-1", "price": "1.00"}


def test_removed_item_points_into_the_older_document() -> None:
    """Where it stood is in the older document only."""
    newer = copy.deepcopy(DEMO)
    gone = newer["items"].pop(5)
    (change,) = compare(DEMO, newer)
    assert (change.kind, change.pointer, change.name, change.before) == (
        "removed",
        "/items/5",
        gone["sku"],
        gone,
    )


def test_what_is_removed_inside_a_moved_item_points_into_the_older_document() -> None:
    """The item stands one place lower in the newer document; its price break stood where it stood in the older."""
    before = {"items": [{"sku": "A", "breaks": [{"packs": 10}]}]}
    after = {"items": [{"sku": "NEW"}, {"sku": "A", "breaks": []}]}
    added, removed = compare(before, after)
    assert (added.kind, added.pointer) == ("added", "/items/0")
    assert (removed.kind, removed.pointer, removed.name) == ("removed", "/items/0/breaks/0", "A")


def test_another_order_is_said_once() -> None:
    """Two documents that differ are never said to be equal: the order of items is a difference of its own."""
    newer = copy.deepcopy(DEMO)
    newer["items"].reverse()
    assert compare(DEMO, newer) == (Difference(kind="reordered", pointer="/items"),)


def test_number_and_truth_value_are_different() -> None:
    """1, 1.0 and true are equal in Python and different in JSON text."""
    assert compare({"a": 1}, {"a": True}) != ()
    assert compare({"a": 1}, {"a": 1.0}) != ()


def test_member_with_a_slash_is_escaped() -> None:
    """RFC 6901, section 3: ~ becomes ~0 and / becomes ~1."""
    (change,) = compare({"a/b~c": 1}, {"a/b~c": 2})
    assert change.pointer == "/a~1b~0c"


LEAVES = st.none() | st.booleans() | st.integers(-3, 3) | st.text("ab/~", max_size=2)
DOCUMENTS = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.text("ab/~", max_size=2), inner, max_size=3)
        | st.lists(
            st.builds(lambda sku, value: {"sku": sku, "v": value}, st.sampled_from("xyz"), inner), max_size=4
        )
    ),
    max_leaves=12,
)


@settings(max_examples=500, deadline=None)
@given(before=DOCUMENTS, after=DOCUMENTS)
def test_changes_are_where_they_point(before: object, after: object) -> None:
    """There are changes if and only if the texts differ, and each value stands where its pointer leads."""
    changes = compare(before, after)
    same = json.dumps(before, sort_keys=True) == json.dumps(after, sort_keys=True)
    assert (changes == ()) == same
    for change in changes:
        if change.kind in {"changed", "added"}:
            assert at(after, change.pointer) == change.after
        if change.kind == "removed":
            assert at(before, change.pointer) == change.before
