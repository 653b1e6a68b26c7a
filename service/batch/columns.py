"""Columns of a bid list: the short name of every field of a structure spec, and how a cell is read.

Rules of this file
------------------
- Columns come from the spec's own classes: a new field is a new column, and nothing is listed twice.
- A field's name is its own; fields of a part carry the part's name (`post_width_mm`), lists are numbered (`opening_1_width_mm`).
- A length's column says its unit: `_mm`, `_cm`, `_m`, `_in` or `_ft`. A cell may also be a text with its own unit.
- An empty cell is a field not given. Several values in one cell are parted by `|`.
"""

import re
import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from itertools import pairwise
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints

from service.planner.asked.spec import Spec
from service.planner.fields import LengthField, MeasureField, MoneyField, NumberField, WholeField
from service.planner.messages import Message, say

Kind = Literal["length", "measure", "number", "whole", "flag", "text"]
UNITS: Final = ("mm", "cm", "m", "in", "ft")
"""Units that the name of a length's column may end in"""
NUMBERED: Final = 2
"""How many of a list's members the template shows; a file may number on [-]"""
_NUMBER: Final = re.compile(r"_([1-9][0-9]?)_")
_PLAIN: Final = frozenset({"structure", "wall", "options", "site", "pricing", "per_side"})
"""Parts of a spec whose name is left out of their fields' columns"""
_SINGULAR: Final = {"openings": "opening", "on_hand": "on_hand"}
_WORDS: Final = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a bid list."""

    name: str
    """Its short name, without a unit"""
    path: tuple[str | int, ...]
    """Steps to its field in the spec"""
    kind: Kind
    """How a cell is read"""
    many: bool = False
    """Whether a cell may hold several values"""

    @property
    def published(self) -> str:
        """Its name as the template writes it."""
        return f"{self.name}_mm" if self.kind == "length" else self.name


class CellError(ValueError):
    """A cell that cannot be read.

    Parameters
    ----------
    said
        What it must be.
    """

    def __init__(self, said: Message) -> None:
        super().__init__(said.text)
        self.said = said


_YES_OR_NO: Final = say("batch.yes_or_no", "must be yes or no")
_A_NUMBER: Final = say("batch.number", "must be a number")


def _bare(hint: object) -> tuple[object, tuple[object, ...]]:
    """Take a type and its notes, without the possibility that nothing is given."""
    if get_origin(hint) is Annotated:
        inner, *notes = get_args(hint)
        kind, more = _bare(inner)
        return kind, (*notes, *more)
    if get_origin(hint) in {Union, types.UnionType}:
        given = [option for option in get_args(hint) if option is not type(None)]
        # a part that may also be a word is described by the part; the word has a column of its own
        return _bare(next((option for option in given if is_dataclass(option)), given[0]))
    return hint, ()


def _kind(kind: object, notes: tuple[object, ...]) -> Kind:
    """Tell how cells of a field are read."""
    for note in notes:
        found: dict[type, Kind] = {
            LengthField: "length",
            NumberField: "number",
            MeasureField: "measure",
            WholeField: "whole",
            MoneyField: "text",
        }
        if type(note) in found:
            return found[type(note)]
    return "flag" if kind is bool else "text"


def _walk(owner: Any, path: tuple[str | int, ...], prefix: str) -> Iterator[Column]:  # noqa: ANN401  # a dataclass
    """Walk the fields of one class of the spec."""
    hints = get_type_hints(owner, include_extras=True)
    for field in fields(owner):
        kind, notes = _bare(hints[field.name])
        name, at = f"{prefix}{field.name}", (*path, field.name)
        if is_dataclass(kind):
            if Literal["auto"] in get_args(hints[field.name]):
                yield Column(name=name, path=at, kind="text")
            yield from _walk(kind, at, "" if field.name in _PLAIN else f"{field.name}_")
        elif get_origin(kind) is tuple:
            yield from _members(field.name, name, at, get_args(kind)[0])
        else:
            yield Column(name=name, path=at, kind=_kind(kind, notes))


def _members(field: str, name: str, path: tuple[str | int, ...], hint: object) -> Iterator[Column]:
    """Make the columns of a list: one cell of several values, or numbered columns of its members' fields."""
    kind, notes = _bare(hint)
    if not is_dataclass(kind):
        yield Column(name=name, path=path, kind=_kind(kind, notes), many=True)
        return
    for number in range(NUMBERED):
        yield from _walk(kind, (*path, number), f"{_SINGULAR[field]}_{number + 1}_")


