"""What the precedence table's conditions and words mean for one job and for one run.

Rules of this file
------------------
- Facts only: which conditions hold, what stands for each word in braces, how many of each thing there are.
- Lengths are written in the display units. Long lists name the first few and say how many more there are.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from service.planner.layout import EndKind, FastenerRow, Layout, Part, Piece
from service.planner.settle import Job
from service.planner.step_uses import Driven, Laying
from service.planner.units import METRE

T = TypeVar("T")
LISTED: Final = 24
"""How many things a text names before it says how many more there are [-]"""
HOLDERS: Final[Mapping[EndKind, str]] = {
    "end_film": "end batten", "end_open": "end batten", "end_rigid": "corner cap", "jamb": "end cap",
}  # fmt: skip
"""What holds a panel's end, by what stands there."""
PLACES: Final[Mapping[str, str]] = {
    "board_upper": "board's upper lip",
    "board_lower": "board's lower lip",
    "locating": "locating, through the panel",
    "field": "field, through the panel",
    "joint_profile": "joint profile",
    "top_channel": "top channel's flange",
    "batten": "end batten or corner cap",
    "upright_over_panel": "wind-flap upright over the panel",
    "upright_above_panel": "wind-flap upright above the panel",
    "jamb_cap": "end cap at the jamb",
}
"""What the crew calls each place of the fastening rules table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What holds for a job or for one of its runs."""

    holds: frozenset[str]
    """Conditions that hold"""
    words: Mapping[str, str]
    """Words in braces and what stands for them"""
    counts: Mapping[str, float]
    """How many of each thing there are [-], [m] for metres"""


def listed(things: Sequence[T], write: Callable[[T], str]) -> str:
    """Name the first things of a list and say how many more there are."""
    named = ", ".join(write(thing) for thing in things[:LISTED])
    more = len(things) - LISTED
    return f"{named} and {more} more" if more > 0 else named or "none"


def _holding(**conditions: bool) -> frozenset[str]:
    """Name the conditions that hold; ``always`` does."""
    return frozenset({"always", *(name for name, holds in conditions.items() if holds)})


def job_facts(job: Job, layout: Layout, rows: Sequence[FastenerRow]) -> Facts:
    """Give the facts of the steps before and after the runs.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout.
    rows
        The fastener schedule.
    """
    counts = _job_counts(layout, rows)
    options, structure = job.spec.options, job.spec.structure
    studs = counts["stud"] > 0
    holds = _holding(
        existing=options.existing_tunnel,
        new=not options.existing_tunnel,
        dug=options.trench is not None or studs,
        trench=options.trench is not None,
        studs=studs,
        rigid_end=counts["rigid_end"] > 0,
        film_end=counts["film_end"] > 0,
        hooks=bool(layout.hooks),
        flaps=counts["flap"] > 0,
        roll_up=structure.roll_up_sides,
        along=not job.upright_flutes,
        upright_flutes=job.upright_flutes,
        buried=any(run.bury_depth for run in layout.runs),
        factory=any(panel.factory_length for course in layout.panels for panel in course),
        joints=any(layout.joints),
        on_hand=any(pattern.from_on_hand for cutting in layout.cuttings for pattern in cutting.patterns),
        panel_holes=counts["panel_hole"] > 0,
        pilot=any(row.pilot is not None for row in rows),
    )
    return Facts(holds=holds, words=_job_words(job, layout, counts), counts=counts)


