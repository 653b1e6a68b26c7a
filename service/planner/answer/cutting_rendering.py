"""Cutting turned into plain values for the wire.

Rules of this file
------------------
- It only turns: every number was decided before.
- A sheet is printed as it is sold; where flutes stand upright its panels are cut along its width.
"""

from collections.abc import Iterable, Sequence

from service.planner.answer.layout_shapes import (
    CutOut,
    CuttingOut,
    MaterialOut,
    Offcut,
    PatternOut,
    StockOut,
    StripOut,
)
from service.planner.asked.settle import Job
from service.planner.fields import money_text
from service.planner.units import to_millimetres
from service.planner.wall.layout import CutPattern, Cutting, Strip
from service.planner.wall.packing import unripped


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
    """The share of the stock opened that ends on the wall [%]."""
    used = opened = 0
    for pattern in cutting.patterns:
        opened += pattern.repeat * pattern.length * (pattern.width or 1)
        used += pattern.repeat * sum(
            [length * count * (strip.height or 1) for strip in pattern.strips for length, count in strip.cuts]
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
        along, across = to_millimetres(first.length), to_millimetres(first.width)
        turned = job.upright_flutes
        out["length_mm"], out["width_mm"] = (across, along) if turned else (along, across)
        out["cut_along"] = "width" if turned else "length"
    return out


def _pattern(job: Job, pattern: CutPattern) -> PatternOut:
    if pattern.width is None:
        stick = pattern.strips[0]
        offcuts = [Offcut(length_mm=to_millimetres(stick.offcut), count=1)] if stick.offcut else []
        return PatternOut(
            repeat=pattern.repeat, cuts=_cuts(job, stick), crosscuts=stick.crosscuts, offcuts=offcuts
        )
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
