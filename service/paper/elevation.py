"""Elevations: each run as it is seen from outside, to scale, in sheets.

Rules of this file
------------------
- Outside the left side the front end is at the right hand: positions grow to the left there.
- Under the wall stand rows: lengths of panels, boards and channel, then what is marked from the run's zero.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from service.paper.bands import Band, banded, visible
from service.paper.dimensions import Length, Room, chain, levels, running
from service.paper.drawing import PITCH, SMALL, Drawing, Sheet, View
from service.paper.lettering import shortened, text_width
from service.paper.placing import Lanes
from service.paper.reading import Measures, measures, runs
from service.paper.wall_parts import ABOVE, Wall, draw_wall, lowest
from service.paper.words import Words
from service.paper.writing import MARGIN, heading
from service.planner.answer.layout_shapes import PieceOut, RunOut
from service.planner.answer.shapes import Plan

COLUMN: Final = 40.0
"""Paper beside the wall for heights and names of rows [mm]"""
LEAST_SCALE: Final = 30
"""Elevations are 1:30 or smaller unless asked otherwise [-]"""
_ROWS: Final = (("row_panels", "panels"), ("row_boards", "baseboards"), ("row_channels", "top_channels"))
"""Courses whose lengths stand under the wall"""
_LEVELS: Final = ("channel_top", "panel_top", "channel_underside", "board_top", "panel_foot", "post_top")
"""Heights that stand beside the wall"""


def elevations(plan: Plan, words: Words, width: float, least: int = LEAST_SCALE) -> Iterator[Drawing]:
    """Draw the elevation of every run.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the reader's language.
    width
        Of the paper [mm].
    least
        No larger scale than 1:least [-].

    Yields
    ------
    Drawing
        One a band, in the order of runs and from each run's zero.
    """
    text = measures(plan)
    for run in runs(plan):
        scale, bands = banded(run, width - 2 * MARGIN - COLUMN, least)
        for band in bands:
            openings = [each for each in plan["layout"]["openings"] if each["side"] == run["side"]]
            yield _draw(replace(_wall(run, band, scale, width, words), openings=openings), text)


def count_elevations(plan: Plan, width: float, least: int) -> int:
    """Count the sheets that elevations take, without drawing them."""
    room = width - 2 * MARGIN - COLUMN
    return sum(len(banded(run, room, least)[1]) for run in runs(plan))


def _wall(run: RunOut, band: Band, scale: int, width: float, words: Words) -> Wall:
    """Lay a band out on a sheet of its own."""
    title, told, run = _title(run, band, words), _told(run, scale, words), visible(run, band)
    shown = (band.shown[1] - band.shown[0]) / scale
    left = MARGIN + COLUMN
    sheet = Sheet(
        id=f"elevation-{run['id']}-{band.index + 1}",
        kind="elevation",
        width=max(width, left + shown + MARGIN),
        title=title,
        description=told,
        language=words.language,
        scale=scale,
    )
    mirrored = run["side"] == "left"
    view = View(scale=scale, left=left + shown * mirrored, base=0, origin=band.shown[0], mirrored=mirrored)
    top = heading(sheet, [words("scale", scale=scale)]) + 1
    labels = list(_labels(run, band, view))
    for lane, x, label in labels:
        sheet.text((x, top + lane * PITCH + SMALL), label, anchor="middle", bold=True)
    base = (
        top
        + (1 + max(lane for lane, _, _ in labels)) * PITCH
        + (run["elevations"]["channel_top_mm"] + ABOVE) / scale
    )
    view = View(scale=scale, left=view.left, base=base, origin=view.origin, mirrored=mirrored)
    sheet.place(view)
    return Wall(sheet=sheet, view=view, band=band, run=run, words=words)


def _title(run: RunOut, band: Band, words: Words) -> str:
    side = words(f"{run['side']}_side")
    if band.count == 1:
        return words("elevation", side=side, run=run["id"])
    first, last = (run["supports"][index]["label"] for index in (band.first, band.last))
    number = {"sheet": band.index + 1, "sheets": band.count}
    return words("elevation_sheet", side=side, run=run["id"], first=first, last=last, **number)


def _told(run: RunOut, scale: int, words: Words) -> str:
    hand = words("right_hand" if run["side"] == "left" else "left_hand")
    counts = {"panels": len(run["panels"]), "joints": len(run["panel_joints"])}
    return words("elevation_told", scale=scale, zero=run["supports"][0]["label"], zero_hand=hand, **counts)


def _draw(wall: Wall, text: Measures) -> Drawing:
    """Draw a band: title, labels of posts, the wall, heights beside it, rows under it."""
    sheet = wall.sheet
    draw_wall(wall)
    bottom = max(wall.view.y(lowest(wall.heights)) + 4, _write_levels(wall, text) + 2)
    bottom = _draw_rows(wall, text, bottom)
    return sheet.finish(bottom + MARGIN)


def _labels(run: RunOut, band: Band, view: View) -> Iterator[tuple[int, float, str]]:
    """Place the labels of the supports: lane, middle and label."""
    lanes = Lanes(MARGIN + COLUMN - 4, view.left + 10_000)
    for support in run["supports"]:
        if band.clip(support["x_mm"] - 1, support["x_mm"] + 1) is not None:
            width = text_width(support["label"], SMALL, bold=True)
            yield (*lanes.place(view.x(support["x_mm"]), width), support["label"])


def _write_levels(wall: Wall, text: Measures) -> float:
    """Write the heights of the wall's lines beside it, and give where they end [mm]."""
    heights = wall.heights
    named = {name: heights[f"{name}_mm"] for name in _LEVELS}  # type: ignore[literal-required]  # the table names its fields
    shown = {"grade": 0.0} | {name: z for name, z in named.items() if z or name != "panel_foot"}
    places = [
        (wall.view.y(z), f"{wall.words(name)} {text(z)}")
        for name, z in shown.items()
        if lowest(heights) <= z <= heights["channel_top_mm"] + ABOVE
    ]
    return levels(wall.sheet, places, MARGIN + COLUMN, 5, on_left=True)