def _job_counts(layout: Layout, rows: Iterable[FastenerRow]) -> dict[str, float]:
    """Count the things that the steps before and after the runs take time for."""
    ends = [kind for run in layout.runs for kind in (run.front_end, run.back_end)]
    supports = [support for run in layout.runs for support in run.supports]
    sheets = [cutting for cutting in layout.cuttings if cutting.role == "sheet"]
    metal = [cutting for cutting in layout.cuttings if cutting.role not in ("sheet", "joint_profile")]
    crosscuts, metal_cuts = (
        sum(p.repeat * strip.crosscuts for c in cuttings for p in c.patterns for strip in p.strips)
        for cuttings in (sheets, metal)
    )
    return {
        "once": 1,
        "post": sum(support.post is not None for support in supports),
        "stud": sum(support.post is None for support in supports),
        "sheet": sum(pattern.repeat for cutting in sheets for pattern in cutting.patterns),
        "crosscut": crosscuts,
        "metal_cut": metal_cuts,
        "tape_edge": len(layout.tapes),
        "panel_hole": sum(r.count for r in rows if any(layer.part == "panel" for layer in r.layers)),
        "rigid_end": ends.count("end_rigid"),
        "film_end": ends.count("end_film"),
        "hook": len(layout.hooks),
        "flap": sum(part.role == "upright" for part in layout.parts),
        "metre": sum(run.supports[-1].x for run in layout.runs) / METRE,
    }


def _job_words(job: Job, layout: Layout, counts: Mapping[str, float]) -> dict[str, str]:
    """Write the words of the steps before and after the runs."""
    text, runs, trench = job.text, layout.runs, job.spec.options.trench
    studs = [(run, support) for run in runs for support in run.supports if support.post is None]
    joints = [joint for course in layout.joints for joint in course]
    whole = [panel.id for course in layout.panels for panel in course if panel.factory_length]
    label = {run.index: run.supports for run in runs}
    return {
        "sheet_count": f"{counts['sheet']:.0f}",
        "post_count": f"{counts['post']:.0f}",
        "stud_count": f"{counts['stud']:.0f}",
        "stud_width": text(job.limits.jamb_width),
        "studs": listed(studs, lambda at: f"{at[0].side} {at[1].label} at {text(at[1].station)}"),
        "trench_width": text(trench.width) if trench else "",
        "trench_depth": text(trench.depth) if trench else "",
        "wall_length": text(sum(run.supports[-1].x for run in runs)),
        "bury": text(max(run.bury_depth for run in runs)),
        "tops": listed(runs, lambda run: f"{run.id} {text(layout.heights[run.index].panel_top)} above grade"),
        "joint_marks": listed(joints, lambda j: f"{runs[j.run].id} {label[j.run][j.support].label} at {text(j.x)}"),
        "rip_word": "crosscut" if job.upright_flutes else "rip",
        "rip_sentence": "Crosscut the sheets into bands" if job.upright_flutes else "Rip the sheets into strips",
        "ripped": " and ".join(dict.fromkeys(text(heights.ripped) for heights in layout.heights)),
        "panel_count": str(sum(len(course) for course in layout.panels)),
        "crosscuts": f"{counts['crosscut']:.0f}",
        "tape_width": text(job.spec.wall.panel_thickness + 2 * job.limits.tape_lap),
        "factory": listed(whole, str),
        "hook_count": str(len(layout.hooks)),
        "hook_height": " and ".join(dict.fromkeys(text(hook.z) for hook in layout.hooks)),
        "hooks": listed(layout.hooks, lambda hook: f"{runs[hook.run].id} at {text(hook.x)}"),
        "flap_count": f"{counts['flap']:.0f}",
        "film_ends": f"{counts['film_end']:.0f}",
        "channel_top": " and ".join(dict.fromkeys(text(h.channel_top) for h in layout.heights)),
    }  # fmt: skip


def run_facts(job: Job, layout: Layout, laying: Laying, parts: Sequence[Part]) -> Facts:
    """Give the facts of the steps along one run.

    Parameters
    ----------
    job
        The settled job.
    layout
        The layout.
    laying
        The run as it is laid.
    parts
        The run's own upright parts.
    """
    run = laying.run
    kinds = (run.front_end, run.back_end) if laying.from_front else (run.back_end, run.front_end)
    joints = layout.joints[run.index]
    holds = _holding(
        **{f"{end}_post": kind != "jamb" for end, kind in zip(("near", "far"), kinds, strict=True)},
        **{f"{end}_jamb": kind == "jamb" for end, kind in zip(("near", "far"), kinds, strict=True)},
        **{f"{end}_rigid": kind == "end_rigid" for end, kind in zip(("near", "far"), kinds, strict=True)},
        joints=bool(joints),
        full_height=job.spec.wall.joint_profile_extent == "full_height",
        two_piece=job.profile.part.pieces == "two_piece",
        feet=any(part.material == "film_channel" for part in parts),
    )
    words = _height_words(job, layout, laying) | _course_words(job, layout, laying)
    words |= _end_words(job, laying, kinds, parts)
    return Facts(holds=holds, words=words, counts={"once": 1, "joint": len(joints)})


