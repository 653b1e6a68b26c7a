"""The whole tunnel for the shopper: both sides and the ends, simple and friendly.

Rules of this file
------------------
- Every part of the plan is there once, under its id, so that a page can light it up; there are few words and no figures of
  the workshop.
- Along a side everything is to scale. Heights are drawn larger on long sides, by a factor that the drawing tells.
- Colours are the page's where it sets them: the drawing is themed.
"""

from dataclasses import dataclass
from typing import Final

from service.paper.drawing import LARGE, SMALL, Drawing, Sheet
from service.paper.inks import Ink, Line
from service.paper.lettering import text_width
from service.paper.placing import Lanes
from service.paper.reading import Measures, measures, part_width, parts, runs
from service.paper.site_words import what_is_built
from service.paper.tunnel_ends import draw_ends
from service.paper.words import Words
from service.planner.answer.layout_shapes import OpeningOut, RunOut
from service.planner.answer.shapes import Plan

MARGIN: Final = 6.0
"""Free paper around [mm]"""
_TALLEST: Final = 44.0
"""Height of a side up to the hip at most [mm of paper]"""
_LOWEST: Final = 26.0
"""Height of a side up to the hip at least [mm of paper]"""
_ROOF: Final = 9.0
"""What is shown of the roof, a symbol [mm of paper]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """One side on its way to paper."""

    sheet: Sheet
    runs: list[RunOut]
    openings: list[OpeningOut]
    length: float
    """From the side's first post to its last [mm]"""
    scale: float
    """Along the wall [-]"""
    tall: float
    """Hip rail on paper above grade [mm]"""
    grade: float
    """Where grade falls [mm of paper]"""
    mirrored: bool

    @property
    def hip(self) -> float:
        """The height of the hip rail, or what stands for it [mm]."""
        return _hip(self.runs[0])

    def x(self, station: float) -> float:
        """Map a position from the side's first post."""
        along = station / self.scale
        return self.sheet.width - MARGIN - along if self.mirrored else MARGIN + along

    def y(self, height: float) -> float:
        """Map a height above grade."""
        return self.grade - height * self.tall / self.hip

    def box(self, start: float, end: float, foot: float, top: float) -> tuple[float, float, float, float]:
        """Map a stretch between two heights."""
        left = min(self.x(start), self.x(end))
        return left, self.y(top), (end - start) / self.scale, self.y(foot) - self.y(top)


def tunnel(plan: Plan, words: Words, width: float, *, themed: bool = True) -> Drawing:
    """Draw the tunnel.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the reader's language.
    width
        Of the drawing [mm].
    themed
        Whether colours are the embedding page's; pictures have none.
    """
    sides = {side: [run for run in runs(plan) if run["side"] == side] for side in ("left", "right")}
    enlarged = max(_enlarged(held, width) for held in sides.values() if held)
    told = words("tunnel_told", summary=what_is_built(plan, words))
    sheet = Sheet(
        id="tunnel",
        kind="tunnel",
        width=width,
        title=words("tunnel"),
        description=told,
        language=words.language,
        themed=themed,
    )
    y = MARGIN
    for name, held in sides.items():
        if held:
            openings = [opening for opening in plan["layout"]["openings"] if opening["side"] == name]
            y = _draw_side(_side(sheet, held, openings, y), words, measures(plan))
    y = draw_ends(sheet, next(held for held in sides.values() if held), words, y)
    if enlarged > 1.05:
        sheet.text((MARGIN, y + 2), words("enlarged", times=f"{enlarged:.1f}"), ink="faint")
        y += 5
    return sheet.finish(y)


def _hip(run: RunOut) -> float:
    return max(run["elevations"]["hip_rail_mm"], run["elevations"]["channel_top_mm"] + 150)


def _length(held: list[RunOut]) -> float:
    return held[-1]["supports"][-1]["station_mm"]


def _tall(held: list[RunOut], width: float) -> float:
    """Choose how tall a side is drawn [mm of paper]."""
    to_scale = _hip(held[0]) * (width - 2 * MARGIN) / _length(held)
    return min(max(to_scale, _LOWEST), _TALLEST)


def _enlarged(held: list[RunOut], width: float) -> float:
    """Tell how many times larger heights are drawn than lengths [-]."""
    return (
        _tall(held, width)
        / _hip(held[0])
        * max(_length(held) / (width - 2 * MARGIN), _hip(held[0]) / _TALLEST)
    )


def _side(sheet: Sheet, held: list[RunOut], openings: list[OpeningOut], y: float) -> _Side:
    tall, length = _tall(held, sheet.width), _length(held)
    scale = max(length / (sheet.width - 2 * MARGIN), _hip(held[0]) / _TALLEST)
    grade = y + LARGE + 4 + _ROOF + tall
    return _Side(
        sheet=sheet,
        runs=held,
        openings=openings,
        length=length,
        scale=scale,
        tall=tall,
        grade=grade,
        mirrored=held[0]["side"] == "left",
    )


