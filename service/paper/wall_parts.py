"""The parts of a wall, drawn where the plan puts them.

Rules of this file
------------------
- Drawn from the back forward: earth, posts, panels, boards, channel, what stands on the panels, hooks.
- Posts are hidden edges where panel and board cover them.
- A part that a band breaks is drawn to the band's edge; only the fragment with its beginning carries its id.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from service.paper.bands import Band
from service.paper.drawing import SMALL, Sheet, View
from service.paper.inks import Ink
from service.paper.lettering import text_width
from service.paper.reading import part_width, parts
from service.paper.words import Words
from service.planner.answer.layout_shapes import Elevations, OpeningOut, PieceOut, RunOut

ABOVE: Final = 170.0
"""Shown above the top channel [mm of wall]"""
BELOW: Final = 110.0
"""Shown under grade and under the panel's foot [mm of wall]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A band of a run on its sheet."""

    sheet: Sheet
    view: View
    band: Band
    run: RunOut
    words: Words
    openings: Sequence[OpeningOut] = ()
    """Openings of the run's side"""

    @property
    def heights(self) -> Elevations:
        """The heights of the run's lines."""
        return self.run["elevations"]


def lowest(heights: Elevations) -> float:
    """The lowest height that is shown [mm]."""
    return min(0.0, heights["panel_foot_mm"]) - BELOW


def draw_wall(wall: Wall) -> None:
    """Draw everything of a band, from the back forward."""
    _ground(wall)
    _posts(wall)
    heights = wall.heights
    _course(wall, "panel", wall.run["panels"], (heights["panel_foot_mm"], heights["panel_top_mm"]), "panel")
    _course(
        wall,
        "board",
        wall.run["baseboards"],
        (heights["board_underside_mm"], heights["board_top_mm"]),
        "board",
    )
    channel = (heights["channel_underside_mm"], heights["channel_top_mm"])
    _course(wall, "channel", wall.run["top_channels"], channel, "metal")
    _plates(wall, channel)
    _hidden_posts(wall)
    _uprights(wall)
    _hooks(wall)
    _breaks(wall)
    _name_panels(wall)


def _ground(wall: Wall) -> None:
    """Draw the earth and its line."""
    start, end = wall.band.shown
    wall.sheet.rect(wall.view.box(start, end, lowest(wall.heights), 0), "earth", None)


def _posts(wall: Wall) -> None:
    """Draw posts and jambs, with their bows above."""
    heights = wall.heights
    group = wall.sheet.group("posts")
    top = heights["channel_top_mm"] + ABOVE
    for support in wall.run["supports"]:
        half = support["width_mm"] / 2
        shown = wall.band.clip(support["x_mm"] - half, support["x_mm"] + half)
        if shown is None:
            continue
        jamb = support["kind"] == "jamb"
        post_top = top if jamb else min(heights["post_top_mm"], top)
        fill: Ink = "wood" if jamb else "post"
        foot = lowest(heights)
        if post_top < top:
            inset = half * 0.12
            bow = (support["x_mm"] - half + inset, support["x_mm"] + half - inset, post_top, top)
            wall.sheet.rect(wall.view.box(*bow), fill, "narrow", group)
        wall.sheet.rect(wall.view.box(*shown, foot, post_top), fill, "outline", group)


def _hidden_posts(wall: Wall) -> None:
    """Draw the edges of posts and bows that the wall covers, and their centre lines."""
    heights, view = wall.heights, wall.view
    group = wall.sheet.group("hidden")
    foot, top = heights["panel_foot_mm"], heights["channel_top_mm"]
    for support in wall.run["supports"]:
        x, half = support["x_mm"], support["width_mm"] / 2
        if wall.band.clip(x - half, x + half) is None:
            continue
        for edge in (x - half, x + half):
            wall.sheet.line(
                [(view.x(edge), view.y(foot)), (view.x(edge), view.y(top))], "hidden", group, "faint"
            )
        ends = (view.y(lowest(heights)) + 1.5, view.y(top + ABOVE) - 1)
        wall.sheet.line([(view.x(x), ends[0]), (view.x(x), ends[1])], "centre", group, "faint")


def _course(
    wall: Wall, kind: str, pieces: Iterable[PieceOut], heights: tuple[float, float], fill: Ink
) -> None:
    """Draw the pieces of a course."""
    for piece in pieces:
        shown = wall.band.clip(piece["x_start_mm"], piece["x_end_mm"])
        if shown is None:
            continue
        label = wall.words(kind, id=piece["id"], length=piece["length_text"])
        first = wall.band.owns(piece["x_start_mm"])
        group = wall.sheet.group(kind, part=piece["id"], first=first, label=label)
        wall.sheet.rect(wall.view.box(*shown, *heights), fill, "outline", group)