def _height_words(job: Job, layout: Layout, laying: Laying) -> dict[str, str]:
    """Write the heights of a run's lines."""
    heights, text = layout.heights[laying.run.index], job.text
    fields = " and ".join(text(z) for z in heights.field)
    return {
        "panel_top": text(heights.panel_top),
        "board_top": text(heights.board_top),
        "upper_line": text(heights.upper_line),
        "lower_line": text(heights.lower_line),
        "locating": text(heights.locating),
        "fields": f" at {fields} above grade" if fields else "",
        "flange_line": text(heights.flange_line),
        "clear": text(heights.clear),
        "hip": text(heights.hip),
        "gap": text(layout.movement.gap),
        "lap": text(job.board.part.lap),
        "profile_short": text(job.limits.profile_clearance),
    }


def _course_words(job: Job, layout: Layout, laying: Laying) -> dict[str, str]:
    """Write which pieces go up, in which order, meeting where."""
    run, text = laying.run, job.text
    joints = layout.joints[run.index]
    first = laying.panels[0]
    ordered = joints if laying.from_front else joints[::-1]

    def piece(one: Piece) -> str:
        return f"{one.id} ({text(one.length)})"

    def far_label(one: Piece) -> str:
        return run.supports[one.end if laying.from_front else one.start].label

    return {
        "run": run.id,
        "first_panel": piece(first),
        "far_of_first": f" ({far_label(first)})" if len(laying.panels) > 1 else "",
        "next_panels": listed(laying.panels[1:], piece),
        "joints": listed(ordered, lambda joint: f"{run.supports[joint.support].label} at {text(joint.x)}"),
        "first_board": piece(laying.boards[0]),
        "next_boards": listed(laying.boards[1:], piece),
        "laps": listed(laying.boards[:-1], far_label),
        "channels": listed(laying.channels[: laying.early], piece),
        "last_channels": listed(laying.channels[laying.early :], piece),
        "channel_joints": listed(laying.channels[:-1], far_label),
    }


def _end_words(
    job: Job, laying: Laying, kinds: tuple[EndKind, EndKind], parts: Sequence[Part]
) -> dict[str, str]:
    """Write what stands at a run's two ends and how the first panel's end lies there."""
    run, text, first = laying.run, job.text, laying.panels[0]
    near, far = (run.supports[0], run.supports[-1])[:: 1 if laying.from_front else -1]
    cover = near.x - first.x_start if laying.from_front else first.x_end - near.x
    past = f"{text(abs(cover))} {'past' if cover > 0 else 'short of'} " if cover else "on "
    batten = next(
        (p for p in parts if p.support == near.index and p.role in ("end_batten", "corner_cap")), None
    )
    profile = next((part for part in parts if part.role == "joint_profile"), None)
    return {
        "near_label": near.label,
        "far_label": far.label,
        "near_end": f"end {past}the centre of {near.label}",
        "near_holder": HOLDERS[kinds[0]],
        "far_holder": HOLDERS[kinds[1]],
        "batten_bottom": text(batten.bottom) if batten else "",
        "batten_top": text(batten.top) if batten else "",
        "profile_length": text(profile.length) if profile else "",
    }  # fmt: skip


def screw_sentence(job: Job, laying: Laying, driven: Driven) -> str:
    """Say which screws go where, with their height and supports."""
    row = driven.row
    each = row.count // len(row.supports)
    washer = f" with {row.washer.sku}" if row.washer else ""
    where = f"{PLACES[row.place]}, {job.text(row.z)} above grade" + (f", {each} each" if each > 1 else "")
    labels = listed(driven.supports, lambda support: laying.run.supports[support].label)
    return f"{driven.count} x {row.screw.sku}{washer} ({where}): {labels}."