def _draw_rows(wall: Wall, text: Measures, y: float) -> float:
    """Draw the rows under the wall from a height of the paper and give where they end [mm]."""
    room = Room(MARGIN + COLUMN - 8, wall.sheet.width - MARGIN / 2)

    def name(words: str) -> None:
        wall.sheet.text((MARGIN, y + 0.9), shortened(wall.words(words), SMALL, COLUMN - 10), ink="faint")

    for row, field in _ROWS:
        lengths = list(_lengths(wall, wall.run[field]))  # type: ignore[literal-required]  # the table names its fields
        name(row)
        y += chain(wall.sheet, lengths, y, room)
    openings = list(_openings(wall))
    if openings:
        name("row_openings")
        y += chain(wall.sheet, openings, y, room)
    for row, positions in _marks(wall.run):
        places = [(wall.view.x(x), text(x)) for x in positions if wall.band.clip(x - 1, x + 1)]
        if places:
            name(row)
            y += running(wall.sheet, places, y, room)
    return y


def _lengths(wall: Wall, pieces: Iterable[PieceOut]) -> Iterator[Length]:
    """The pieces of a course that a band shows, as dimensions on paper."""
    for piece in pieces:
        begins, ends = piece["x_start_mm"], piece["x_end_mm"]
        shown = wall.band.clip(begins, ends)
        if shown is None:
            continue
        ends_shown = [(wall.view.x(shown[0]), shown[0] == begins), (wall.view.x(shown[1]), shown[1] == ends)]
        (start, starts), (end, stops) = sorted(ends_shown)
        yield Length(
            start=start, end=end, words=f"{piece['id']}  {piece['length_text']}", starts=starts, stops=stops
        )


def _openings(wall: Wall) -> Iterator[Length]:
    """The openings beside the run's jambs, as far as a band shows them; the figure says the whole width."""
    first = wall.run["supports"][0]
    zero = first["station_mm"] - first["x_mm"]
    for opening in wall.openings:
        near = opening["clear_from_mm"] - zero
        ends = near, near + opening["clear_width_mm"]
        shown = wall.band.clip(*ends)
        if shown is None:
            continue
        words = wall.words("opening", width=opening["clear_width_text"])
        (start, starts), (end, stops) = sorted(
            (wall.view.x(x), abs(x - true) < 1e-6) for x, true in zip(shown, ends, strict=True)
        )
        yield Length(start=start, end=end, words=words, starts=starts, stops=stops)


def _marks(run: RunOut) -> Iterator[tuple[str, list[float]]]:
    """What is marked from the run's zero, by row."""
    yield "row_posts", [support["x_mm"] for support in run["supports"]]
    yield "row_joints", [joint["x_mm"] for joint in run["panel_joints"]]
    yield "row_hooks", [hook["x_mm"] for hook in run["rope_hooks"]]
