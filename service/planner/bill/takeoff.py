"""Take-off: everything on the wall and every screw in the schedule, counted once for each item of stock.

Rules of this file
------------------
- One need for each sku. Stock that the customer already has is never bought.
- Counted parts are whole pieces; tape is running length of roll, after a wide roll is slit into strips.
- Spares are added here; packs are rounded in ``pricing.py``, after summing.
- What the wall needs and this stock list does not sell is said as data, never left out.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from service.planner.asked.catalog import Item
from service.planner.asked.parts import Tape
from service.planner.asked.roles import CATALOG_ROLES, HOOK_SET, ROLES, Unit
from service.planner.asked.settle import Job
from service.planner.engineering.bow import Remedy
from service.planner.errors import FieldProblem, NoSuchItem
from service.planner.fastening.layers import packed_out
from service.planner.messages import Length, Message, Number, say
from service.planner.records import record
from service.planner.rules import SPARES_PERCENT
from service.planner.units import to_millimetres
from service.planner.wall.layout import FastenerRow, Layout, TapeLength


@record
class Need:
    """How much of one item the plan needs."""

    item: Item
    """The item"""
    unit: Unit
    """H87 for counted parts, MTR for tape"""
    required: int
    """What the plan uses: pieces, or running length of roll [-] or [nm]"""
    spare: int
    """What is added against loss, same unit [-] or [nm]"""
    per_pack: int
    """What one pack holds, same unit [-] or [nm]"""
    needed_by: tuple[str, ...]
    """Ids of the pieces, parts, schedule rows or panels that need it"""
    spare_percent: int | None = None
    """Share of required that spare is, rounded up; none where spare is a count of its own [%]"""

    @property
    def role(self) -> str:
        """Catalog role of the item."""
        return self.item.part.role


@record
class ByOthers:
    """Something that the work needs and this bill does not hold."""

    id: str
    """Such as jamb-studs"""
    description: Message
    """What it is, for people"""
    count: int | None
    """How many, where they are counted [-]"""
    length: int | None
    """Length of all together, where they are measured [nm]"""


def take_off(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> tuple[Need, ...]:
    """Count what a layout and its fastener schedule need.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout with its cutting.
    rows
        The fastener schedule.

    Returns
    -------
        One need for each sku: stock, plates, tape, screws, washers, hook sets.

    Raises
    ------
    NoSuchItem
        When no roll of tape is wide enough, or the catalog has no part of a hook set.
    """
    return (
        *_stock(job, layout),
        *_plates(job, layout),
        *_tapes(job, layout.tapes),
        *_fasteners(job, rows),
        *_hooks(job, layout),
    )


def share_of(required: int, percent: int) -> int:
    """Return the share that is added, rounded up, in the unit of what is required."""
    return -(-required * percent // 100)


def _need(job: Job, item: Item, required: int, needed_by: Iterable[str]) -> Need:
    """Need an item, with the role's own number of spares or the share asked for."""
    role, asked = ROLES[item.part.role], job.spec.options.spares_percent
    percent = (SPARES_PERCENT if asked is None else asked) if role.spares is None else None
    return Need(
        item=item,
        unit=role.unit,
        required=required,
        spare=role.spares or 0 if percent is None else share_of(required, percent),
        # the catalog counts a roll as one pack
        per_pack=item.pack_size * (item.part.length if isinstance(item.part, Tape) else 1),
        needed_by=tuple(needed_by),
        spare_percent=percent,
    )


def _stock(job: Job, layout: Layout) -> Iterable[Need]:
    """Count the sheets and sticks to buy, without spares."""
    found: dict[str, tuple[Item, list[str]]] = {}
    counts: defaultdict[str, int] = defaultdict(int)
    for cutting in layout.cuttings:
        for pattern in cutting.patterns:
            if pattern.from_on_hand or pattern.item is None:
                continue
            counts[pattern.sku] += pattern.repeat
            _, ids = found.setdefault(pattern.sku, (pattern.item, []))
            for strip in pattern.strips:
                for named in strip.pieces:
                    ids += named
    for item, opened, packing in _bought_packing(layout):
        counts[item.sku] += opened
        found.setdefault(item.sku, (item, []))[1].append(packing)
    return (_need(job, item, counts[sku], ids) for sku, (item, ids) in found.items())


def _bought_packing(layout: Layout) -> Iterable[tuple[Item, bool, str]]:
    """The packing strips that no offcut holds: their sheet, whether it is opened for them, their id."""
    strips = [strip for wall in layout.walls for strip in wall.packing]
    return ((strip.item, strip.opens, strip.id) for strip in strips if strip.item is not None)


def _plates(job: Job, layout: Layout) -> Iterable[Need]:
    """Count the splice plates, and two to spare."""
    if layout.plates:
        ids = (plate.id for plate in layout.plates)
        yield _need(job, job.plate.items[0], len(layout.plates), ids)


def _fasteners(job: Job, rows: Sequence[FastenerRow]) -> Iterable[Need]:
    """Count screws and the washers under their heads."""
    found: dict[str, tuple[Item, list[str]]] = {}
    counts: defaultdict[str, int] = defaultdict(int)
    for row in rows:
        for item in (row.screw, row.washer):
            if item is not None:
                counts[item.sku] += row.count
                found.setdefault(item.sku, (item, []))[1].append(row.id)
    # screws before washers, each in the order in which the schedule first names them
    ordered = sorted(found.items(), key=lambda entry: entry[1][0].part.role)
    return (_need(job, item, counts[sku], ids) for sku, (item, ids) in ordered)


