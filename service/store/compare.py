"""What changed from one catalog document to another.

Rules of this module: a pure function over decoded JSON. Entries of a list are matched by their own name (an item by its
sku) where they have one, so that an item inserted at the top is one addition and not a change of everything below.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from service.planner.pointers import write_pointer

NAMES = ("sku", "name")
"""Members that name an entry of a list, the first that every entry has counts [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One difference.

    Attributes
    ----------
    kind
        What happened [-].
    pointer
        RFC 6901 pointer; into the older document for what was removed, into the newer one for everything else [-].
    name
        Name of the list entry that it lies in, a sku as a rule; None when it lies in none [-].
    before
        The older value; None when it was added or reordered [-].
    after
        The newer value; None when it was removed or reordered [-].
    """

    kind: Literal["added", "removed", "changed", "reordered"]
    pointer: str
    name: str | None = None
    before: Any = None
    after: Any = None


@dataclass(frozen=True, slots=True)
class _Place:
    """Where two values stand, each in its document, and the named list entry around them."""

    older: str = ""
    newer: str = ""
    name: str | None = None

    def member(self, member: str) -> _Place:
        """Go down to a member, which is called the same in both documents."""
        step = write_pointer([member])
        return _Place(self.older + step, self.newer + step, self.name)

    def entry(self, older: int | None, newer: int | None, name: object) -> _Place:
        """Go down to an entry of a list, which may stand at another index in each."""
        shown = name if isinstance(name, str) else self.name
        return _Place(f"{self.older}/{older}", f"{self.newer}/{newer}", shown)


def compare(before: object, after: object) -> tuple[Difference, ...]:
    """List every difference between two documents, in the order of the newer one.

    Parameters
    ----------
    before
        The older document [-].
    after
        The newer document [-].
    """
    return tuple(_changes(before, after, _Place()))


def _changes(before: object, after: object, place: _Place) -> Iterator[Difference]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        yield from _members(before, after, place)
    elif isinstance(before, list) and isinstance(after, list):
        yield from _entries(before, after, place)
    elif before != after or type(before) is not type(after):
        yield Difference(kind="changed", pointer=place.newer, name=place.name, before=before, after=after)


def _members(before: Mapping[str, Any], after: Mapping[str, Any], place: _Place) -> Iterator[Difference]:
    for member, value in before.items():
        if member not in after:
            yield _removed(place.member(member), value)
    for member, value in after.items():
        if member in before:
            yield from _changes(before[member], value, place.member(member))
        else:
            yield _added(place.member(member), value)


def _entries(before: list[Any], after: list[Any], place: _Place) -> Iterator[Difference]:
    older, newer = _names(before, after)
    index_before = {name: index for index, name in enumerate(older)}
    names_after = set(newer)
    for index, name in enumerate(older):
        if name not in names_after:
            yield _removed(place.entry(index, None, name), before[index])
    for index, name in enumerate(newer):
        if name in index_before:
            was = index_before[name]
            yield from _changes(before[was], after[index], place.entry(was, index, name))
        else:
            yield _added(place.entry(None, index, name), after[index])
    kept = [index_before[name] for name in newer if name in index_before]
    if kept != sorted(kept):
        yield Difference(kind="reordered", pointer=place.newer, name=place.name)


def _removed(place: _Place, value: object) -> Difference:
    return Difference(kind="removed", pointer=place.older, name=place.name, before=value)


def _added(place: _Place, value: object) -> Difference:
    return Difference(kind="added", pointer=place.newer, name=place.name, after=value)


def _names(before: Sequence[Any], after: Sequence[Any]) -> tuple[list[object], list[object]]:
    """Name the entries of two lists by a member of theirs or, where none will do, by their place."""
    for member in NAMES:
        named = [_values(entries, member) for entries in (before, after)]
        if all(
            len(set(names)) == len(entries) for names, entries in zip(named, (before, after), strict=True)
        ):
            return named[0], named[1]
    return list(range(len(before))), list(range(len(after)))


def _values(entries: Sequence[Any], member: str) -> list[object]:
    found = [entry.get(member) if isinstance(entry, Mapping) else None for entry in entries]
    return [value for value in found if isinstance(value, str)]
