"""Panels, baseboards and top channel: the three courses, each decided at least cost over all runs together.

Rules of this file
------------------
- A course differs from another only in its numbers: what a piece loses at a joint, at an end, at a break.
- The solver sees lengths, prices and supports; its answer becomes pieces in ``placing.py`` and
  patterns in ``course_cutting.py``.
- Stock that the customer has is offered at no price and in its number.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.parts import Sheet
from service.planner.asked.roles import ROLES
from service.planner.asked.sections import Section, cross_section, sheets_of
from service.planner.asked.settle import Job
from service.planner.engineering.hardware import screw_diameter
from service.planner.errors import FieldProblem, FieldsDisagree, NoPieceFits, TooMuchWork
from service.planner.keeping import kept_with_catalog
from service.planner.messages import Length, Number, Value, filled, say
from service.planner.records import record
from service.planner.rules import ROUND_BEARING
from service.planner.solver.courses.least_cost import (
    Answer,
    CourseProblem,
    SpanTooLongError,
    Stock,
    StockShortageError,
    TooManyPiecesError,
    solve,
)
from service.planner.solver.courses.runs import CourseRun
from service.planner.solver.effort import Effort
from service.planner.solver.kept import Kept
from service.planner.units import as_asked, cut_step, round_down
from service.planner.wall.heights import NO_STRIP, no_strip, rip_tolerance
from service.planner.wall.layout import (
    Course,
    Movement,
    Run,
    RunEnd,
    Support,
)

SHARE: Final[Mapping[Course, float]] = {"panel": 0.5, "baseboard": 0.15, "top_channel": 0.15}
"""What a course may take of a plan's units [-]"""
PIECE_BYTES: Final = 300
"""What a piece or a support takes in an answer that is kept, about [B]"""


@record
class StockPiece:
    """A kind of stock as it is offered to the solver."""

    item: Item
    """The catalog item"""
    length: int
    """Length along the course [nm]"""
    width: int | None
    """Width across the strips, none for sticks [nm]"""
    count: int | None
    """How many the customer has; none where it is bought [-]"""


@record
class LaidCourse:
    """One course, its joints and its cutting decided."""

    course: Course
    """Role of its pieces"""
    runs: tuple[CourseRun, ...]
    """The runs as the solver saw them"""
    stock: Mapping[str, StockPiece]
    """The stock by the keys that the solver knows it by"""
    answer: Answer
    """The solver's answer"""


def end_line_offset(job: Job) -> int:
    """Return how far the screws on an end post sit to the panel's side of its centre, on post and bow alike [nm]."""
    return min(job.limits.end_post_offset, narrow_bearing(job))


def narrow_bearing(job: Job) -> int:
    """Return how far from its centre a screw still sits on the narrower of post and bow [nm]."""
    structure = job.spec.structure
    return int(ROUND_BEARING * min(structure.post.width, structure.bow.width) / 2)


def channel_shift(job: Job) -> int:
    """Return how far joints of the top channel lie off their supports' centres towards the back of the tunnel [nm].

    Beside a joint one screw goes through a flange, a screw's diameter from its end; where a tube is too narrow for
    that the joint lies off its centre instead, towards the run's far end, and the screw sits on it.
    """
    away = job.limits.channel_gap // 2 + screw_diameter(job.fastening["top_channel"].number)
    if away <= narrow_bearing(job):
        return 0
    return job.limits.channel_shift if job.spec.options.lay_from == "front" else -job.limits.channel_shift


def sheet_stock(job: Job, thickness: int) -> tuple[StockPiece, ...]:
    """List the sheets of a thickness [nm] that give at least one strip, and the pieces of such sheet on hand."""
    narrowest = min(job.heights) - rip_tolerance(job)
    bought = _sheets_bought(job.catalog, thickness, upright=job.upright_flutes)
    own = _sheets_on_hand(job, thickness)
    return tuple([s for s in (*bought, *own) if s.width is not None and s.width >= narrowest])


