"""What the precedence table's conditions and words mean for the job as a whole.

Rules of this file
------------------
- Facts only: which conditions hold, what stands for each word in braces, how many of each thing there are.
- Lengths are written in the display units. Lists are complete up to a bound; then they say how many more the layout
  and its marks hold.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import Final, TypeVar

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.fastening.holes import panel_holes
from service.planner.messages import All, Counted, Length, Message, Value, say
from service.planner.nouns import CROSSCUT, END, FLAP, JAMB_STUD, POST
from service.planner.records import record
from service.planner.units import METRE
from service.planner.wall.layout import FastenerRow, Layer, Layout, PackingStrip

T = TypeVar("T")
LISTED: Final = 60
"""How many things a text names before it refers to the layout for the others [-]"""

MARKS: Final = say("list.in_marks", "the marks of each run")
"""Where the other places along a run stand"""
LAYOUT: Final = say("list.in_layout", "the layout")
"""Where the other pieces stand"""
_NONE: Final = say("list.none", "none")


@record
class StepFacts:
    """What holds for a job or for one of its runs."""

    holds: frozenset[str]
    """Conditions that hold"""
    words: Mapping[str, Value]
    """Words in braces and what stands for them"""
    counts: Mapping[str, float]
    """How many of each thing there are [-], [m] for metres"""


def listed(things: Sequence[T], write: Callable[[T], Value], others: Message = LAYOUT) -> Value:
    """Name the things of a list; past the bound say how many more there are and where the others stand."""
    named = tuple(map(write, things[:LISTED]))
    more = len(things) - LISTED
    if more > 0:
        return say(
            "list.more", "{named} and {more} more (see {others})", named=named, more=more, others=others
        )
    return named or _NONE


def several(lengths: Iterable[int]) -> Value:
    """Write lengths [nm], each once."""
    return All(tuple([Length(size) for size in dict.fromkeys(lengths)]))


def holding(**conditions: bool) -> frozenset[str]:
    """Name the conditions that hold; ``always`` does."""
    return frozenset(["always", *[name for name, holds in conditions.items() if holds]])


def job_facts(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> StepFacts:
    """The facts of the steps before and after the runs.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout.
    rows
        The fastener schedule.
    """
    counts = _job_counts(job, layout, rows)
    options, structure = job.spec.options, job.spec.structure
    studs = counts["stud"] > 0
    slotted = [row for row in rows if row.slot]
    holds = holding(
        existing=options.existing_tunnel,
        new=not options.existing_tunnel,
        dug=options.trench is not None or studs,
        trench=options.trench is not None,
        studs=studs,
        rigid_end=counts["rigid_end"] > 0,
        film_end=counts["film_end"] > 0,
        hooks=bool(layout.hooks),
        flaps=counts["flap"] > 0,
        rigid_flap=counts["rigid_flap"] > 0,
        batten_flap=counts["flap"] > counts["rigid_flap"],
        roll_up=structure.roll_up_sides,
        along=not job.upright_flutes,
        upright_flutes=job.upright_flutes,
        buried=any(run.bury_depth for run in layout.runs),
        factory=any(panel.uncut for wall in layout.walls for panel in wall.panels),
        joints=any(wall.joints for wall in layout.walls),
        one_piece=any(wall.joints for wall in layout.walls) and job.profile.part.pieces == "one_piece",
        on_hand=any(pattern.from_on_hand for cutting in layout.cuttings for pattern in cutting.patterns),
        panel_holes=counts["panel_hole"] > 0,
        end_slots=any(row.washer is None for row in slotted),
        jamb_holes=any(row.place == "jamb_cap" for row in rows),
        washer_slots=any(row.washer is not None for row in slotted),
        pilot=any(row.pilot is not None for row in rows),
    )
    return StepFacts(holds=holds, words=_job_words(job, layout, counts), counts=counts)


def _job_counts(job: Job, layout: Layout, rows: Iterable[FastenerRow]) -> dict[str, float]:
    """Count the things that the steps before and after the runs take time for."""
    ends = [kind for run in layout.runs for kind in (run.front_end, run.back_end)]
    supports = [support for run in layout.runs for support in run.supports]
    sheets = [cutting for cutting in layout.cuttings if cutting.role == "sheet"]
    # what goes on joints is cut when it is measured on the wall
    metal = [
        c for c in layout.cuttings if ROLES[c.role].step == "metal" and ROLES[c.role].goes_up != "joints"
    ]
    crosscuts, metal_cuts = (
        sum(p.repeat * strip.crosscuts for c in cuttings for p in c.patterns for strip in p.strips)
        for cuttings in (sheets, metal)
    )
    uprights = [part for part in layout.parts if part.role == "upright"]
    panel = Layer("panel", job.spec.wall.panel_thickness)
    return {
        "once": 1,
        "post": sum(support.post is not None for support in supports),
        "stud": sum(support.post is None for support in supports),
        "sheet": sum(pattern.repeat for cutting in sheets for pattern in cutting.patterns),
        "bought_sheet": sum(p.repeat for c in sheets for p in c.patterns if not p.from_on_hand),
        "crosscut": crosscuts,
        "metal_cut": metal_cuts,
        "tape_edge": len(layout.tapes),
        "panel_hole": sum([row.count for row in rows if panel in row.layers]),
        "rigid_end": ends.count("end_rigid"),
        "film_end": ends.count("end_film"),
        "hook": len(layout.hooks),
        "flap": len(uprights),
        "rigid_flap": sum(layout.runs[u.run].end_kind(u.end or "front") == "end_rigid" for u in uprights),
        "metre": sum(run.supports[-1].x for run in layout.runs) / METRE,
    }


def _job_words(job: Job, layout: Layout, counts: Mapping[str, float]) -> dict[str, Value]:
    """Write the words of the steps before and after the runs."""
    text, runs, trench = job.text, layout.runs, job.spec.options.trench
    studs = [(run, support) for run in runs for support in run.supports if support.post is None]
    joints = [joint for wall in layout.walls for joint in wall.joints]
    whole = [panel.id for wall in layout.walls for panel in wall.panels if panel.uncut]
    label = {run.index: run.supports for run in runs}
    holes = panel_holes(job, layout)
    return {
        "sheets": Counted(int(counts["bought_sheet"]), ROLES["sheet"].noun),
        "posts": Counted(int(counts["post"]), POST),
        "stud_count": Counted(int(counts["stud"]), JAMB_STUD),
        "stud_width": Length(job.limits.jamb_width),
        "studs": listed(studs, lambda at: f"{at[0].id} {at[1].label} ({text(at[1].station)})"),
        "trench_width": Length(trench.width) if trench else "",
        "trench_depth": Length(trench.depth) if trench else "",
        "wall_length": Length(sum(run.supports[-1].x for run in runs)),
        "bury": Length(max(run.bury_depth for run in runs)),
        "tops": listed(layout.walls, lambda wall: f"{wall.run.id} {text(wall.heights.panel_top)}"),
        "joint_marks": listed(
            joints, lambda j: f"{runs[j.run].id} {label[j.run][j.support].label} ({text(j.x)})", MARKS
        ),
        "rip_word": say("words.crosscut", "crosscut") if job.upright_flutes else say("words.rip", "rip"),
        "rip_sentence": say("words.bands", "Crosscut the sheets into bands")
        if job.upright_flutes
        else say("words.strips", "Rip the sheets into strips"),
        "ripped": several(heights.ripped for heights in layout.heights),
        "panels": Counted(sum(len(wall.panels) for wall in layout.walls), ROLES["panel"].noun),
        "crosscuts": Counted(int(counts["crosscut"]), CROSSCUT),
        "tape_width": Length(job.spec.wall.panel_thickness + 2 * job.limits.tape_lap),
        "factory": listed(whole, str),
        "templates": say("words.templates", "a template for each kind of panel"),
        "hole": Length(holes.inner),
        "jamb_hole": Length(holes.jamb),
        "slot_width": Length(holes.slot_width),
        "hook_count": Counted(len(layout.hooks), ROLES["rope_hook"].noun),
        "hook_height": several(hook.z for hook in layout.hooks) if layout.hooks else "",
        "hooks": listed(layout.hooks, lambda hook: f"{runs[hook.run].id} ({text(hook.x)})", MARKS),
        "flaps": Counted(int(counts["flap"]), FLAP),
        "packing_width": Length(job.film_channel.part.width),
        "packing": listed(
            [strip for wall in layout.walls for strip in wall.packing],
            partial(_packing, job),
        ),
        "rigid_flaps": Counted(int(counts["rigid_flap"]), FLAP),
        "thickness": Length(job.spec.wall.panel_thickness),
        "film_ends": Counted(int(counts["film_end"]), END),
        "channel_top": several(h.channel_top for h in layout.heights),
    }


def _packing(job: Job, strip: PackingStrip) -> Message:
    """Name a packing strip with its length and the offcut or sheet that it is cut from."""
    along, across = strip.source
    length = job.text(strip.length)
    if strip.item is not None:
        return say(
            "words.packing_bought",
            "{strip} ({length}) from the sheet bought for it ({sku})",
            strip=strip.id,
            length=length,
            sku=strip.item.sku,
        )
    return say(
        "words.packing_offcut",
        "{strip} ({length}) from the offcut of {along} x {across}",
        strip=strip.id,
        length=length,
        along=job.text(along),
        across=job.text(across),
    )