def _hooks(job: Job, layout: Layout) -> Iterable[Need]:
    """Count the parts of the rope hook sets."""
    if not layout.hooks:
        return
    ids = tuple(hook.id for hook in layout.hooks)
    for role in HOOK_SET:
        items = job.catalog.by_role[role]
        if not items:
            detail = say("spec.hook_part", "the catalog has no {part}", part=ROLES[role].noun)
            raise NoSuchItem(
                say("spec.no_hook_set", "The catalog has no complete rope hook set."),
                [FieldProblem(pointer="/options/rope_hooks", detail=detail)],
            )
        yield _need(job, items[0], len(ids), ids)


def _tapes(job: Job, tapes: Sequence[TapeLength]) -> Iterable[Need]:
    """Measure the tape, one need for each kind."""
    for role in (name for name in CATALOG_ROLES if ROLES[name].form == "roll"):
        own = [tape for tape in tapes if tape.role == role]
        if own:
            panels = dict.fromkeys(tape.panel for tape in own)
            yield _cheapest_roll(job, role, sum(tape.length for tape in own), tuple(panels))


def _cheapest_roll(job: Job, role: str, length: int, panels: tuple[str, ...]) -> Need:
    """Choose the roll that costs least before quantity breaks, the first listed of several.

    A roll of width w is slit into floor(w / needed) strips, where the needed width is the sheet's thickness and
    a lap on each face, so the roll that is bought is shorter than the tape that is stuck on.
    """
    width = job.spec.wall.panel_thickness + 2 * job.limits.tape_lap
    needs: list[Need] = []
    for item in job.catalog.by_role[role]:
        if isinstance(item.part, Tape) and (strips := item.part.width // width):
            run = -(-length // strips)
            needs.append(_need(job, item, run, panels))
    if not needs:
        detail = say(
            "spec.wider_tape",
            "needs {tape} at least {width} ({width_mm} mm) wide, no roll in this catalog is",
            tape=ROLES[role].noun,
            width=Length(width),
            width_mm=Number(to_millimetres(width)),
        )
        raise NoSuchItem(
            say("spec.no_wide_tape", "The catalog has no {tape} that is wide enough.", tape=ROLES[role].noun),
            [FieldProblem(pointer="/wall/panel_thickness", detail=detail)],
        )
    return min(needs, key=lambda need: -(-(need.required + need.spare) // need.per_pack) * need.item.price)


def by_others(job: Job, layout: Layout, rows: Iterable[FastenerRow] = ()) -> tuple[ByOthers, ...]:
    """List what the work needs beside this bill.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout.
    rows
        The fastener schedule, for what is packed out behind its screws.
    """
    ends = [kind for run in layout.runs for kind in (run.front_end, run.back_end)]
    studs = sum(support.post is None for run in layout.runs for support in run.supports)
    walled = sum(run.supports[-1].x for run in layout.runs)
    uprights = [part for part in layout.parts if part.role == "upright"]
    capped = [u for u in uprights if layout.runs[u.run].end_kind(u.end or "front") == "end_rigid"]
    thickness = Length(job.spec.wall.panel_thickness)
    trenched = job.spec.options.trench is not None
    found: tuple[tuple[str, Message, int | None, int | None], ...] = (
        (
            "jamb-studs",
            say("by_others.jamb_studs", "Jamb studs, and what holds them in the ground and at the top"),
            studs,
            None,
        ),
        (
            "end-wall-film",
            say("by_others.end_wall_film", "End-wall film, and the wire that holds it in its channel"),
            ends.count("end_film"),
            None,
        ),
        (
            "end-wall-sheets",
            say(
                "by_others.end_wall_sheets",
                "Rigid end-wall sheets, assumed to be as thick as the panel ({thickness})",
                thickness=thickness,
            ),
            ends.count("end_rigid"),
            None,
        ),
        ("wind-flap-film", say("by_others.wind_flap_film", "Film for the wind flaps"), len(uprights), None),
        (
            "flap-end-channels",
            say(
                "by_others.flap_end_channels",
                "Film channels beside the corner caps, for the end edges of the wind flaps",
            ),
            len(capped),
            sum(u.length for u in capped),
        ),
        (
            "rope",
            say("by_others.rope", "Rope that holds the curtain down; its length depends on its pattern"),
            1 if layout.hooks else 0,
            None,
        ),
        (
            "trench-lining",
            say("by_others.trench_lining", "Trench lining (mesh, insulation board or both)"),
            None,
            walled if trenched else 0,
        ),
    )
    return (
        *[
            ByOthers(id=id_, description=description, count=count, length=length)
            for id_, description, count, length in found
            if count or length
        ],
        *_packed_out(rows),
    )


def _packed_out(rows: Iterable[FastenerRow]) -> Iterable[ByOthers]:
    """List shims and stand-off blocks, one for each screw that reaches a bow behind the wall, by what they fill."""
    counts: dict[tuple[Remedy, int], int] = {}
    for row in rows:
        filled = packed_out(row.layers)
        counts[filled] = counts.get(filled, 0) + row.count
    for number, ((serves, away), count) in enumerate(counts.items(), start=1):
        if serves == "shim":
            words = say(
                "by_others.shims",
                "Shims between wall and bow, {away} in all at each screw",
                away=Length(away),
            )
            yield ByOthers(id=f"shims-{number}", description=words, count=count, length=None)
        if serves == "stand_off":
            words = say(
                "by_others.blocks", "Stand-off blocks between wall and bow, {away} deep", away=Length(away)
            )
            yield ByOthers(id=f"stand-off-blocks-{number}", description=words, count=count, length=None)
