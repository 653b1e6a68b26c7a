"""Notices: what is worth knowing before ordering, each computed from the plan it stands in.

Rules of this file
------------------
- A notice is a small function over the plan's facts; ``NOTICES`` is the one place where the next one goes.
- It is said only where it holds, with the plan's own numbers and, where one exists, the change that helps.
- Limits passed or failed are checks and stand in ``checks/table.py``; what a check says no notice repeats.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from typing import Any, Final

from service.planner.asked.changes import Changes, changed
from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.judging.applicable import applicable
from service.planner.judging.checks.creep import alone, first_miss
from service.planner.judging.facts import Facts
from service.planner.messages import Counted, Length, Message, Money, Number, say
from service.planner.nouns import BAY
from service.planner.records import record
from service.planner.solver.effort import Effort
from service.planner.units import INCH, cut_step, round_down
from service.planner.wall.courses import lay_panels, sheet_stock
from service.planner.wall.heights import rip_tolerance, strips_per_sheet
from service.planner.wall.hooks import bays_without
from service.planner.wall.layout import Piece, Run
from service.planner.wall.placing import place_panels

BAYS_NAMED: Final = 12
"""How many bays a notice names [-]"""
WHOLE_SHEETS: Final[Changes] = (("/options/whole_sheets", True),)
"""What asks for sheets left whole"""
HAIR: Final = INCH
"""A miss up to this is told as a miss by a hair; judgement [nm]"""


@record
class Notice:
    """Something worth knowing before ordering."""

    said: Message
    """For the customer, with the plan's own numbers"""
    changes: Changes = ()
    """Changes to the request that would help"""

    @property
    def id(self) -> str:
        """Kind of notice."""
        return self.said.code.partition(".")[2]


WHAT_IF_UNITS: Final = 250_000
"""What laying the panels another way may take [units]"""


def find_notices(facts: Facts) -> list[Notice]:
    """Say everything worth knowing about a plan, in the order of the table."""
    return [_advised(facts, notice) for rule in NOTICES for notice in rule(facts)]


def _advised(facts: Facts, notice: Notice) -> Notice:
    """Leave out changes that the request could not take."""
    if applicable(facts, notice.changes) == notice.changes:
        return notice
    return replace(notice, changes=())


def _notice(said: Message, *changes: tuple[str, Any]) -> Notice:
    """Build a notice with its changes, each (pointer, value)."""
    return Notice(said=said, changes=changes)


def _heights(facts: Facts) -> Iterator[tuple[Run, int]]:
    """The first run of each different nominal height, with its ripped height."""
    seen = set()
    for run in facts.layout.runs:
        if run.height not in seen:
            seen.add(run.height)
            yield run, facts.layout.heights[run.index].ripped


def _catalog_note(facts: Facts) -> Iterator[Notice]:
    note = facts.job.catalog.document.note
    if note:
        yield _notice(say("notice.catalog_note", "{note}", note=note))


def _ripped(facts: Facts) -> Iterator[Notice]:
    for run, ripped in _heights(facts):
        height = run.height
        if ripped < height:
            yield _notice(
                say(
                    "notice.ripped_height",
                    "Strips for the {height} wall are ripped to {ripped}, so that the saw's kerf costs no strip.",
                    height=Length(height),
                    ripped=Length(ripped),
                )
            )


