"""Layout and cutting turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before. Nanometres become millimetres and texts here.
- Marks and texts are each taken from the run's zero and never summed.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import cast

from service.planner.answer_layout import (
    CutOut,
    CuttingOut,
    Elevations,
    HookOut,
    LayoutOut,
    Mark,
    MaterialOut,
    MovementOut,
    Offcut,
    OpeningOut,
    PanelJointOut,
    PartOut,
    PatternOut,
    PieceOut,
    PlateOut,
    RunOut,
    StockOut,
    StripOut,
    SupportOut,
)  # fmt: skip
from service.planner.factory_lengths import bearing_tolerance
from service.planner.fields import money_text
from service.planner.layout import (
    CutPattern,
    Cutting,
    Heights,
    Hook,
    Layout,
    PanelJoint,
    Part,
    Piece,
    Plate,
    Run,
    Strip,
)  # fmt: skip
from service.planner.runs import ClearOpening, Jamb
from service.planner.settle import Job
from service.planner.units import MILLIMETRE, to_millimetres


def render_layout(job: Job, layout: Layout, openings: Sequence[ClearOpening]) -> LayoutOut:
    """Turn the layout into plain values."""
    parts: defaultdict[int, list[Part]] = defaultdict(list)
    plates: defaultdict[int, list[Plate]] = defaultdict(list)
    hooks: defaultdict[int, list[Hook]] = defaultdict(list)
    for part in layout.parts:
        parts[part.run].append(part)
    for plate in layout.plates:
        plates[plate.run].append(plate)
    for hook in layout.hooks:
        hooks[hook.run].append(hook)
    runs = [
        _run(job, layout, run, parts[run.index], plates[run.index], hooks[run.index]) for run in layout.runs
    ]
    return LayoutOut(
        runs=runs, openings=[_opening(job, o) for o in openings], movement=_movement(job, layout)
    )


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


def _run(
    job: Job, layout: Layout, run: Run, parts: list[Part], plates: list[Plate], hooks: list[Hook]
) -> RunOut:
    heights, panels = layout.heights[run.index], layout.panels[run.index]
    ripped = to_millimetres(heights.ripped)
    laid = [_piece(job, piece) for piece in panels]
    for out, panel in zip(laid, panels, strict=True):
        out["height_mm"] = ripped
        out["factory_length"] = panel.factory_length
    return RunOut(
        id=run.id,
        side=run.side,
        length_mm=to_millimetres(run.supports[-1].x),
        front_end=run.front_end,
        back_end=run.back_end,
        supports=[
            SupportOut(
                index=s.index, label=s.label, x_mm=to_millimetres(s.x), station_mm=to_millimetres(s.station),
                kind=s.kind, width_mm=to_millimetres(s.width),
            )
            for s in run.supports
        ],
        panels=laid,
        panel_joints=[_joint(run, joint) for joint in layout.joints[run.index]],
        baseboards=[_piece(job, piece) for piece in layout.boards[run.index]],
        top_channels=[_piece(job, piece) for piece in layout.channels[run.index]],
        joint_profiles=[_part(job, run, part) for part in parts if part.role == "joint_profile"],
        end_battens=[_part(job, run, part) for part in parts if part.role not in ("joint_profile", "upright")],
        uprights=[_part(job, run, part) for part in parts if part.role == "upright"],
        splice_plates=[
            PlateOut(id=p.id, kind=p.kind, support=p.support, label=run.supports[p.support].label) for p in plates
        ],
        rope_hooks=[_hook(job, hook) for hook in hooks],
        elevations=_elevations(job, heights),
        marks=_marks(job, run, layout.joints[run.index], layout.boards[run.index], hooks),
    )  # fmt: skip


def _piece(job: Job, piece: Piece) -> PieceOut:
    return PieceOut(
        id=piece.id,
        from_support=piece.start,
        to_support=piece.end,
        x_start_mm=to_millimetres(piece.x_start),
        x_end_mm=to_millimetres(piece.x_end),
        length_mm=to_millimetres(piece.length),
        length_text=job.text(piece.length),
    )


def _joint(run: Run, joint: PanelJoint) -> PanelJointOut:
    return PanelJointOut(
        support=joint.support,
        label=run.supports[joint.support].label,
        x_mm=to_millimetres(joint.x),
        drift_mm=to_millimetres(joint.drift),
    )


def _part(job: Job, run: Run, part: Part) -> PartOut:
    return PartOut(
        id=part.id,
        role=part.role,
        support=part.support,
        label=run.supports[part.support].label,
        x_mm=to_millimetres(part.x),
        bottom_mm=to_millimetres(part.bottom),
        length_mm=to_millimetres(part.length),
        length_text=job.text(part.length),
    )


def _hook(job: Job, hook: Hook) -> HookOut:
    return HookOut(
        id=hook.id,
        x_mm=to_millimetres(hook.x),
        x_text=job.text(hook.x),
        z_mm=to_millimetres(hook.z),
        moved_mm=to_millimetres(hook.moved),
    )


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
    text["field_screws"] = ", ".join(job.text(z) for z in heights.field) or "none"
    numbers = {f"{name}_mm": to_millimetres(z) for name, z in named.items()}
    field = [round(z / MILLIMETRE, 3) for z in heights.field]
    return cast(Elevations, numbers | {"field_screws_mm": field, "text": text})


def _marks(
    job: Job, run: Run, joints: Iterable[PanelJoint], boards: Sequence[Piece], hooks: Iterable[Hook]
) -> list[Mark]:
    """List the tape marks of a run in the order that the tape meets them."""
    marks = [(joint.x, f"panel joint on {run.supports[joint.support].label}") for joint in joints]
    for number, board in enumerate(boards[1:], start=1):
        on = run.supports[board.start].label
        marks += [(board.x_start, f"lap begins on {on}"), (boards[number - 1].x_end, f"lap ends on {on}")]
    marks += [(hook.x, "rope hook") for hook in hooks]
    return [Mark(x_mm=to_millimetres(x), text=job.text(x), at=at) for x, at in sorted(marks)]


def render_cutting(job: Job, cuttings: Iterable[Cutting]) -> CuttingOut:
    """Turn the cutting of every material into plain values."""
    return CuttingOut(materials=[_material(job, cutting) for cutting in cuttings])


def _material(job: Job, cutting: Cutting) -> MaterialOut:
    groups: dict[tuple[str, int, int | None, bool], list[CutPattern]] = {}
    for pattern in cutting.patterns:
        key = (pattern.sku, pattern.length, pattern.width, pattern.from_on_hand)
        groups.setdefault(key, []).append(pattern)
    return MaterialOut(
        role=cutting.role,
        kerf_mm=to_millimetres(cutting.kerf),
        stock=[_stock(job, patterns) for patterns in groups.values()],
        yield_percent=_yield(cutting),
        objective=money_text(cutting.objective),
        lower_bound=money_text(cutting.lower_bound),
        proven_optimal=cutting.proven_optimal,
    )


def _yield(cutting: Cutting) -> float:
    """Give the share of the stock opened that ends on the wall [%]."""
    used = opened = 0
    for pattern in cutting.patterns:
        opened += pattern.repeat * pattern.length * (pattern.width or 1)
        used += pattern.repeat * sum(
            length * count * (strip.height or 1) for strip in pattern.strips for length, count in strip.cuts
        )
    return round(100 * used / opened, 1) if opened else 0.0


def _stock(job: Job, patterns: Sequence[CutPattern]) -> StockOut:
    first = patterns[0]
    out = StockOut(
        sku=first.sku,
        length_mm=to_millimetres(first.length),
        from_on_hand=first.from_on_hand,
        count=sum(pattern.repeat for pattern in patterns),
        patterns=[_pattern(job, pattern) for pattern in patterns],
    )
    if first.width is not None:
        out["width_mm"] = to_millimetres(first.width)
    return out


def _pattern(job: Job, pattern: CutPattern) -> PatternOut:
    if pattern.width is None:
        stick = pattern.strips[0]
        offcuts = [Offcut(length_mm=to_millimetres(stick.offcut), count=1)] if stick.offcut else []
        return PatternOut(
            repeat=pattern.repeat, cuts=_cuts(job, stick), crosscuts=stick.crosscuts, offcuts=offcuts
        )  # fmt: skip
    strips = [_strip(job, strip) for strip in pattern.strips]
    return PatternOut(repeat=pattern.repeat, strips=strips, offcuts=_sheet_offcuts(pattern, job.limits.kerf))


def _sheet_offcuts(pattern: CutPattern, kerf: int) -> list[Offcut]:
    """List what is left of a sheet: the end of each strip, and what was never ripped."""
    counts: dict[tuple[int, int], int] = {}
    for strip in pattern.strips:
        if strip.offcut:
            key = (strip.offcut, strip.height or 0)
            counts[key] = counts.get(key, 0) + 1
    rest = unripped(pattern, kerf)
    if rest:
        counts[pattern.length, rest] = counts.get((pattern.length, rest), 0) + 1
    return [
        Offcut(length_mm=to_millimetres(length), height_mm=to_millimetres(height), count=count)
        for (length, height), count in counts.items()
    ]


def unripped(pattern: CutPattern, kerf: int) -> int:
    """Give the width of a sheet that is left after its strips and the rips between them [nm]."""
    return max(0, (pattern.width or 0) - sum((strip.height or 0) + kerf for strip in pattern.strips))


def _strip(job: Job, strip: Strip) -> StripOut:
    height = strip.height or 0
    return StripOut(
        height_mm=to_millimetres(height),
        height_text=job.text(height),
        cuts=_cuts(job, strip),
        crosscuts=strip.crosscuts,
        offcut_mm=to_millimetres(strip.offcut),
    )


def _cuts(job: Job, strip: Strip) -> list[CutOut]:
    """List equal cuts of a strip; pieces come in the order of the cuts."""
    cuts, at = [], 0
    for length, count in strip.cuts:
        pieces = [piece for named in strip.pieces for piece in named[at : at + count]]
        cuts.append(
            CutOut(length_mm=to_millimetres(length), length_text=job.text(length), count=count, pieces=pieces)
        )
        at += count
    return cuts