@kept_with_catalog("sections")
def _sheets_bought(catalog: Catalog, thickness: int, *, upright: bool) -> tuple[StockPiece, ...]:
    """List the sheets of a thickness [nm] that a catalog has, flutes along the wall or upright."""
    return tuple(
        [
            StockPiece(
                item=item,
                length=part.width if upright else part.length,
                width=part.length if upright else part.width,
                count=None,
            )
            for item in sheets_of(catalog, thickness)
            if isinstance(part := item.part, Sheet)
        ]
    )


def _sheets_on_hand(job: Job, thickness: int) -> Iterable[StockPiece]:
    """List the pieces of sheet of a thickness that the customer has; height is across the flutes."""
    for own in job.spec.on_hand:
        item = job.catalog.by_sku[own.sku]
        if isinstance(item.part, Sheet) and item.part.thickness == thickness:
            height = item.part.width if own.height is None else own.height
            turned = job.upright_flutes
            length, width = (height, own.length) if turned else (own.length, height)
            yield StockPiece(item=item, length=length, width=width, count=own.count)


def stick_stock(job: Job, section: Section[Any]) -> tuple[StockPiece, ...]:
    """List the sticks of one section, bought and on hand."""
    bought = [
        StockPiece(item=item, length=stick_length(item), width=None, count=None) for item in section.items
    ]
    if not job.spec.on_hand:
        return tuple(bought)
    own = [
        StockPiece(item=job.catalog.by_sku[piece.sku], length=piece.length, width=None, count=piece.count)
        for piece in job.spec.on_hand
        if cross_section(job.catalog.by_sku[piece.sku].part) == cross_section(section.part)
    ]
    return (*bought, *own)


def stick_length(item: Item) -> int:
    """Return the stock length of a stick [nm]."""
    length: int = item.part.length  # type: ignore[union-attr]  # only sticks are asked
    return length


