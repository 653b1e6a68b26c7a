"""Lines and rows on their way in: split within bounds, numbered, and turned into structures to plan.

Rules of this file
------------------
- Nothing longer than the limit is ever held: an endless line is read to its end, told and forgotten.
- A bad line is a record that carries its refusal; reading goes on with the next.
- A line holds a structure spec, or `{"id": .., "spec": {..}}`; a row is one structure and ends at the line's end.
"""

import csv
from collections.abc import AsyncIterator, Callable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import partial
from typing import Any, Final

import orjson

from service.api.bodies import decode
from service.api.problems import FIELDS, Problem, field_error
from service.batch.columns import Reader, columns, reader_of, spec_of
from service.planner.errors import FieldProblem
from service.planner.messages import Message, say

LONGEST_ID: Final = 200
"""Characters of a structure's id [-]"""
_BOM: Final = b"\xef\xbb\xbf"
UNREADABLE: Final = (UnicodeDecodeError, csv.Error)
"""What reading cells raises"""
ROW_NO_CELLS: Final = say(
    "batch.row_no_cells",
    "The row is no row of cells: UTF-8, a line end (LF or CRLF), cells of at most {most} bytes.",
    most=csv.field_size_limit(),
)
HEADER_NO_CELLS: Final = say(
    "batch.header_no_cells",
    "The header is no row of cells: UTF-8, a line end (LF or CRLF), cells of at most {most} bytes.",
    most=csv.field_size_limit(),
)
"""What is said of bytes that are none"""
_TITLES: Final = 600
"""Columns that a file may have [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the input."""

    row: int
    """Number of the line, from 1 [-]"""
    content: bytes | None
    """The line without its end; none where it was longer than the limit"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One structure to plan, or why it cannot be read."""

    row: int
    """Number of its line, from 1 [-]"""
    id: str | None
    """The caller's own name of it"""
    reference: str
    """The spec's reference"""
    body: bytes
    """The spec as JSON, without its reference"""
    catalog: tuple[str, str | None]
    """The catalog asked for, and its revision where one is pinned"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A line that is no structure."""

    row: int
    """Number of its line, from 1 [-]"""
    problem: Problem
    """What is wrong with it"""
    id: str | None = None
    """The caller's own name of it, where it could be read"""


ReadLine = Callable[[Line], Record | Refused | None]
"""Reads a line; none where a row holds nothing but empty cells"""


async def split(chunks: AsyncIterator[bytes], most: int) -> AsyncIterator[list[Line]]:
    """Split a body into its lines that are not blank, all of a chunk together.

    Parameters
    ----------
    chunks
        The body as it comes.
    most
        Longest line that is held [B].
    """
    row, held, dropping = 1, b"", False
    async for chunk in chunks:
        *whole, rest = (held + chunk).split(b"\n")
        found = []
        if dropping and whole:
            found.append(Line(row=row, content=None))
            row, dropping, whole = row + 1, False, whole[1:]
        for content in whole:
            if not content.isspace() and content:
                found.append(Line(row=row, content=content if len(content) <= most else None))
            row += 1
        if len(rest) > most or dropping:
            dropping, rest = True, b""
        held = rest
        if found:
            yield found
    if dropping or held.strip():
        yield [Line(row=row, content=None if dropping else held)]


def too_long(row: int, most: int) -> Refused:
    """Refuse a line for its length."""
    return Refused(
        row=row,
        problem=Problem(
            "body-too-large", say("batch.line_bytes", "A line may have {most} bytes at most.", most=most)
        ),
    )


def record_of(row: int, own_id: object, spec: object) -> Record | Refused:
    """Make a record of a decoded spec, or say why it is none."""
    if not isinstance(spec, dict):
        return Refused(
            row=row, problem=_wrong("", say("batch.spec", "must be a structure spec, a JSON object"))
        )
    if own_id is not None and (not isinstance(own_id, str) or len(own_id) > LONGEST_ID):
        return Refused(
            row=row,
            problem=_wrong(
                "/id", say("batch.id", "must be text of at most {most} characters", most=LONGEST_ID)
            ),
        )
    reference, catalog, pinned = (spec.get(name) for name in ("reference", "catalog", "catalog_revision"))
    plain = isinstance(reference, str) and len(reference) <= LONGEST_ID
    return Record(
        row=row,
        id=own_id,
        reference=reference if plain and isinstance(reference, str) else "",
        body=orjson.dumps({name: spec[name] for name in sorted(spec) if name != "reference" or not plain}),
        catalog=(
            catalog if isinstance(catalog, str) else "demo",
            pinned if isinstance(pinned, str) else None,
        ),
    )


