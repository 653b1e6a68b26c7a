"""Texts of the order of work as messages: each named by its place in the tables.

Rules of this file
------------------
- A row's texts are ``step.{row}.title``, ``.why``, ``.hold``, and its sentences ``.1``, ``.2`` and so on, in the order of
  the table. Who adds a sentence adds it at the end of its row, so that the others keep their names.
- Tools are named by their English words, cautions by their names.
"""

from collections.abc import Iterator
from itertools import chain

from service.planner.messages import Message
from service.planner.sequencing.run_steps import ALONG
from service.planner.sequencing.steps import AFTER, BEFORE, StepRow
from service.planner.sequencing.tools import CAUTIONS, WORK, tool


def _text(row: StepRow, part: str, text: str) -> Message:
    return Message(code=f"step.{row.id}.{part}", text=text, values={})


def title_of(row: StepRow) -> Message:
    """What a row does."""
    return _text(row, "title", row.title)


def why_of(row: StepRow) -> Message:
    """Give why a row stands where it stands."""
    return _text(row, "why", row.why)


def hold_of(row: StepRow) -> Message:
    """What must be seen before anything that follows a row."""
    return _text(row, "hold", row.hold or "")


def sentences_of(row: StepRow) -> tuple[tuple[str, Message], ...]:
    """A row's sentences, each with the condition under which it appears."""
    return tuple(
        ("always", _text(row, str(number), line))
        if isinstance(line, str)
        else (line.when, _text(row, str(number), line.text))
        for number, line in enumerate(row.detail, start=1)
    )


def texts_of_the_tables() -> Iterator[Message]:
    """List every text of the tables, for those who translate."""
    for row in chain(BEFORE, ALONG, AFTER):
        yield title_of(row)
        yield why_of(row)
        yield from (text for _, text in sentences_of(row))
        if row.hold is not None:
            yield hold_of(row)
    yield from CAUTIONS.values()
    for work in WORK.values():
        yield from map(tool, work.tools)