def panel_runs(job: Job, runs: Sequence[Run], movement: Movement) -> list[CourseRun]:
    """State the runs as the course of panels sees them."""
    half = -(-movement.gap // 2)
    web = job.end_cap.part.web if job.end_cap else 0

    def cover(run: Run, end: RunEnd) -> int:
        if run.end_kind(end) != "jamb":
            return job.spec.wall.end_cover
        return _end_support(run, end).width // 2 - web - movement.end_room

    return [
        _course_run(run, half, cover, forbidden=run.uprights, height_class=run.height_class) for run in runs
    ]


def lay_panels(
    job: Job, runs: Sequence[Run], movement: Movement, stock: tuple[StockPiece, ...], effort: Effort
) -> LaidCourse:
    """Lay the panels and cut the sheets.

    Raises
    ------
    FieldsDisagree
        When the end cover is more than half the post.
    NoPieceFits, TooMuchWork
        When a span has no piece.
    """
    _check_cover(job)
    course = panel_runs(job, runs, movement)
    named = _named(stock)
    problem = CourseProblem(
        runs=tuple(course),
        heights=tuple(height - rip_tolerance(job) for height in job.heights),
        stock=_offered(named),
        kerf=job.limits.kerf,
        grid=cut_step(job.units),
        max_span=movement.span,
        joint_cost=job.joint_cost,
        cut_cost=job.cut_cost,
    )
    return _laid(job, runs, "panel", problem, named, effort)


def lay_boards(job: Job, runs: Sequence[Run], effort: Effort) -> LaidCourse:
    """Lay the baseboards, lapped on posts, and cut their sticks."""
    half_lap = -(job.board.part.lap // 2)
    course = [_course_run(run, half_lap, lambda run, end: _end_support(run, end).width // 2) for run in runs]
    return _lay_metal(job, runs, "baseboard", course, effort)


def lay_channels(job: Job, runs: Sequence[Run], effort: Effort) -> LaidCourse:
    """Lay the top channel between the end battens, broken at wind-flap uprights, and cut its sticks."""
    half_gap = -(-job.limits.channel_gap // 2)
    half_break = -(-job.film_channel.part.width // 2)

    def cover(run: Run, end: RunEnd) -> int:
        kind = run.end_kind(end)
        if kind == "jamb":
            return _end_support(run, end).width // 2
        cap = job.corner_cap if kind == "end_rigid" else None
        width = cap.part.width if cap else job.film_channel.part.width
        return -(-(-width // 2) + end_line_offset(job))

    shift = channel_shift(job)
    course = [
        _shifted(_course_run(run, half_gap, cover, breaks=dict.fromkeys(run.uprights, half_break)), shift)
        for run in runs
    ]
    return _lay_metal(job, runs, "top_channel", course, effort)


def _shifted(run: CourseRun, shift: int) -> CourseRun:
    """Move a run's possible joints, but for its ends and breaks, off their supports' centres [nm]."""
    if not shift:
        return run
    fixed = {0, len(run.positions) - 1, *run.forced}
    moved = [x if at in fixed else x + shift for at, x in enumerate(run.positions)]
    return replace(run, positions=tuple(moved))


def _lay_metal(
    job: Job, runs: Sequence[Run], course: Course, course_runs: list[CourseRun], effort: Effort
) -> LaidCourse:
    """Lay one metal course."""
    named = _named(stick_stock(job, job.sections[course]))
    problem = CourseProblem(
        runs=tuple(course_runs),
        stock=_offered(named),
        kerf=job.limits.metal_kerf,
        grid=cut_step(job.units),
        joint_cost=job.metal_joint_cost,
        cut_cost=job.cut_cost,
    )
    return _laid(job, runs, course, problem, named, effort)


def _end_support(run: Run, end: RunEnd) -> Support:
    """Return the support at one end of a run."""
    return run.supports[0 if end == "front" else -1]


_NO_BREAKS: Final[Mapping[int, int]] = {}


def _course_run(
    run: Run,
    joint: int,
    cover: Callable[[Run, RunEnd], int],
    *,
    forbidden: Iterable[int] = (),
    breaks: Mapping[int, int] = _NO_BREAKS,
    height_class: int = 0,
) -> CourseRun:
    """State a run as one course sees it: what a piece loses at a joint, and at a break where one is forced [nm]."""
    deductions = [joint] * len(run.supports)
    for support, deduction in breaks.items():
        deductions[support] = deduction
    return CourseRun(
        positions=tuple([support.x for support in run.supports]),
        joint_deductions=tuple(deductions),
        start_deduction=-cover(run, "front"),
        end_deduction=-cover(run, "back"),
        forbidden=frozenset(forbidden),
        forced=frozenset(breaks),
        height_class=height_class,
    )


def _check_cover(job: Job) -> None:
    """Refuse an end cover of more than half the post."""
    most = job.spec.structure.post.width // 2
    if job.spec.wall.end_cover > most:
        detail = say("spec.cover_at_most", "at most half the post's width, {most}", most=Length(most))
        problem = FieldProblem(
            pointer="/wall/end_cover",
            detail=detail,
            suggestion=as_asked(round_down(most, cut_step(job.units)), job.units),
        )
        raise FieldsDisagree(
            say("spec.cover_past_post", "The end cover reaches past the end post."), [problem]
        )


def _named(stock: Iterable[StockPiece]) -> Mapping[str, StockPiece]:
    """Name stock: by its sku where it is bought, and by what it is where the customer has it."""
    named: dict[str, StockPiece] = {}
    for piece in stock:
        own = "" if piece.count is None else f" on hand, {len(named)}"
        named[f"{piece.item.sku}{own}"] = piece
    return named


def _offered(named: Mapping[str, StockPiece]) -> tuple[Stock, ...]:
    """Offer stock to the solver."""
    return tuple(
        [
            Stock(
                key=key,
                length=piece.length,
                width=piece.width,
                price=piece.item.price if piece.count is None else 0,
                count=piece.count,
            )
            for key, piece in named.items()
        ]
    )


def _weigh(problem: CourseProblem, answer: Answer) -> int:
    """Weigh a question and its answer by their supports, stock and pieces [B]."""
    supports = sum(len(run.positions) for run in problem.runs)
    return PIECE_BYTES * (supports + len(problem.stock) + sum(map(len, answer.paths)))


_solved = Kept(solve, _weigh)
"""A wall that is changed in one field asks the other courses again"""


def _laid(
    job: Job,
    runs: Sequence[Run],
    course: Course,
    problem: CourseProblem,
    stock: Mapping[str, StockPiece],
    effort: Effort,
) -> LaidCourse:
    """Decide a course."""
    try:
        with effort.share(SHARE[course]):
            answer = _solved(problem, effort)
    except SpanTooLongError as error:
        raise _too_long(job, runs, course, error) from None
    except StockShortageError as error:
        raise _too_narrow(job, error) from None
    except TooManyPiecesError as error:
        raise _too_much(error) from None
    return LaidCourse(course=course, runs=problem.runs, stock=stock, answer=answer)


def _too_long(job: Job, runs: Sequence[Run], course: Course, error: SpanTooLongError) -> NoPieceFits:
    """Say which stretch no piece bridges, and the nearest that one does."""
    run = runs[error.run]
    start, end = run.supports[error.start], run.supports[error.end]
    piece: dict[str, Value] = {
        "run": run.id,
        "from_label": start.label,
        "to_label": end.label,
        "part": ROLES[course].noun,
        "needed": Length(error.length),
        "longest": Length(error.longest),
    }
    between = [run.supports[at].label for at in run.uprights if error.start < at < error.end]
    detail = filled(_NO_PIECE, piece)
    if course == "panel" and between:
        detail = filled(_NO_PIECE_UNDER_UPRIGHT, piece | {"upright": between[0]})
    span = end.x - start.x
    equal = job.spec.structure.stations is None
    pointer = "/structure/bay_spacing" if equal else f"/structure/stations/{end.post or 0}"
    suggestion = (
        as_asked(round_down(span - error.length + error.longest, cut_step(job.units)), job.units)
        if equal and error.longest and not between
        else None
    )
    return NoPieceFits(
        filled(_NO_PIECE_REACHES, piece),
        [FieldProblem(pointer=pointer, detail=detail, suggestion=suggestion)],
    )


_NO_PIECE_REACHES: Final = say("spec.no_piece_reaches", "No {part} reaches from {from_label} to {to_label}.")
_NO_PIECE: Final = say(
    "spec.no_piece",
    "{run}, {from_label} to {to_label}: {part} of {needed} is needed, the longest that stock and reach allow is {longest}",
)
_NO_PIECE_UNDER_UPRIGHT: Final = say(
    "spec.no_piece_under_upright",
    "{run}, {from_label} to {to_label}: {part} of {needed} is needed, the longest that stock and reach allow is {longest};"
    " no joint may fall under the wind-flap upright on {upright}",
)


def _too_much(error: TooManyPiecesError) -> TooMuchWork:
    """Say that there are too many ways to lay a course."""
    detail = say(
        "error.too_many_pieces",
        "{pieces} pieces could be cut between the supports of one course, and {most} are looked at: take fewer or equal"
        " bays, or shorter stock.",
        pieces=Number(error.pieces),
        most=Number(error.most),
    )
    return TooMuchWork(detail, [FieldProblem(pointer="/structure", detail=detail)])


def _too_narrow(job: Job, error: StockShortageError) -> NoPieceFits:
    """Say that no sheet is wide enough for a height."""
    problems = no_strip(job, [job.heights[error.height_class]])
    return NoPieceFits(NO_STRIP, problems)