def _wrong(pointer: str, detail: Message) -> Problem:
    return Problem(
        "invalid-fields",
        FIELDS,
        [field_error(FieldProblem(pointer=pointer, detail=detail))],
    )


def read_json(line: Line, most: int) -> Record | Refused:
    """Read a line of JSON.

    Parameters
    ----------
    line
        The line.
    most
        Longest line that is held [B].
    """
    if line.content is None:
        return too_long(line.row, most)
    try:
        value = decode(line.content.removeprefix(_BOM) if line.row == 1 else line.content)
    except Problem as problem:
        return Refused(row=line.row, problem=problem)
    if isinstance(value, dict) and "spec" in value:
        for name in value.keys() - {"id", "spec"}:
            return Refused(
                row=line.row,
                problem=_wrong(f"/{name[:60]}", say("batch.in_spec", "stands in the spec or not at all")),
            )
        return record_of(line.row, value.get("id"), value["spec"])
    return record_of(line.row, None, value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """What the header of a CSV file says."""

    readers: dict[int, Reader]
    """How each column is read, by its place"""
    id_at: int | None
    """Place of the column of ids"""
    delimiter: str
    """Between two cells; a semicolon says that a comma is the decimal mark"""

    def read(self, line: Line, most: int) -> Record | Refused | None:
        """Read a row of cells.

        Parameters
        ----------
        line
            The row.
        most
            Longest line that is held [B].
        """
        if line.content is None:
            return too_long(line.row, most)
        try:
            cells = _cells(line.content, self.delimiter)
        except UNREADABLE:
            return Refused(row=line.row, problem=Problem("malformed-request", ROW_NO_CELLS))
        if not any(map(str.strip, cells)):
            return None
        own_id = cells[self.id_at].strip() if self.id_at is not None and self.id_at < len(cells) else None
        spec, wrong = spec_of(self.readers, cells)
        if wrong:
            found = [{"pointer": "", "column": name, "detail": detail} for name, detail in wrong]
            return Refused(
                row=line.row,
                id=own_id,
                problem=Problem("invalid-fields", say("batch.cells", "Cells need correction."), found),
            )
        return record_of(line.row, own_id or None, spec)


def _cells(content: bytes, delimiter: str) -> list[str]:
    """Read the cells of a row as RFC 4180 writes them; raises one of `UNREADABLE` where they are not."""
    return next(csv.reader([content.decode().rstrip("\r")], delimiter=delimiter), [])


def read_header(line: Line) -> Table:
    """Read the header of a CSV file.

    Raises
    ------
    Problem
        When it is no header, or names columns that there are not.
    """
    content = (line.content or b"").removeprefix(_BOM)
    delimiter = ";" if content.count(b";") > content.count(b",") else ","
    try:
        titles = [title.strip().lower() for title in _cells(content, delimiter)]
    except UNREADABLE:
        raise Problem("bid-list-unreadable", HEADER_NO_CELLS) from None
    if not any(titles) or len(titles) > _TITLES:
        raise Problem("bid-list-unreadable", say("batch.no_columns", "The first row does not name columns."))
    found = {at: reader_of(title, comma=delimiter == ";") for at, title in enumerate(titles) if title}
    unknown = [titles[at] for at, reader in found.items() if reader is None and titles[at] != "id"]
    doubled = sorted({title for title in titles if title and titles.count(title) > 1})
    complaints = [
        *map(_unknown, unknown),
        *({"column": title[:60], "detail": say("batch.column_twice", "is there twice")} for title in doubled),
    ]
    if complaints:
        raise Problem(
            "bid-list-unreadable",
            say("batch.columns", "The header names columns that cannot be read."),
            complaints[:50],
        )
    return Table(
        readers={at: reader for at, reader in found.items() if reader is not None},
        id_at=titles.index("id") if "id" in titles else None,
        delimiter=delimiter,
    )


def _unknown(title: str) -> dict[str, Any]:
    """Say that a title is no column, and which one is near."""
    near = get_close_matches(title[:60], [column.published for column in columns().values()], n=1)
    return {
        "column": title[:60],
        "detail": say("batch.no_column", "is not a column"),
        **({"suggestion": near[0]} if near else {}),
    }


async def records(
    lines: AsyncIterator[list[Line]], read_line: ReadLine | None, most: int
) -> AsyncIterator[list[Record | Refused]]:
    """Turn lines into structures, a chunk at a time.

    Parameters
    ----------
    lines
        The lines.
    read_line
        Reads one; none where the first line is the header of a CSV file, which then says how.
    most
        Longest line that is held [B].
    """
    async for found in lines:
        rows: Iterator[Line] = iter(found)
        if read_line is None:
            read_line = partial(read_header(next(rows)).read, most=most)
        yield [record for line in rows if (record := read_line(line)) is not None]
