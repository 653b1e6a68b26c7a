"""Order of work: the precedence table walked for one job.

Rules of this file
------------------
- The rules stand in ``steps.py`` and ``run_steps.py``; nothing here knows what a step does.
- A requirement that does not appear is replaced by what it requires itself, so that no order is lost.
- Every screw, piece, part, plate and item of the bill is used by exactly one step.
- The number of steps follows from the runs, never from the bays.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain
from math import ceil
from typing import Final, NamedTuple

from service.planner.asked.settle import Job
from service.planner.bill.takeoff import Need
from service.planner.keeping import remembered
from service.planner.messages import Message, filled
from service.planner.records import record
from service.planner.sequencing.actions import Action, actions_of
from service.planner.sequencing.laying import Laying, lay
from service.planner.sequencing.run_steps import ALONG
from service.planner.sequencing.run_words import run_facts, screw_sentences
from service.planner.sequencing.step_texts import hold_of, sentences_of, title_of, why_of
from service.planner.sequencing.step_uses import Use, Used, uses_of_job, uses_of_run
from service.planner.sequencing.step_words import StepFacts, job_facts
from service.planner.sequencing.steps import AFTER, BEFORE, StepRow
from service.planner.sequencing.tools import cautions_for, tools_for
from service.planner.units import FOOT, DisplayUnits
from service.planner.wall.layout import FastenerRow, Layout, Piece
from service.planner.writing import ENGLISH, Writer

LONG_PANEL: Final = 8 * FOOT
"""Two people carry a panel longer than this; judgement [nm]"""
_TABLES: Final[Mapping[str, tuple[StepRow, ...]]] = {"before": BEFORE, "along": ALONG, "after": AFTER}
_ROWS: Final[Mapping[str, StepRow]] = {row.id: row for row in chain(BEFORE, ALONG, AFTER)}
_ALONG: Final = frozenset(row.id for row in ALONG)
_EVERY_RUN: Final = "every-run"
_NOTHING: Final = Use()


@record
class Step:
    """One step of the order of work."""

    id: str
    """Such as mark or left-1-first-panel"""
    title: Message
    """What is done"""
    why: Message
    """Why it stands where it stands"""
    sentences: tuple[Message, ...]
    """How it is done, with this plan's numbers"""
    requires: tuple[str, ...]
    """Ids of the steps that come before it"""
    parts: tuple[Used, ...]
    """What it uses"""
    actions: tuple[Action, ...]
    """What is done along a run, in order; none for steps of the whole job"""
    repeats: bool
    """Whether it is done round by round with the repeating steps beside it"""
    tools: tuple[Message, ...]
    """What it takes"""
    cautions: tuple[Message, ...]
    """What can hurt"""
    hold_point: Message | None
    """What must be seen and agreed before anything that follows"""
    minutes: int
    """Clock minutes of a two-person crew, an estimate [min]"""
    units: DisplayUnits
    """Units of its lengths"""

    @property
    def detail(self) -> str:
        """The sentences in English, one after the other."""
        return " ".join(map(Writer(ENGLISH, self.units).text, self.sentences))


class _Told(NamedTuple):
    """A row that appears, as far as conditions and steps used tell it."""

    row: StepRow
    """The row"""
    id: str
    """Its id as a step"""
    requires: tuple[str, ...]
    """Ids of the steps that come before it"""
    sentences: tuple[Message, ...]
    """The sentences whose conditions hold, with words in braces"""


@record
class _Scope:
    """What the steps of one run, or of the job as a whole, are written from."""

    job: Job
    facts: StepFacts
    uses: Mapping[str, Use]
    laying: Laying | None = None

    def told(self, table: str, early: Iterable[_Told] = (), last: tuple[str, ...] = ()) -> tuple[_Told, ...]:
        """The rows of a table that appear."""
        run = self.laying.run.id if self.laying else ""
        present = frozenset([told.row.id for told in early])
        return _tell(table, self.facts.holds, frozenset(self.uses), present, run, last)


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
    before = whole.told("before")
    steps = [*_steps(whole, before)]
    last: list[str] = []
    for scope in _run_scopes(job, layout, rows):
        steps += _steps(scope, scope.told("along", before))
        last.append(steps[-1].id)
    steps += _steps(whole, whole.told("after", before, tuple(last)))
    return tuple(steps)