def _kerf_loss(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    kerf, step = job.limits.kerf, cut_step(job.units)
    widths = sorted(
        {pattern.width or 0 for pattern in facts.layout.cutting("sheet").patterns if not pattern.from_on_hand}
    )
    for run, _ in _heights(facts):
        height = run.height
        for width in widths:
            given = strips_per_sheet(width, height, kerf, rip_tolerance(job))
            # the strips that a saw without kerf would give
            wanted = width // height
            if wanted > given:
                saves = round_down((width - (wanted - 1) * kerf) // wanted, step)
                yield _notice(
                    say(
                        "notice.kerf_loss",
                        "The saw's kerf costs a strip: a {width} sheet gives {given} of {height}; {lower} lower, at {saves},"
                        " it gives {wanted}.",
                        width=Length(width),
                        given=given,
                        height=Length(height),
                        lower=Length(height - saves),
                        saves=Length(saves),
                        wanted=wanted,
                    ),
                    *run.asked.changes(height, saves, job.units),
                )


def _one_more_strip(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    kerf, step, tolerance = job.limits.kerf, cut_step(job.units), rip_tolerance(job)
    widths = sorted(
        {pattern.width or 0 for pattern in facts.layout.cutting("sheet").patterns if not pattern.from_on_hand}
    )
    for run, _ in _heights(facts):
        height = run.height
        for width in widths:
            given = strips_per_sheet(width, height, kerf, tolerance)
            lower = round_down((width - given * kerf) // (given + 1), step)
            if given >= 1 and width // height == given and 0 < height - lower <= height // 8:
                yield _notice(
                    say(
                        "notice.one_more_strip",
                        "A wall {by} lower, {lower}, gives {more} strips of a {width} sheet instead of {given}.",
                        by=Length(height - lower),
                        lower=Length(lower),
                        more=given + 1,
                        width=Length(width),
                        given=given,
                    ),
                    *run.asked.changes(height, lower, job.units),
                )


def _end_miss(facts: Facts) -> Iterator[Notice]:
    job, movement = facts.job, facts.layout.movement
    cover = job.spec.wall.end_cover
    if cover * 2 <= movement.gap:
        return
    longest = max(pattern.length for pattern in facts.layout.cutting("sheet").patterns)
    for run in facts.layout.runs:
        if run.front_end == run.back_end == "jamb":
            continue
        spans = [s.x - run.supports[0].x for s in run.supports[1:-1] if s.x <= movement.span]
        missed = [
            span for span in spans if span - movement.gap // 2 <= longest < span - movement.gap // 2 + cover
        ]
        if missed:
            over = max(missed) - movement.gap // 2 + cover - longest
            yield _notice(
                say(
                    "notice.end_piece_misses_sheet",
                    "{run}: with an end cover of {cover} an end panel over {span} is {over} too long for the {sheet} sheet,"
                    " which costs a joint; without it, it fits.",
                    run=run.id,
                    cover=Length(cover),
                    span=Length(max(missed)),
                    over=Length(over),
                    sheet=Length(longest),
                ),
                ("/wall/end_cover", 0),
            )
            return


def _bays(job: Job) -> list[int]:
    """The different bays, widest first [nm]."""
    return sorted({there - here for here, there in pairwise(job.stations)}, reverse=True)


def _lap_short(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    bays = _bays(job)
    if len(bays) != 1:
        return
    bay, lap = bays[0], job.board.part.lap
    for item in job.board.items:
        length = item.part.length  # type: ignore[union-attr]  # boards have a length
        whole = length // bay
        if whole and length < whole * bay + lap:
            yield _notice(
                say(
                    "notice.stock_one_lap_short",
                    "{board}: {length} is {whole} without the lap, so it spans one bay less; a board of {needed} would span"
                    " {whole}.",
                    board=item.sku,
                    length=Length(length),
                    whole=Counted(whole, BAY),
                    needed=Length(whole * bay + lap),
                )
            )


def _whole_sheets(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    if job.spec.options.whole_sheets:
        return
    asked = replace(job, spec=changed(job.spec, WHOLE_SHEETS))
    runs, movement = facts.layout.runs, facts.layout.movement
    stock = sheet_stock(asked, job.spec.wall.panel_thickness)
    laid = lay_panels(asked, runs, movement, stock, Effort(WHAT_IF_UNITS))
    whole = sum(panel.uncut for panels in place_panels(asked, runs, laid) for panel in panels)
    spared = whole - sum(panel.uncut for wall in facts.layout.walls for panel in wall.panels)
    if spared > 0:
        worth = Money(spared * job.cut_cost, job.catalog.document.currency)
        yield _notice(
            say(
                "notice.whole_sheets",
                "Joints lie on the posts' centres. Where they may drift on their posts, {sheets} could stay uncut, which"
                " saves as many cuts ({worth}); panels would then differ in length.",
                sheets=Counted(spared, ROLES["sheet"].noun),
                worth=worth,
            ),
            *WHOLE_SHEETS,
        )


def _drift(facts: Facts) -> Iterator[Notice]:
    job, layout = facts.job, facts.layout
    if not job.spec.options.whole_sheets:
        return
    lone = list(alone(facts))
    whole = [panel for panel, _ in lone if panel.uncut]
    if len(whole) == len(lone):
        return
    first = first_miss(facts, {panel.id: length for panel, length in lone})
    if first is None:
        return
    run, label, drift = first
    kept = (
        say(
            "notice.some_stay_whole",
            "{whole} of {alone} sheets laid alone stay whole here, the others are trimmed",
            whole=len(whole),
            alone=len(lone),
        )
        if whole
        else say("notice.all_trimmed", "every sheet is trimmed here")
    )
    yield _notice(
        say(
            "notice.untrimmed_joints_creep",
            "Laid untrimmed, joints creep: on {run} the joint on {label} would fall {drift} off its post's centre and miss"
            " it; {kept}.",
            run=layout.runs[run].id,
            label=label,
            drift=Length(drift),
            kept=kept,
        )
    )


def _slivers(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    narrow = [p for wall in facts.layout.walls for p in wall.panels if p.length < job.limits.sliver]
    if narrow:
        yield _notice(
            say(
                "notice.sliver",
                "{panels} narrower than {least}, such as {named}: the posts leave no other way at this cost.",
                panels=Counted(len(narrow), ROLES["panel"].noun),
                least=Length(job.limits.sliver),
                named=tuple(panel.id for panel in narrow[:3]),
            )
        )


def _short_metal(facts: Facts) -> Iterator[Notice]:
    job = facts.job
    boards = [board for wall in facts.layout.walls for board in wall.boards]
    channels = [channel for wall in facts.layout.walls for channel in wall.channels]
    for noun, pieces in ((ROLES["baseboard"].noun, boards), (ROLES["top_channel"].noun, channels)):
        short = [piece for piece in pieces if piece.length < job.limits.sliver]
        if short:
            yield _notice(
                say(
                    "notice.short_metal",
                    "{pieces} shorter than {least}, such as {named}: costs least, but another board or channel length may"
                    " lay neater.",
                    pieces=Counted(len(short), noun),
                    least=Length(job.limits.sliver),
                    named=tuple([_piece(piece) for piece in short[:3]]),
                )
            )


def _piece(piece: Piece) -> Message:
    return say("notice.piece", "{piece} ({length})", piece=piece.id, length=Length(piece.length))


def _last_stick(facts: Facts) -> Iterator[Notice]:
    for cutting in facts.layout.cuttings:
        if cutting.role == "sheet":
            continue
        offcuts = [(p.strips[0].offcut, p) for p in cutting.patterns]
        for pattern in cutting.patterns:
            strip = pattern.strips[0]
            if len(strip.pieces[0]) != 1 or pattern.from_on_hand:
                continue
            length = strip.cuts[0][0]
            others = (offcut for offcut, other in offcuts if other is not pattern or pattern.repeat > 1)
            rest = max(others, default=0)
            if 0 < length - rest <= HAIR:
                yield _notice(
                    say(
                        "notice.last_stick",
                        "A whole {stock} is bought for {piece} of {length}, which misses an offcut of {rest} by {by}.",
                        stock=pattern.sku,
                        piece=strip.pieces[0][0],
                        length=Length(length),
                        rest=Length(rest),
                        by=Length(length - rest),
                    )
                )


def _flutes(facts: Facts) -> Iterator[Notice]:
    if not facts.job.upright_flutes:
        yield _notice(
            say(
                "notice.flutes_along",
                "Flutes lie along the wall and are sealed at both ends. Sheet associations want them upright so that they"
                " drain: ask the sheet's maker, or plan with upright flutes.",
            ),
            ("/wall/flutes", "upright"),
        )


def _buried(facts: Facts) -> Iterator[Notice]:
    runs = [run.id for run in facts.layout.runs if run.bury_depth]
    if runs:
        yield _notice(
            say(
                "notice.buried_foot",
                "The foot of {runs} is buried: below the board nothing closes the gap between two panels, flutes wick water"
                " and frost lifts the edge.",
                runs=tuple(runs[:4]),
            )
        )


def _hooks(facts: Facts) -> Iterator[Notice]:
    job, layout = facts.job, facts.layout
    bare = [(wall.run, bay) for wall in layout.walls for bay in bays_without(job, wall)]
    if bare:
        named = tuple(
            say(
                "notice.bay_named",
                "{run} {from_label} to {to_label}",
                run=run.id,
                from_label=run.supports[bay].label,
                to_label=run.supports[bay + 1].label,
            )
            for run, bay in bare[:BAYS_NAMED]
        )
        if len(bare) > BAYS_NAMED:
            named += (say("notice.more", "{more} more", more=len(bare) - BAYS_NAMED),)
        yield _notice(
            say(
                "notice.hook_clearance",
                "{bays} without rope hooks: {named}. Posts, laps, plates or jambs leave no place there that keeps"
                " {least} from all of them.",
                bays=Counted(len(bare), BAY),
                named=named,
                least=Length(job.limits.hook_clearance),
            )
        )


def _unused(facts: Facts) -> Iterator[Notice]:
    used = {
        pattern.sku
        for cutting in facts.layout.cuttings
        for pattern in cutting.patterns
        if pattern.from_on_hand
    }
    idle = [own.sku for own in facts.job.spec.on_hand if own.sku not in used]
    if idle:
        yield _notice(
            say(
                "notice.stock_not_used",
                "Stock on hand that this plan does not use: {skus}.",
                skus=tuple(dict.fromkeys(idle)),
            )
        )


def _unproven(facts: Facts) -> Iterator[Notice]:
    for cutting in facts.layout.cuttings:
        if not cutting.proven_optimal:
            gap = 100 * (cutting.objective - cutting.lower_bound) / max(cutting.objective, 1)
            yield _notice(
                say(
                    "notice.not_proven",
                    "Cutting ({noun}): within {gap_percent} % of the least cost, not proven least.",
                    noun=ROLES[cutting.role].noun,
                    gap_percent=Number(gap, 2),
                )
            )


def _others(facts: Facts) -> Iterator[Notice]:
    if any(support.post is None for run in facts.layout.runs for support in run.supports):
        yield _notice(
            say(
                "notice.jamb_studs",
                "Jamb studs beside the openings are not in the bill; size them with the door.",
            )
        )


NOTICES: Final[tuple[Callable[[Facts], Iterable[Notice]], ...]] = (
    _catalog_note, _unproven, _ripped, _kerf_loss, _one_more_strip, _end_miss, _lap_short, _whole_sheets, _drift, _slivers, _short_metal,
    _last_stick, _flutes, _buried, _hooks, _unused, _others,
)  # fmt: skip
"""Every notice, in the order said."""
