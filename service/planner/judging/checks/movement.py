"""Movement: room to grow, hold at the coldest, holes and metal joints.

Rules of this file
------------------
- The layout leaves what these checks ask for; they judge what was laid out, piece by piece.
- A panel grows and shrinks evenly about its middle, because all its holes are oversize.
- Source where a check names none of its own: growth of a length with temperature, derived.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import pairwise
from math import ceil
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.parts import JointProfile
from service.planner.asked.roles import ROLES
from service.planner.asked.sections import thicknesses
from service.planner.asked.settle import Job
from service.planner.engineering.glazing import ALUMINIUM_EXPANSION
from service.planner.engineering.hardware import screw_diameter
from service.planner.fastening.holes import lies_on_panel, panel_holes
from service.planner.fastening.window import outside, screw_of
from service.planner.judging.checks.remedies import (
    Glazing,
    other_glazing,
    own_glazing,
    shorter_stock,
    stock_no_longer,
)
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.facts import Facts
from service.planner.messages import Length, Number, say
from service.planner.units import INCH, cut_step, round_down, round_up
from service.planner.wall.courses import sheet_stock
from service.planner.wall.layout import Piece, Run
from service.planner.wall.movement import spans_within

GAP: Final = Kind("thermal_gap", "Room for the panels to grow at their joints", "MMT", "thermal-movement")
BITE: Final = Kind(
    "joint_bite", "Panels held in their joint profiles at the coldest", "MMT", "sheet-association"
)
HOLE: Final = Kind("washer_cover", "Washers over the panels' oversize holes", "MMT", "washer-cover")
END: Final = Kind(
    "panel_end_cover", "Panel ends under battens and caps at the coldest", "MMT", "batten-cover"
)
CHANNEL: Final = Kind(
    "channel_gap", "Room for the top channel to grow at its joints", "MMT", "metal-movement"
)

WIDEST_METAL_GAP: Final = INCH // 4
"""What a gap in metal may be widened to on site, common practice [nm]"""


def span_of(run: Run, piece: Piece) -> int:
    """The span of a piece from support to support [nm]."""
    return run.supports[piece.end].x - run.supports[piece.start].x


def thermal_gap(facts: Facts) -> Iterator[Check]:
    """Judge the joint with the least room: half the growth of both panels, and the screw or web between them."""
    layout, movement = facts.layout, facts.layout.movement
    core = max(movement.screw_in_gap, facts.job.profile.part.web)
    growth = movement.expansion * movement.warming / 2
    worst: tuple[float, int, str, str] | None = None
    for wall in layout.walls:
        run, supports = wall.run, wall.run.supports
        for before, after in pairwise(wall.panels):
            needed = core + growth * (supports[after.end].x - supports[before.start].x)
            given = after.x_start - before.x_end
            if worst is None or needed - given > worst[0] - worst[1]:
                worst = needed, given, run.id, run.supports[after.start].label
    if worst is not None:
        needed, given, run_id, label = worst
        yield GAP.lengths(
            needed,
            given,
            Words(
                say(
                    "advice.thermal_gap",
                    "{run}, {label}: {given} between the panels, of which {needed} is used up when they are hottest"
                    " ({hottest} degC).",
                    run=run_id,
                    label=label,
                    given=Length(given),
                    needed=Length(round(needed)),
                    hottest=Number(facts.job.spec.site.highest_temperature_c),
                ),
                remedy=say("remedy.thermal_gap", "With less room than that they buckle."),
            ),
        )


def bite_left(job: Job, part: JointProfile) -> Callable[[int], float]:
    """What tells how much a joint profile would still hold of a panel of a span, were it a plan's longest [nm].

    The same rule as the layout's, in floats and a nanometre to the careful side.
    """
    site = job.spec.site
    screw = 0 if part.pieces == "two_piece" else screw_diameter(job.fastening["joint_profile"].number)
    wider = max(0.0, (screw - part.web) / 2)
    grows = job.expansion * (site.highest_temperature_c - site.install_temperature_c)
    shrinks = job.expansion * (site.install_temperature_c - site.lowest_temperature_c)
    reach, least, step = part.reach, job.limits.least_gap, cut_step(job.units)

    def left(span: int) -> float:
        side_gap = max(least, round_up(ceil(grows * span / 2 + wider) + 1, step))
        return reach - side_gap - shrinks * span / 2

    return left


def longest_panel(facts: Facts) -> tuple[int, str]:
    """The longest span of a panel that ends in a joint profile, and its id; 0 where there is none [nm]."""
    return max(
        [
            (span_of(wall.run, panel), panel.id)
            for wall in facts.layout.walls
            if len(wall.panels) > 1
            for panel in wall.panels
        ],
        default=(0, ""),
    )


def joint_bite(facts: Facts) -> Iterator[Check]:
    """Judge the longest panel: under the careful bite is a caution, under the relaxed one it pulls out."""
    span, panel = longest_panel(facts)
    if not span:
        return
    job, movement = facts.job, facts.layout.movement
    left = job.profile.part.reach - movement.side_gap - movement.shrink(span) / 2
    limits = job.limits
    yield BITE.lengths(
        limits.careful_bite,
        left,
        Words(
            say(
                "advice.joint_bite",
                "{panel}: {left} of it stays in the joint profile at {coldest} degC; sheet associations ask for {careful}.",
                panel=panel,
                left=Length(round(left)),
                coldest=Number(job.spec.site.lowest_temperature_c),
                careful=Length(limits.careful_bite),
            ),
            remedy=say(
                "remedy.joint_bite",
                "Less than {least} pulls out. A deeper profile or shorter panels hold more.",
                least=Length(limits.bite),
            ),
        ),
        over="caution" if left >= limits.bite else "fail",
        changes=partial(_more_bite, facts),
    )


def _more_bite(facts: Facts) -> Changes:
    """Find the thinnest sheet from this one on, and the longest stock, that keep the careful bite."""
    job = facts.job
    now, careful = job.spec.wall.panel_thickness, job.limits.careful_bite
    thicker = [thickness for thickness in thicknesses(job.catalog) if thickness > now]
    for glazing in (own_glazing(job), *other_glazing(job, thicker)):
        changes: Changes = () if glazing.thickness == now else glazing.changes
        spans, left = spans_of(job, glazing, facts.layout.runs), bite_left(job, glazing.profile.part)
        kept = bisect_left(spans, True, key=lambda span: left(span) < careful)
        if kept == len(spans):
            return changes
        shorter = shorter_stock(facts, glazing, spans[kept]) if kept else ()
        if shorter:
            return (*changes, *shorter)
    return ()


def spans_of(job: Job, glazing: Glazing, runs: Sequence[Run]) -> tuple[int, ...]:
    """The different spans between supports that the longest sheet reaches, shortest first [nm]."""
    most = max([stock.length for stock in sheet_stock(job, glazing.thickness)])
    return spans_within(runs, most + glazing.profile.part.web + 2 * job.limits.least_gap)


def washer_cover(facts: Facts) -> Iterator[Check]:
    """Judge the washers on panels: the usual one where a wider one is taken instead, else the widest that there is."""
    job, holes = facts.job, panel_holes(facts.job, facts.layout)
    lying = [
        (holes.washers[row.run], row.washer)
        for row in facts.rows
        if row.washer is not None and lies_on_panel(row.layers)
    ]
    if not lying:
        return
    needed, taken = max(lying, key=lambda each: each[0])
    covered = outside(taken) >= needed
    judged = min(job.catalog.by_role["washer"], key=outside) if covered else taken
    hole, wide, limits = holes.inner, outside(judged), job.limits
    yield HOLE.lengths(
        needed,
        wide,
        Words(
            say(
                "advice.washer_cover",
                "Holes of {hole} let the longest panel move. A washer covers them by {rest} all round, and by {moved} when"
                " the panel has moved as far as it can: {needed} wide at least. {washer} is {wide} wide.",
                hole=Length(hole),
                rest=Length(limits.washer_cover),
                moved=Length(limits.moved_cover),
                needed=Length(needed),
                washer=judged.sku,
                wide=Length(wide),
            ),
            remedy=say(
                "remedy.washer_cover",
                "No washer of this catalog covers them: the plan cuts slots along the panel instead, whose ends a washer"
                " may leave open.",
            ),
            measure=say("measure.wider_washer", "The plan takes {washer} there.", washer=taken.sku)
            if covered
            else None,
        ),
        over="caution" if hole <= wide else "fail",
        changes=partial(_smaller_holes, facts, wide),
    )


def _smaller_holes(facts: Facts, wide: int) -> Changes:
    """Find the stock whose panels keep every hole so small that a washer of this width covers it [nm]."""
    job, movement = facts.job, facts.layout.movement
    limits = job.limits
    screw = max(screw_diameter(screw_of(row.screw).number) for row in facts.rows if row.washer is not None)
    # hole + twice the travel, which is at most what the hole is wider than the screw
    most = min(wide - 2 * limits.washer_cover, (wide - 2 * limits.moved_cover + screw) // 2)
    if screw + job.limits.hole_oversize > most:
        return ()
    travel = 2 * movement.expansion * max(movement.warming, movement.cooling)
    reach = (round_down(most, cut_step(job.units)) - screw) / travel if travel else float("inf")
    # an intermediate support is at least one bay off the panel's end; a jamb is at its end
    jambs = any("jamb" in (run.front_end, run.back_end) for run in facts.layout.runs)
    inset = 0 if jambs else _narrowest_bay(job)
    glazing = own_glazing(job)
    spans = [span for span in spans_of(job, glazing, facts.layout.runs) if span / 2 - inset > reach]
    return shorter_stock(facts, glazing, spans[0]) if spans else ()


def _narrowest_bay(job: Job) -> int:
    """The narrowest bay [nm]."""
    return min(there - here for here, there in pairwise(job.stations))


def panel_end_cover(facts: Facts) -> Iterator[Check]:
    """Judge the end panel that draws furthest out from under its batten or corner cap."""
    job, layout = facts.job, facts.layout
    worst: tuple[float, int, str] | None = None
    for part in layout.parts:
        if not ROLES[part.role].over_end:
            continue
        panel = layout.walls[part.run].panels[0 if part.end == "front" else -1]
        half = job.sections[part.material].part.width / 2
        span = span_of(layout.runs[part.run], panel)
        left = half - layout.movement.shrink(span) / 2
        if worst is None or left < worst[0]:
            worst = left, round(half), part.id
    if worst is not None:
        left, half, place = worst
        yield END.lengths(
            facts.job.limits.usual_end_cover,
            left,
            Words(
                say(
                    "advice.panel_end_cover",
                    "{part}: of half its width, {half}, the panel's end keeps {left} at the coldest.",
                    part=place,
                    half=Length(half),
                    left=Length(round(left)),
                ),
                remedy=say(
                    "remedy.panel_end_cover",
                    "Under {least} wind pulls it out. Shorter end panels keep more.",
                    least=Length(facts.job.limits.least_end_cover),
                ),
            ),
            over="caution" if left >= facts.job.limits.least_end_cover else "fail",
            changes=partial(_steadier_ends, facts, half),
        )


def _steadier_ends(facts: Facts, half: int) -> Changes:
    """Find the stock whose panels keep their cover under end parts of this half width [nm]."""
    job, shrink = facts.job, facts.layout.movement.shrink
    glazing = own_glazing(job)
    spans = [
        s
        for s in spans_of(job, glazing, facts.layout.runs)
        if half - shrink(s) / 2 < job.limits.usual_end_cover
    ]
    return shorter_stock(facts, glazing, spans[0]) if spans else ()


def channel_gap(facts: Facts) -> Iterator[Check]:
    """Judge the longest piece of top channel beside a joint against the gap left there."""
    pieces = [piece for wall in facts.layout.walls if len(wall.channels) > 1 for piece in wall.channels]
    if not pieces:
        return
    job = facts.job
    longest = max(pieces, key=lambda piece: piece.length)
    growth = ALUMINIUM_EXPANSION * facts.layout.movement.warming * longest.length
    gap = job.limits.channel_gap
    yield CHANNEL.lengths(
        growth,
        gap,
        Words(
            say(
                "advice.channel_gap",
                "{channel} grows by {growth} when it is as hot as the sheet can be; joints have {gap}.",
                channel=longest.id,
                growth=Length(round(growth)),
                gap=Length(gap),
            ),
            remedy=say(
                "remedy.channel_gap",
                "Widen these gaps to {widest} on site, or take shorter channel.",
                widest=Length(WIDEST_METAL_GAP),
            ),
        ),
        over="caution" if growth <= WIDEST_METAL_GAP else "fail",
        changes=partial(_shorter_channel, facts, gap),
    )


def _shorter_channel(facts: Facts, gap: int) -> Changes:
    """Find the stock length of channel that grows no more than the gap [nm]."""
    most = gap / (ALUMINIUM_EXPANSION * facts.layout.movement.warming)
    return stock_no_longer(facts, own_glazing(facts.job), int(most))
