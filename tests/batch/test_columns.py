"""Columns of a bid list: every field of a spec has one, and cells mean what a spreadsheet's user meant."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.api.models import SPEC
from service.api.problems import Problem
from service.batch.columns import CellError, Reader, column_at, columns, reader_of, spec_of
from service.batch.records import Line, Record, Refused, read_header


def reader(title: str, *, comma: bool) -> Reader:
    """Find how a column that there is is read."""
    found = reader_of(title, comma=comma)
    assert found is not None
    return found


def leaves(schema: Any, root: Any, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    """List the paths to all plain fields of a JSON schema, members of lists by number 0."""
    if "$ref" in schema:
        return leaves(root["$defs"][schema["$ref"].rpartition("/")[2]], root, path)
    found = set().union(
        *(leaves(option, root, path) for option in schema.get("anyOf", ()) if option.get("type") != "null")
    )
    for name, inner in schema.get("properties", {}).items():
        found |= leaves(inner, root, (*path, name))
    items = schema.get("items")
    if items is not None:
        inner = leaves(items, root, (*path, 0))
        found |= inner if any(step != 0 for step in next(iter(inner))[len(path) + 1 :]) else {path}
    plain = not {"properties", "items", "anyOf"} & schema.keys()
    return found | ({path} if plain else set())


def test_every_field_of_a_spec_has_a_column() -> None:
    """The contract's schema and the columns name the same fields; a field added to the spec is a column at once."""
    schema = SPEC.json_schema()
    assert {column.path for column in columns().values() if 1 not in column.path} == leaves(schema, schema)


def test_no_two_columns_share_a_name_and_each_is_found_again() -> None:
    """A pointer into the spec leads back to its column."""
    for column in columns().values():
        assert reader(column.published, comma=False).column.path == column.path
        assert column_at("".join(f"/{step}" for step in column.path)) == column.published


@pytest.mark.parametrize(
    ("title", "cell", "comma", "value"),
    [
        ("bay_spacing_mm", "1219.2", False, 1219.2),
        ("bay_spacing_ft", "4", False, "4.000000 ft"),
        ("bay_spacing_m", "1,22", True, "1.220000 m"),
        ("bay_spacing", "12' 6 1/2\"", False, "12' 6 1/2\""),
        ("bay_spacing_mm", "1,5 m", True, "1.5 m"),
        ("stations_ft", "0|5|10", False, ["0.000000 ft", "5.000000 ft", "10.000000 ft"]),
        ("sides", "left | right", False, ["left", "right"]),
        ("roll_up_sides", "TRUE", False, True),
        ("roll_up_sides", "no", False, False),
        ("bays", "18.0", False, 18),
        ("rope_hooks", "none", False, None),
        ("lowest_temperature_c", "-12,5", True, -12.5),
        ("opening_7_width_in", "30", False, "30.000000 in"),
    ],
)
def test_cells_are_read_as_their_column_says(title: str, cell: str, comma: bool, value: object) -> None:
    """Units stand in the title; a semicolon between cells makes the comma a decimal mark."""
    assert reader(title, comma=comma).read(cell) == value


@pytest.mark.parametrize(
    ("title", "cell"), [("bays", "twelve"), ("roll_up_sides", "maybe"), ("bays", "inf"), ("bays", "nan")]
)
def test_a_cell_that_cannot_be_read_is_told(title: str, cell: str) -> None:
    """The complaint names the column; the row is refused, not the list."""
    with pytest.raises(CellError):
        reader(title, comma=False).read(cell)


@given(st.integers(1, 5000), st.integers(300, 3660))
def test_a_row_means_the_spec_that_it_spells(bays: int, spacing: int) -> None:
    """A spec put together from cells is the spec as JSON."""
    readers = {
        at: reader(title, comma=False)
        for at, title in enumerate(["bays", "bay_spacing_mm", "panel_thickness_mm", "opening_2_side"])
    }
    spec, wrong = spec_of(readers, [str(bays), str(spacing), " 8 ", ""])
    assert not wrong
    read = SPEC.validate_python(spec)
    assert (read.structure.bays, read.structure.bay_spacing, read.wall.panel_thickness) == (
        bays,
        spacing * 10**6,
        8 * 10**6,
    )


def test_a_spreadsheets_habits_work() -> None:
    """A byte order mark, semicolons, decimal commas, trailing blanks, carriage returns and rows of nothing."""
    table = read_header(Line(row=1, content="\ufeffID;Bays;Bay_Spacing_m ; panel_thickness_mm;;\r".encode()))
    record = table.read(Line(row=2, content=b"A1 ;12;1,22 ;8,0;;\r"), 1000)
    assert isinstance(record, Record)
    assert (record.id, record.row) == ("A1", 2)
    assert SPEC.validate_json(record.body).structure.bay_spacing == 1_220_000_000
    assert table.read(Line(row=3, content=b";;;;;\r"), 1000) is None
    refused = table.read(Line(row=4, content=b"A2;x;1,22;8"), 1000)
    assert isinstance(refused, Refused)
    assert refused.id == "A2"


@pytest.mark.parametrize("header", [b"", b",,,", b"\xff\xfe", b"bays,bays", b"bayz,bay_spacing", b"," * 700])
def test_a_header_of_nonsense_is_refused_with_what_would_work(header: bytes) -> None:
    """Nothing is planned from a list whose columns are not understood."""
    with pytest.raises(Problem) as refusal:
        read_header(Line(row=1, content=header))
    assert refusal.value.kind.slug == "bid-list-unreadable"
    if header.startswith(b"bayz"):
        assert refusal.value.errors[0]["suggestion"] == "bays"
