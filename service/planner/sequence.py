"""Order of work: the precedence table walked for one job.

Rules of this file
------------------
- The rules stand in ``steps.py`` and ``run_steps.py``; nothing here knows what a step does.
- A requirement that does not appear is replaced by what it requires itself, so that no order is lost.
- Every screw, piece, part, plate and item of the bill is used by exactly one step.
- The number of steps follows from the runs, never from the bays.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from math import ceil
from typing import Final, NamedTuple

from service.planner.layout import FastenerRow, Layout, Part
from service.planner.sequencing.run_steps import ALONG
from service.planner.sequencing.run_words import run_facts, screw_sentences
from service.planner.sequencing.step_uses import Laying, StepPart, Use, lay, uses_of_job, uses_of_runs
from service.planner.sequencing.step_words import Facts, job_facts
from service.planner.sequencing.steps import AFTER, BEFORE, Line, StepRow
from service.planner.sequencing.tools import cautions_for, tools_for
from service.planner.settle import Job
from service.planner.takeoff import Need
from service.planner.units import FOOT

LONG_PANEL: Final = 8 * FOOT
"""Two people carry a panel longer than this; judgement [nm]"""
_ROWS: Final[Mapping[str, StepRow]] = {row.id: row for row in chain(BEFORE, ALONG, AFTER)}
_ALONG: Final = frozenset(row.id for row in ALONG)
_EVERY_RUN: Final = "every-run"
_NOTHING: Final = Use()


class Step(NamedTuple):
    """One step of the order of work."""

    id: str
    """Such as mark or left-1-first-panel"""
    title: str
    """What is done"""
    why: str
    """Why it stands where it stands"""
    detail: str
    """How it is done, with this plan's numbers"""
    requires: tuple[str, ...]
    """Ids of the steps that come before it"""
    parts: tuple[StepPart, ...]
    """What it uses"""
    tools: tuple[str, ...]
    """What it takes"""
    cautions: tuple[str, ...]
    """What can hurt"""
    hold_point: str | None
    """What must be seen and agreed before anything that follows"""
    minutes: int
    """Clock minutes of a two-person crew, an estimate [min]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Scope:
    """The rows of one run, or of the job as a whole, that appear."""

    job: Job
    facts: Facts
    uses: Mapping[str, Use]
    laying: Laying | None = None

    def appears(self, row: StepRow) -> bool:
        """Tell whether a row's condition holds."""
        return row.id in self.uses if row.when == "used" else row.when in self.facts.holds

    def name(self, row_id: str) -> str:
        """Give a row's id as a step."""
        return f"{self.laying.run.id}-{row_id}" if self.laying and row_id in _ALONG else row_id


def install_sequence(
    job: Job, layout: Layout, rows: Sequence[FastenerRow], needs: Sequence[Need]
) -> tuple[Step, ...]:
    """Order the work.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout.
    rows
        The fastener schedule.
    needs
        The take-off of both.

    Returns
    -------
        The steps, every one after all that it requires.
    """
    whole = _Scope(job=job, facts=job_facts(job, layout, rows), uses=uses_of_job(layout, needs))
    runs = _run_scopes(job, layout, rows)
    early = frozenset(row.id for row in BEFORE if whole.appears(row))
    all_early = early | {row.id for row in AFTER if whole.appears(row)}
    last = tuple(scope.name(ALONG[-1].id) for scope in runs)
    steps = [_step(whole, row, _required(row, whole, early, ())) for row in BEFORE if row.id in early]
    for scope in runs:
        present = early | {row.id for row in ALONG if scope.appears(row)}
        steps += [_step(scope, row, _required(row, scope, present, ())) for row in ALONG if row.id in present]
    steps += [
        _step(whole, row, _required(row, whole, all_early, last)) for row in AFTER if row.id in all_early
    ]
    return tuple(steps)


def _run_scopes(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> tuple[_Scope, ...]:
    """Give every run its facts and uses."""
    layings = tuple(lay(job, layout, run) for run in layout.runs)
    uses = uses_of_runs(layings, layout, rows, job.plate.items[0].sku)
    parts: tuple[list[Part], ...] = tuple([] for _ in layings)
    for part in layout.parts:
        parts[part.run].append(part)
    return tuple(
        _Scope(job=job, facts=run_facts(job, layout, laying, own), uses=use, laying=laying)
        for laying, own, use in zip(layings, parts, uses, strict=True)
    )


def _required(row: StepRow, scope: _Scope, present: frozenset[str], last: tuple[str, ...]) -> tuple[str, ...]:
    """Give the steps that come before a row."""
    required: list[str] = []
    for name in _before(row.id, present):
        required += last if name == _EVERY_RUN else (scope.name(name),)
    return tuple(required)


@lru_cache(maxsize=4096)
def _before(row_id: str, present: frozenset[str]) -> tuple[str, ...]:
    """Give the rows that a row requires; what does not appear is replaced by what it requires itself."""
    found: dict[str, None] = {}
    for name in _ROWS[row_id].requires:
        appears = name in present or name == _EVERY_RUN
        found |= dict.fromkeys((name,) if appears else _before(name, present))
    return tuple(found)


def _step(scope: _Scope, row: StepRow, requires: tuple[str, ...]) -> Step:
    """Write one step."""
    use = scope.uses.get(row.id, _NOTHING)
    words, counts, used = scope.facts.words, scope.facts.counts, use.counts
    minutes = sum([each * used.get(kind, counts.get(kind, 0)) for kind, each in row.minutes.items()])
    return Step(
        id=scope.name(row.id),
        title=row.title.format_map(words),
        why=row.why,
        detail=" ".join(_sentences(scope, row, use)),
        requires=requires,
        parts=use.parts,
        tools=tools_for(row.work, (driven.row for driven in use.driven), scope.job.units),
        cautions=cautions_for(row.work, tuple(_hazards(scope, use))),
        hold_point=None if row.hold is None else row.hold.format_map(words),
        minutes=ceil(minutes),
    )


def _hazards(scope: _Scope, use: Use) -> Iterator[str]:
    """Name what can hurt in what a step uses and where it works."""
    if scope.laying is not None and "trench" in scope.facts.holds:
        yield "open_trench"
    if use.driven:
        yield "driving"
    if use.metal:
        yield "metal"
    if use.longest_panel > LONG_PANEL:
        yield "long_panel"


def _sentences(scope: _Scope, row: StepRow, use: Use) -> Iterator[str]:
    """Write the sentences whose conditions hold, then the screws."""
    for line in row.detail:
        if isinstance(line, Line):
            if line.when in scope.facts.holds:
                yield line.text.format_map(scope.facts.words)
        else:
            yield line.format_map(scope.facts.words)
    if scope.laying is not None:
        yield from screw_sentences(scope.job, scope.laying, use.driven)