@cache
def columns() -> Mapping[str, Column]:
    """List every column by its short name, in the spec's order."""
    return {column.name: column for column in _walk(Spec, (), "")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """How the cells of one column of a file are read."""

    column: Column
    unit: str | None
    """Unit of bare numbers, where the column is of lengths"""
    comma: bool
    """Whether a comma is the decimal mark"""

    def read(self, cell: str) -> Any:  # noqa: ANN401  # any JSON value
        """Read a cell into the value that a spec would hold.

        Raises
        ------
        CellError
            When the cell does not hold what its column is for.
        """
        if self.column.many:
            return [self._one(part.strip()) for part in cell.split("|") if part.strip()]
        return self._one(cell)

    def _one(self, cell: str) -> Any:  # noqa: ANN401  # as above
        match self.column.kind:
            case "length":
                return self._length(cell)
            case "number":
                return self._number(cell)
            case "measure":
                return self._measure(cell)
            case "whole":
                value = self._number(cell)
                return int(value) if value.is_integer() else value
            case "flag":
                if cell.lower() not in _WORDS:
                    raise CellError(_YES_OR_NO)
                return _WORDS[cell.lower()]
        return None if (cell, self.column.name) == ("none", "rope_hooks") else cell

    def _number(self, cell: str) -> float:
        try:
            value = float(cell.replace(",", ".") if self.comma else cell)
        except ValueError:
            raise CellError(_A_NUMBER) from None
        if not abs(value) < float("inf"):
            raise CellError(_A_NUMBER)
        return value

    def _measure(self, cell: str) -> float | str:
        """Take a bare number, and any other text with its own unit as it stands."""
        try:
            return self._number(cell)
        except CellError:
            return cell

    def _length(self, cell: str) -> float | str:
        """Take a bare number in the column's unit, and any other text as it stands."""
        try:
            value = self._number(cell)
        except CellError:
            return cell.replace(",", ".") if self.comma else cell
        return value if self.unit == "mm" else f"{value:.6f} {self.unit}"


def _numbered(name: str) -> Column | None:
    """Find a column by its name, whatever number its list's member has."""
    known = columns().get(name)
    number = _NUMBER.search(name)
    if known is None and number is not None:
        first = columns().get(_NUMBER.sub("_1_", name, count=1))
        at = int(number[1]) - 1
        return first and replace(
            first, name=name, path=tuple(at if isinstance(step, int) else step for step in first.path)
        )
    return known


def reader_of(title: str, *, comma: bool) -> Reader | None:
    """Find how a column of this title is read; None where there is no such column.

    Parameters
    ----------
    title
        Title of the column, such as `bay_spacing_ft`.
    comma
        Whether a comma is the decimal mark.
    """
    name, _, unit = title.rpartition("_")
    lengths = _numbered(name) if unit in UNITS else None
    if lengths is not None and lengths.kind == "length":
        return Reader(column=lengths, unit=unit, comma=comma)
    column = _numbered(title)
    if column is None:
        return None
    return Reader(column=column, unit="mm" if column.kind == "length" else None, comma=comma)


def column_at(pointer: str) -> str | None:
    """Name the column whose field a pointer leads to, or into; None where it leads to no column."""
    steps = tuple(int(step) if step.isdecimal() else step for step in pointer.split("/")[1:])
    for end in range(len(steps), 0, -1):
        path = tuple(0 if isinstance(step, int) else step for step in steps[:end])
        for column in columns().values():
            if column.path == path:
                number = next((step for step in steps[:end] if isinstance(step, int)), 0)
                return column.published.replace("_1_", f"_{number + 1}_", 1)
    return None


def spec_of(
    readers: Mapping[int, Reader], cells: list[str]
) -> tuple[dict[str, Any], list[tuple[str, Message]]]:
    """Put a row's cells together to a spec.

    Parameters
    ----------
    readers
        How each column is read, by its place in the row.
    cells
        The row.

    Returns
    -------
        The spec as JSON values, and name and complaint of each column that could not be read.
    """
    spec: dict[str, Any] = {
        "structure": {},
        "wall": {},
    }  # there, so that what is missing inside is named by its column
    wrong: list[tuple[str, Message]] = []
    for at, reader in readers.items():
        cell = cells[at].strip() if at < len(cells) else ""
        if cell:
            try:
                _put(spec, reader.column.path, reader.read(cell))
            except CellError as error:
                wrong.append((reader.column.name, error.said))
    return spec, wrong


def _put(spec: dict[str, Any], path: tuple[str | int, ...], value: object) -> None:
    """Put a value where its path leads, making what is missing on the way."""
    here: Any = spec
    for step, after in pairwise(path):
        if isinstance(step, int):
            while len(here) <= step:
                here.append({})
            here = here[step]
        else:
            kept = here.get(step)
            here[step] = kept if isinstance(kept, dict | list) else [] if isinstance(after, int) else {}
            here = here[step]
    here[path[-1]] = value