def _plates(wall: Wall, channel: tuple[float, float]) -> None:
    """Draw splice plates, hidden behind the channel."""
    places = {
        support["index"]: (support["x_mm"], support["width_mm"] / 2) for support in wall.run["supports"]
    }
    for plate in wall.run["splice_plates"]:
        x, half = places[plate["support"]]
        shown = wall.band.clip(x - half, x + half)
        if shown is None:
            continue
        label = wall.words("plate", id=plate["id"])
        group = wall.sheet.group("plate", part=plate["id"], first=wall.band.owns(x), label=label)
        wall.sheet.rect(wall.view.box(*shown, *channel), None, "hidden", group)


def _uprights(wall: Wall) -> None:
    """Draw joint profiles, battens, caps and wind-flap uprights."""
    top = wall.heights["channel_top_mm"] + ABOVE
    for part in parts(wall.run):
        half = part_width(part) / 2
        shown = wall.band.clip(part["x_mm"] - half, part["x_mm"] + half)
        if shown is None:
            continue
        label = wall.words(part["role"], id=part["id"], length=part["length_text"])
        first = wall.band.owns(part["x_mm"])
        group = wall.sheet.group(part["role"], part=part["id"], first=first, label=label)
        ends = part["bottom_mm"], min(part["bottom_mm"] + part["length_mm"], top)
        wall.sheet.rect(wall.view.box(*shown, *ends), "metal", "outline", group)


def _hooks(wall: Wall) -> None:
    """Draw rope hooks."""
    for hook in wall.run["rope_hooks"]:
        if wall.band.clip(hook["x_mm"] - 1, hook["x_mm"] + 1) is None:
            continue
        label = wall.words("hook", id=hook["id"], x=hook["x_text"])
        group = wall.sheet.group("hook", part=hook["id"], first=wall.band.owns(hook["x_mm"]), label=label)
        x, y = wall.view.x(hook["x_mm"]), wall.view.y(hook["z_mm"])
        wall.sheet.circle((x, y), 0.9, "paper", "narrow", group)
        wall.sheet.line([(x - 1.6, y), (x + 1.6, y)], "narrow", group)


def _breaks(wall: Wall) -> None:
    """Draw grade over everything, and a broken line where the run goes on, on another sheet or above."""
    heights, view, band = wall.heights, wall.view, wall.band
    start, end = band.shown
    group = wall.sheet.group("breaks")
    wall.sheet.line([(view.x(start), view.y(0)), (view.x(end), view.y(0))], "ground", group)
    top, foot = view.y(heights["channel_top_mm"] + ABOVE), view.y(lowest(heights))
    for place, broken in ((start, band.index > 0), (end, band.index < band.count - 1)):
        if broken:
            wall.sheet.line(_broken(view.x(place), top, foot), "break", group)


def _broken(x: float, top: float, foot: float) -> list[tuple[float, float]]:
    """Draw a break line with its zigzag (ISO 128-2, 01.1.5, from memory)."""
    middle = (top + foot) / 2
    return [
        (x, top - 2),
        (x, middle - 3),
        (x - 1.5, middle - 1),
        (x + 1.5, middle + 1),
        (x, middle + 3),
        (x, foot + 2),
    ]


def _name_panels(wall: Wall) -> None:
    """Write each panel's id and length on it, where there is room between the posts' lines."""
    heights, view = wall.heights, wall.view
    room = (heights["channel_underside_mm"] - heights["board_top_mm"]) / view.scale
    middle = view.y((heights["channel_underside_mm"] + heights["board_top_mm"]) / 2)
    names: Mapping[str, tuple[str, float]] = {
        panel["id"]: (panel["length_text"], place)
        for panel in wall.run["panels"]
        if (place := _bay_middle(wall, panel)) is not None
    }
    group = wall.sheet.group("names")
    for name, (length, place) in names.items():
        if room > 2.4 * SMALL + 1:
            wall.sheet.text((view.x(place), middle - 0.5), name, anchor="middle", bold=True, into=group)
            wall.sheet.text((view.x(place), middle + SMALL + 0.5), length, anchor="middle", into=group)


def _bay_middle(wall: Wall, panel: PieceOut) -> float | None:
    """Find the middle of the widest stretch of a panel that no post crosses and that its name fits [mm of wall]."""
    edges = [(support["x_mm"], support["width_mm"] / 2 + 14) for support in wall.run["supports"]]
    best: tuple[float, float] | None = None
    for (left, left_half), (right, right_half) in pairwise(edges):
        shown = wall.band.clip(
            max(left + left_half, panel["x_start_mm"]), min(right - right_half, panel["x_end_mm"])
        )
        if shown is not None and (best is None or shown[1] - shown[0] > best[1] - best[0] + 1e-6):
            best = shown
    needed = text_width(panel["id"], SMALL, bold=True) * wall.view.scale
    return sum(best) / 2 if best and best[1] - best[0] > needed else None
