"""Lines on their way in: whole at any cut, numbered, bounded."""

import asyncio
from collections.abc import AsyncIterator

from hypothesis import given
from hypothesis import strategies as st

from service.batch.records import Line, Record, Refused, read_json, split


def lines_of(chunks: list[bytes], most: int) -> list[Line]:
    """Split chunks into lines."""

    async def run() -> list[Line]:
        async def coming() -> AsyncIterator[bytes]:
            for chunk in chunks:
                yield chunk

        return [line async for found in split(coming(), most) for line in found]

    return asyncio.run(run())


@given(st.lists(st.sampled_from([b"", b" ", b"ab", b"abcdef", b"a" * 30]), max_size=8), st.integers(1, 9))
def test_lines_are_the_same_however_the_body_is_cut(lines: list[bytes], size: int) -> None:
    """Blank lines are counted and left out, long ones are told without being held, and the last needs no end."""
    body = b"\n".join(lines)
    chunks = [body[at : at + size] for at in range(0, len(body), size)]
    expected = [(row, line if len(line) <= 10 else None) for row, line in enumerate(lines, 1) if line.strip()]
    assert [(line.row, line.content) for line in lines_of(chunks, 10)] == expected


def test_a_line_is_a_spec_or_a_spec_with_an_id() -> None:
    """The reference is taken out, so that equal structures are known to be equal."""
    bare = read_json(Line(row=1, content=b'{"wall": {}, "reference": "x", "structure": {}}'), 100)
    named = read_json(Line(row=2, content=b'{"id": "A", "spec": {"structure": {}, "wall": {}}}'), 100)
    assert isinstance(bare, Record)
    assert isinstance(named, Record)
    assert (bare.reference, bare.id, named.id) == ("x", None, "A")
    assert bare.body == named.body


def test_bad_lines_are_refused_one_by_one() -> None:
    """Each carries its own problem and its row."""
    bad = (
        b"nonsense",
        b"[1]",
        b'{"a": 1, "a": 2}',
        b"\xff",
        b'{"x": "\\u0000"}',
        b'{"spec": {}, "idd": 1}',
        b'{"id": 7, "spec": {}}',
        b"[" * 60_000,
        b'{"a": NaN}',
        b'{"a": 1e999}',
    )
    for row, content in enumerate(bad, 1):
        refused = read_json(Line(row=row, content=content), 100_000)
        assert isinstance(refused, Refused), content[:20]
        assert refused.row == row
    assert isinstance(read_json(Line(row=1, content=None), 10), Refused)
