"""Layout turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before. Nanometres become millimetres and texts here.
- Marks and texts are each taken from the run's zero and never summed.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise
from operator import itemgetter
from typing import Final, NamedTuple, cast

from service.planner.answer.layout_shapes import (
    Elevations,
    HookOut,
    LayoutOut,
    Mark,
    MovementOut,
    OpeningOut,
    PackingOut,
    PanelJointOut,
    PartOut,
    PieceOut,
    PlateOut,
    RunOut,
    SupportOut,
)
from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.messages import Message, say
from service.planner.units import MILLIMETRE, cut_step, round_down, to_millimetres
from service.planner.wall.layout import (
    Heights,
    Hook,
    Layout,
    PackingStrip,
    PanelJoint,
    Part,
    Piece,
    RunWall,
    Support,
)
from service.planner.wall.movement import bearing_tolerance
from service.planner.wall.runs import ClearOpening, Jamb
from service.planner.writing import Told, Writer


def render_layout(job: Job, layout: Layout, openings: Sequence[ClearOpening], writer: Writer) -> LayoutOut:
    """Turn the layout into plain values."""
    # runs of one height share their lines
    elevations = {heights: _elevations(job, heights) for heights in set(layout.heights)}
    runs = [
        _run(job, wall, _Own(_posts(wall.run.supports, writer), elevations[wall.heights], writer))
        for wall in layout.walls
    ]
    return LayoutOut(
        runs=runs, openings=[_opening(job, o) for o in openings], movement=_movement(job, layout)
    )


class _Posts(NamedTuple):
    """Supports as they are rendered."""

    out: list[SupportOut]
    marks: list[tuple[int, Told]]


class _Own(NamedTuple):
    """What belongs to one run."""

    posts: _Posts
    elevations: Elevations
    writer: Writer


def _movement(job: Job, layout: Layout) -> MovementOut:
    movement = layout.movement
    return MovementOut(
        longest_span_mm=to_millimetres(movement.span),
        growth_mm=round(movement.growth / MILLIMETRE, 3),
        side_gap_mm=to_millimetres(movement.side_gap),
        joint_gap_mm=to_millimetres(movement.gap),
        joint_gap_text=job.text(movement.gap),
        end_room_mm=to_millimetres(movement.end_room),
        bearing_tolerance_mm=to_millimetres(bearing_tolerance(job)),
    )


def _opening(job: Job, opening: ClearOpening) -> OpeningOut:
    return OpeningOut(
        side=opening.side,
        near=_jamb(opening.near),
        far=_jamb(opening.far),
        clear_from_mm=to_millimetres(opening.near.face),
        clear_width_mm=to_millimetres(opening.clear_width),
        clear_width_text=job.text(opening.clear_width),
    )


def _jamb(jamb: Jamb) -> str:
    return "stud" if jamb.post is None else f"P{jamb.post + 1}"


def _run(job: Job, wall: RunWall, own: _Own) -> RunOut:
    run, labels = wall.run, [support.label for support in wall.run.supports]
    return RunOut(
        id=run.id,
        side=run.side,
        length_mm=to_millimetres(run.supports[-1].x),
        front_end=run.front_end,
        back_end=run.back_end,
        supports=own.posts.out,
        panels=_panels(job, wall.panels, to_millimetres(wall.heights.ripped)),
        panel_joints=[_joint(labels, joint) for joint in wall.joints],
        baseboards=[_piece(job, piece) for piece in wall.boards],
        top_channels=[_piece(job, piece) for piece in wall.channels],
        joint_profiles=[
            _part(job, labels, part) for part in wall.parts if ROLES[part.role].goes_up == "joints"
        ],
        end_battens=[
            _part(job, labels, part)
            for part in wall.parts
            if ROLES[part.role].goes_up in ("ends", "panel_ends")
        ],
        uprights=[_part(job, labels, part) for part in wall.parts if ROLES[part.role].goes_up == "uprights"],
        splice_plates=[
            PlateOut(id=p.id, kind=p.kind, support=p.support, label=labels[p.support]) for p in wall.plates
        ],
        packing_strips=[_packing(strip) for strip in wall.packing],
        rope_hooks=[_hook(job, hook) for hook in wall.hooks],
        elevations=own.elevations,
        marks=_marks(job, wall, own),
    )


def _posts(supports: Iterable[Support], writer: Writer) -> _Posts:
    """Render supports and where their centres are marked."""
    return _Posts(
        [
            {
                "index": s.index,
                "label": s.label,
                "x_mm": to_millimetres(s.x),
                "station_mm": to_millimetres(s.station),
                "kind": s.kind,
                "width_mm": to_millimetres(s.width),
            }
            for s in supports
        ],
        [(s.x, writer.told(_centre(s))) for s in supports],
    )


def _piece(job: Job, piece: Piece) -> PieceOut:
    return {
        "id": piece.id,
        "from_support": piece.start,
        "to_support": piece.end,
        "x_start_mm": to_millimetres(piece.x_start),
        "x_end_mm": to_millimetres(piece.x_end),
        "length_mm": to_millimetres(piece.length),
        "length_text": job.text(piece.length),
    }


def _panels(job: Job, panels: Iterable[Piece], ripped: float) -> list[PieceOut]:
    """Give panels with their height and whether they are whole sheets."""
    found = []
    for panel in panels:
        out = _piece(job, panel)
        out["height_mm"] = ripped
        out["uncut"] = panel.uncut
        found.append(out)
    return found


def _joint(labels: Sequence[str], joint: PanelJoint) -> PanelJointOut:
    return PanelJointOut(
        support=joint.support,
        label=labels[joint.support],
        x_mm=to_millimetres(joint.x),
        drift_mm=to_millimetres(joint.drift),
    )


def _part(job: Job, labels: Sequence[str], part: Part) -> PartOut:
    return PartOut(
        id=part.id,
        role=part.role,
        support=part.support,
        label=labels[part.support],
        x_mm=to_millimetres(part.x),
        bottom_mm=to_millimetres(part.bottom),
        length_mm=to_millimetres(part.length),
        length_text=job.text(part.length),
    )


def _packing(strip: PackingStrip) -> PackingOut:
    out: PackingOut = {
        "id": strip.id,
        "support": strip.support,
        "length_mm": to_millimetres(strip.length),
        "width_mm": to_millimetres(strip.width),
        "source_mm": [to_millimetres(side) for side in strip.source],
    }
    if strip.item is not None:
        out["bought_sku"] = strip.item.sku
        out["opens_sheet"] = strip.opens
    return out


def _hook(job: Job, hook: Hook) -> HookOut:
    return {
        "id": hook.id,
        "x_mm": to_millimetres(hook.x),
        "x_text": job.text(hook.x),
        "z_mm": to_millimetres(hook.z),
        "moved_mm": to_millimetres(hook.moved),
    }


def _elevations(job: Job, heights: Heights) -> Elevations:
    named = {
        "panel_foot": heights.foot,
        "board_underside": 0,
        "board_lower_screws": heights.lower_line,
        "board_upper_screws": heights.upper_line,
        "board_top": heights.board_top,
        "locating_screws": heights.locating,
        "channel_underside": heights.channel_underside,
        "panel_top": heights.panel_top,
        "channel_screws": heights.flange_line,
        "channel_top": heights.channel_top,
        "post_top": heights.post_top,
        "hip_rail": heights.hip,
        "clear_height": heights.clear,
    }
    text = {name: job.text(z) for name, z in named.items()}
    # no more than is there: a profile is cut short of this number
    text["clear_height"] = job.text(round_down(heights.clear, cut_step(job.units)))
    text["field_screws"] = ", ".join(job.text(z) for z in heights.field) or "none"
    numbers = {f"{name}_mm": to_millimetres(z) for name, z in named.items()}
    field = [round(z / MILLIMETRE, 3) for z in heights.field]
    return cast(Elevations, numbers | {"field_screws_mm": field, "text": text})


def _marks(job: Job, wall: RunWall, own: _Own) -> list[Mark]:
    """List the tape marks of a run in the order that the tape meets them."""
    run, boards, channels = wall.run, wall.boards, wall.channels
    labels, uprights = [support.label for support in run.supports], run.uprights
    marks = [
        (joint.x, say("mark.panel_joint", "panel joint on {support}", support=labels[joint.support]))
        for joint in wall.joints
    ]
    for before, board in pairwise(boards):
        on = labels[board.start]
        marks.append(
            (board.x_start, say("mark.lap_begins", "the baseboards' lap begins on {support}", support=on))
        )
        marks.append(
            (before.x_end, say("mark.lap_ends", "the baseboards' lap ends on {support}", support=on))
        )
    marks += [
        (run.supports[at].x, say("mark.upright", "wind-flap upright on {support}", support=labels[at]))
        for at in uprights
    ]
    marks += [
        (
            (before.x_end + piece.x_start) // 2,
            say("mark.channel_joint", "top-channel joint on {support}", support=labels[piece.start]),
        )
        for before, piece in pairwise(channels)
        if piece.start not in uprights
    ]
    marks += [(hook.x, _ROPE_HOOK) for hook in wall.hooks]
    told = own.writer.told
    placed = sorted([*own.posts.marks, *[(x, told(at)) for x, at in marks]], key=itemgetter(0))
    text = job.text
    return [{"x_mm": to_millimetres(x), "x_text": text(x), "at": at} for x, at in placed]


_ROPE_HOOK: Final = say("mark.rope_hook", "rope hook")


def _centre(support: Support) -> Message:
    """Say where a support's centre is."""
    label = support.label
    if support.post is None:
        return say("mark.stud", "centre of jamb stud {support}", support=label)
    if support.kind == "jamb":
        return say("mark.jamb_post", "centre of post {support}, which is a jamb", support=label)
    return say("mark.post", "centre of post {support}", support=label)
