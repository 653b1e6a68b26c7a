"""How the sheet moves, and the gaps, spans and rooms that the layout must leave for it.

Rules of this file
------------------
- The gap of a plan comes from the longest span that stock and profile allow, never from the answer.
- Exact until rounded: growth is a fraction, gaps are rounded up to the step of cut lengths.
- Whether what is left is good enough is said in ``judging/checks``.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from service.planner.asked.settle import Job
from service.planner.engineering.hardware import screw_diameter
from service.planner.errors import FieldProblem, NoPieceFits
from service.planner.keeping import remembered
from service.planner.messages import Length, Value, filled, say
from service.planner.rules import ROUND_BEARING
from service.planner.units import as_asked, cut_step, round_down, round_up
from service.planner.wall.layout import Movement, Run


def bearing_tolerance(job: Job) -> int:
    """Return how far a joint may drift on its post: 0.17 of a round post's width, or half a square one's less an edge [nm]."""
    post = job.spec.structure.post
    if post.shape == "round":
        return int(ROUND_BEARING * post.width / 2)
    return max(0, post.width // 2 - job.limits.edge_of_square)


def plan_movement(job: Job, runs: Iterable[Run], longest_stock: int) -> Movement:
    """Settle the span, the gap and the rooms of a plan.

    Parameters
    ----------
    job
        The settled job.
    runs
        The runs.
    longest_stock
        The longest piece of sheet that there is [nm].

    Raises
    ------
    NoPieceFits
        When no span between two supports fits the stock with enough bite in the joint profile.
    """
    spans = spans_within(runs, longest_stock + job.profile.part.web + 2 * job.limits.least_gap)
    for span in reversed(spans):
        movement = movement_at(job, span)
        left = job.profile.part.reach - movement.side_gap - movement.shrink(span) / 2
        if left >= job.limits.bite:
            return movement
    raise _nothing_fits(job, runs, spans, longest_stock)


def movement_at(job: Job, span: int) -> Movement:
    """Settle gaps for panels of one longest span [nm]."""
    site, part = job.spec.site, job.profile.part
    step = cut_step(job.units)
    rate = _growth_rate(job.expansion, site.install_temperature_c, site.highest_temperature_c)
    growth = rate * span
    grown, parts = growth.as_integer_ratio()
    screw = 0 if part.pieces == "two_piece" else screw_diameter(job.fastening["joint_profile"].number)
    # half the growth, and half of what the screw is wider than the web
    needed = -(-(grown + max(0, screw - part.web) * parts) // (2 * parts))
    side_gap = max(job.limits.least_gap, round_up(needed, step))
    return Movement(
        expansion=job.expansion,
        warming=site.highest_temperature_c - site.install_temperature_c,
        cooling=site.install_temperature_c - site.lowest_temperature_c,
        span=span,
        growth=round(growth),
        side_gap=side_gap,
        gap=part.web + 2 * side_gap,
        end_room=round_up(-(-grown // (2 * parts)), step),
        screw_in_gap=screw,
    )


@remembered("side")
def _growth_rate(expansion: float, fitted: float, hottest: float) -> Fraction:
    """Return the growth of a length from when it is fitted to when it is hottest, its expansion as it is written [-]."""
    return Fraction(expansion).limit_denominator(10**9) * (Fraction(hottest) - Fraction(fitted))


def spans_within(runs: Iterable[Run], longest: int) -> tuple[int, ...]:
    """List the different spans between any two supports of a run, up to the longest that could fit, ascending [nm].

    Parameters
    ----------
    runs
        The runs; those with the same bays are looked at once.
    longest
        The longest span that could fit [nm].
    """
    bays = {tuple([there.x - here.x for here, there in pairwise(run.supports)]) for run in runs}
    return _spans_of_bays(frozenset(bays), longest)


@remembered("side")
def _spans_of_bays(different: frozenset[tuple[int, ...]], longest: int) -> tuple[int, ...]:
    """List the spans of some rows of bays, as `spans_within` does; checks ask for them once more [nm]."""
    spans: set[int] = set()
    for bays in different:
        even = len(set(bays)) == 1
        for start in range(1 if even else len(bays)):
            span = 0
            for end in range(start, len(bays)):
                span += bays[end]
                if span > longest:
                    break
                spans.add(span)
    return tuple(sorted(spans))


_LONGER: Final = say(
    "spec.bay_over_length",
    "{run}, {from_label} to {to_label}: {bay} is longer than the length of any sheet, {sheet}",
)
_WIDER: Final = say(
    "spec.bay_over_width",
    "{run}, {from_label} to {to_label}: {bay} is longer than the width of any sheet, {sheet}",
)
_NO_BITE: Final = say(
    "spec.no_bite",
    "{run}, {from_label} to {to_label}: at {bay} the joint profile's reach of {reach} less the gap of {gap} leaves less"
    " than {bite} of bite at the coldest; a deeper profile, a shorter bay or a narrower range of temperatures would do",
)


def _nothing_fits(job: Job, runs: Iterable[Run], spans: Sequence[int], longest_stock: int) -> NoPieceFits:
    """Say which limit stands in the way of every span."""
    run = next(iter(runs))
    place: dict[str, Value] = {
        "run": run.id,
        "from_label": run.supports[0].label,
        "to_label": run.supports[1].label,
    }
    if not spans:
        said = _WIDER if job.upright_flutes else _LONGER
        bay, sheet = Length(run.supports[1].x), Length(longest_stock)
        detail = filled(said, place | {"bay": bay, "sheet": sheet})
        pointer, reached = _spacing(job), longest_stock - 2 * job.spec.wall.end_cover
        one_number = pointer == "/structure/bay_spacing"
        suggestion = as_asked(round_down(reached, cut_step(job.units)), job.units) if one_number else None
        problem = FieldProblem(pointer=pointer, detail=detail, suggestion=suggestion)
        return NoPieceFits(
            say("spec.no_sheet_reaches", "No stocked sheet reaches from one support to the next."), [problem]
        )
    shortest = spans[0]
    reach, c = job.profile.part.reach, movement_at(job, shortest).side_gap
    lengths = {"bay": shortest, "reach": reach, "gap": c, "bite": job.limits.bite}
    detail = filled(_NO_BITE, place | {name: Length(length) for name, length in lengths.items()})
    return NoPieceFits(
        say("spec.every_span_pulls_out", "Every span pulls the panel out of its joint profile."),
        [FieldProblem(pointer=_spacing(job), detail=detail)],
    )


def _spacing(job: Job) -> str:
    """Name the field that gives the spans."""
    return "/structure/bay_spacing" if job.spec.structure.stations is None else "/structure/stations"