def _run_scopes(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> tuple[_Scope, ...]:
    """Give every run its facts and uses."""
    own: list[list[FastenerRow]] = [[] for _ in layout.walls]
    for row in rows:
        own[row.run].append(row)
    scopes = []
    for wall in layout.walls:
        laying = lay(job, wall)
        uses = uses_of_run(laying, actions_of(laying, own[wall.run.index]), job.plate.items[0].sku)
        facts = run_facts(job, layout.movement.gap, laying)
        scopes.append(_Scope(job=job, facts=facts, uses=uses, laying=laying))
    return tuple(scopes)


@remembered("steps")
def _tell(
    table: str,
    holds: frozenset[str],
    used: frozenset[str],
    early: frozenset[str],
    run: str,
    last: tuple[str, ...],
) -> tuple[_Told, ...]:
    """Walk a table: give the rows that appear, after those that stand before the table."""
    rows = [row for row in _TABLES[table] if (row.id in used if row.when == "used" else row.when in holds)]
    present = early.union([row.id for row in rows])

    def names(row_id: str) -> tuple[str, ...]:
        if row_id == _EVERY_RUN:
            return last
        return (f"{run}-{row_id}" if row_id in _ALONG else row_id,)

    return tuple(
        _Told(
            row=row,
            id=names(row.id)[0],
            requires=tuple(chain.from_iterable(map(names, _before(row.id, present)))),
            sentences=tuple(text for when, text in sentences_of(row) if when in holds),
        )
        for row in rows
    )


def _before(row_id: str, present: frozenset[str]) -> Mapping[str, None]:
    """The rows that a row requires; what does not appear is replaced by what it requires itself."""
    found: dict[str, None] = {}
    for name in _ROWS[row_id].requires:
        appears = name in present or name == _EVERY_RUN
        found |= {name: None} if appears else _before(name, present)
    return found


def _steps(scope: _Scope, rows: Iterable[_Told]) -> Iterator[Step]:
    """Write the steps of some rows."""
    job, laying, words, counts = scope.job, scope.laying, scope.facts.words, scope.facts.counts
    for row, name, requires, told in rows:
        use = scope.uses.get(row.id, _NOTHING)
        used, sentences = use.counts(), [filled(text, words) for text in told]
        if laying is not None and use.driven:
            sentences += screw_sentences(laying, use.driven)
        yield Step(
            id=name,
            title=filled(title_of(row), words),
            why=why_of(row),
            sentences=tuple(sentences),
            requires=requires,
            parts=use.parts(),
            actions=tuple(use.actions),
            repeats=row.repeats,
            tools=tools_for(row.work, use.driven),
            cautions=cautions_for(row.work, _hazards(scope, use)),
            hold_point=None if row.hold is None else filled(hold_of(row), words),
            minutes=ceil(
                sum([each * used.get(kind, counts.get(kind, 0)) for kind, each in row.minutes.items()])
            ),
            units=job.units,
        )


def _hazards(scope: _Scope, use: Use) -> tuple[str, ...]:
    """Name what can hurt in what a step uses and where it works."""
    found: list[str] = []
    if scope.laying is not None and "trench" in scope.facts.holds:
        found.append("open_trench")
    if use.driven:
        found.append("driving")
    if use.roles.keys() - {"panel"}:
        found.append("metal")
    if (
        "panel" in use.roles
        and max([p.length for p in use.pieces if isinstance(p, Piece) and p.role == "panel"]) > LONG_PANEL
    ):
        found.append("long_panel")
    return tuple(found)
