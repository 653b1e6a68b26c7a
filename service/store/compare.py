"""What changed from one catalog document to another.

Rules of this module: a pure function over decoded JSON. Entries of a list are matched by their own name (an item by its
sku) where they have one, so that an item inserted at the top is one addition and not a change of everything below.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

NAMES = ("sku", "name")
"""Members that name an entry of a list, the first that every entry has counts [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
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


def compare(before: object, after: object) -> tuple[Change, ...]:
    """List every difference between two documents, in the order of the newer one.

    Parameters
    ----------
    before
        The older document [-].
    after
        The newer document [-].
    """
    return tuple(_changes(before, after, "", None))


def _changes(before: object, after: object, pointer: str, name: str | None) -> Iterator[Change]:
    if isinstance(before, Mapping) and isinstance(after, Mapping):
        yield from _members(before, after, pointer, name)
    elif isinstance(before, list) and isinstance(after, list):
        yield from _entries(before, after, pointer, name)
    elif before != after or type(before) is not type(after):
        yield Change(kind="changed", pointer=pointer, name=name, before=before, after=after)


def _members(
    before: Mapping[str, Any], after: Mapping[str, Any], pointer: str, name: str | None
) -> Iterator[Change]:
    for member, value in before.items():
        if member not in after:
            yield Change(kind="removed", pointer=_under(pointer, member), name=name, before=value)
    for member, value in after.items():
        if member in before:
            yield from _changes(before[member], value, _under(pointer, member), name)
        else:
            yield Change(kind="added", pointer=_under(pointer, member), name=name, after=value)


def _entries(before: list[Any], after: list[Any], pointer: str, name: str | None) -> Iterator[Change]:
    older, newer = _names(before, after)
    place = {entry: index for index, entry in enumerate(older)}
    names_after = set(newer)
    for index, entry in enumerate(older):
        if entry not in names_after:
            yield Change(
                kind="removed",
                pointer=_under(pointer, index),
                name=_shown(entry, name),
                before=before[index],
            )
    for index, entry in enumerate(newer):
        if entry in place:
            yield from _changes(
                before[place[entry]], after[index], _under(pointer, index), _shown(entry, name)
            )
        else:
            yield Change(
                kind="added", pointer=_under(pointer, index), name=_shown(entry, name), after=after[index]
            )
    kept = [place[entry] for entry in newer if entry in place]
    if kept != sorted(kept):
        yield Change(kind="reordered", pointer=pointer, name=name)


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


def _shown(entry: object, outer: str | None) -> str | None:
    return entry if isinstance(entry, str) else outer


def _under(pointer: str, step: str | int) -> str:
    return f"{pointer}/{str(step).replace('~', '~0').replace('/', '~1')}"