def _draw_side(side: _Side, words: Words, text: Measures) -> float:
    """Draw a side and give where it ends [mm of paper]."""
    sheet, name = side.sheet, side.runs[0]["side"]
    top = side.y(side.hip)
    sheet.text((MARGIN, top - _ROOF - 3), words(f"{name}_side"), size=LARGE, bold=True)
    _frame(side)
    for run in side.runs:
        _draw_run(side, run, words)
    left, right = sorted((side.x(0), side.x(side.length)))
    sheet.line([(left - 3, side.grade), (right + 3, side.grade)], "ground")
    return _captions(side, words, text)


def _frame(side: _Side) -> None:
    """Draw film, roof and bows behind the wall."""
    sheet = side.sheet
    group = sheet.group("frame")
    box = side.box(0, side.length, 0, side.hip)
    sheet.rect(box, "metal", None, group)
    left, top, width, _ = box
    slope = min(_ROOF * 0.6, width / 6)
    roof = [
        (left, top),
        (left + slope, top - _ROOF),
        (left + width - slope, top - _ROOF),
        (left + width, top),
    ]
    sheet.shape(roof, "metal", "narrow", group)
    for run in side.runs:
        for support in run["supports"]:
            x = side.x(support["station_mm"])
            high = side.hip if support["kind"] != "jamb" else min(side.hip, 2000.0)
            sheet.line([(x, side.grade), (x, side.y(high))], "narrow", group, "faint")
    for opening in side.openings:
        start = opening["clear_from_mm"]
        box = side.box(start, start + opening["clear_width_mm"], 0, min(side.hip * 0.92, 2000.0))
        sheet.rect(box, "paper", "narrow", group)
    sheet.line([(left, top), (left + width, top)], "outline", group)


def _draw_run(side: _Side, run: RunOut, words: Words) -> None:
    """Draw the parts of a run."""
    at = run["supports"][0]["station_mm"]
    heights = run["elevations"]
    courses: tuple[tuple[str, str, float, float, Ink], ...] = (
        ("panel", "panels", heights["panel_foot_mm"], heights["panel_top_mm"], "panel"),
        ("board", "baseboards", heights["board_underside_mm"], heights["board_top_mm"], "board"),
        ("channel", "top_channels", heights["channel_underside_mm"], heights["channel_top_mm"], "paper"),
    )
    line: Line = "narrow"
    for kind, field, foot, top, fill in courses:
        for piece in run[field]:  # type: ignore[literal-required]  # the table names its fields
            label = words(kind, id=piece["id"], length=piece["length_text"])
            group = side.sheet.group(kind, part=piece["id"], label=label)
            side.sheet.rect(
                side.box(at + piece["x_start_mm"], at + piece["x_end_mm"], max(foot, -60.0), top),
                fill,
                line,
                group,
            )
    _draw_uprights(side, run, words, at)


def _draw_uprights(side: _Side, run: RunOut, words: Words, at: float) -> None:
    """Draw what stands on the panels, the plates behind the channel and the hooks."""
    places = {support["index"]: support["x_mm"] for support in run["supports"]}
    for part in parts(run):
        half = max(part_width(part) / 2, 0.35 * side.scale)
        label = words(part["role"], id=part["id"], length=part["length_text"])
        group = side.sheet.group(part["role"], part=part["id"], label=label)
        ends = part["bottom_mm"], min(part["bottom_mm"] + part["length_mm"], side.hip)
        x = at + part["x_mm"]
        side.sheet.rect(side.box(x - half, x + half, *ends), "line", None, group)
    for plate in run["splice_plates"]:
        group = side.sheet.group("plate", part=plate["id"], label=words("plate", id=plate["id"]))
        x = side.x(at + places[plate["support"]])
        top = side.y(run["elevations"]["channel_top_mm"])
        side.sheet.line([(x, top), (x, side.y(run["elevations"]["channel_underside_mm"]))], "narrow", group)
    for hook in run["rope_hooks"]:
        label = words("hook", id=hook["id"], x=hook["x_text"])
        group = side.sheet.group("hook", part=hook["id"], label=label)
        centre = (side.x(at + hook["x_mm"]), side.y(hook["z_mm"]))
        side.sheet.circle(centre, min(0.55, 60 / side.scale), "text", None, group)


def _captions(side: _Side, words: Words, text: Measures) -> float:
    """Write under a side where its ends and openings are, and give where that ends [mm of paper]."""
    captions = [(side.x(0), words("end", end=words("front"), what=words(side.runs[0]["front_end"])))]
    captions += [
        (
            side.x(opening["clear_from_mm"] + opening["clear_width_mm"] / 2),
            words("opening", width=opening["clear_width_text"]),
        )
        for opening in side.openings
    ]
    captions.append(
        (side.x(side.length), words("end", end=words("back"), what=words(side.runs[-1]["back_end"])))
    )
    captions.append(((side.x(0) + side.x(side.length)) / 2, text(side.length)))
    lanes = Lanes(MARGIN, side.sheet.width - MARGIN)
    group = side.sheet.group("captions")
    for x, caption in captions:
        lane, middle = lanes.place(x, text_width(caption, SMALL))
        side.sheet.text((middle, side.grade + 4.5 + 3.6 * lane), caption, anchor="middle", into=group)
    return side.grade + 4.5 + 3.6 * len(lanes) + 3
