"""Details: the wall cut level at a joint, an end, a jamb and a wind-flap upright, seen from above.

Rules of this file
------------------
- What is drawn is what the plan has at that support: panel ends, screw lines and gaps are to scale, at their own places.
- Posts are drawn round and parts that stand on the panel as plain strips: their sections are their makers'.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from service.paper.dimensions import Length as Span
from service.paper.dimensions import Room, chain, running
from service.paper.drawing import Drawing, Sheet, View
from service.paper.reading import measures, part_width, parts, runs, screws
from service.paper.words import Words
from service.paper.writing import MARGIN, heading, letter
from service.planner.answer.layout_shapes import PartOut, RunOut, SupportOut
from service.planner.answer.shapes import Plan

REACH: Final = 75.0
"""Shown to either side of the support's centre [mm of wall]"""
_FLANGE: Final = 1.2
"""Flange of a profile or cap behind the panel, a symbol [mm of wall]"""
_CENTRED: Final = 0.3
"""Off the centre by no more than this is on it [mm]"""
_STRIP: Final = 4.0
"""Thickness of a part that stands on the panel, a symbol [mm of wall]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A support that is drawn in detail."""

    run: RunOut
    support: SupportOut
    what: str
    part: PartOut | None
    """What stands on the panel there"""


def places(plan: Plan) -> Iterator[Place]:
    """Find the first support of each kind of joint and end."""
    seen: set[str] = set()
    for run in runs(plan):
        at = {part["support"]: part for part in parts(run)}
        last = len(run["supports"]) - 1
        found = [(0, f"at_{run['front_end']}"), (last, f"at_{run['back_end']}")]
        found += [(joint["support"], "at_joint") for joint in run["panel_joints"]]
        found += [(part["support"], "at_upright") for part in run["uprights"]]
        for index, what in found:
            if what not in seen:
                seen.add(what)
                yield Place(run=run, support=run["supports"][index], what=what, part=at.get(index))


def details(plan: Plan, words: Words, width: float) -> Iterator[Drawing]:
    """Draw a detail of each kind of place.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the reader's language.
    width
        Of the paper [mm].

    Yields
    ------
    Drawing
        One a kind, ends first.
    """
    for index, place in enumerate(places(plan)):
        yield _draw(plan, words, place, letter(index), width)


def _thickness(plan: Plan) -> float:
    """The thickness of the panels, as the schedule's layers have it [mm]."""
    layers = (layer for row in screws(plan) for layer in row["layers"] if layer["part"] == "panel")
    return next(layer["thickness_mm"] for layer in layers)


def _draw(plan: Plan, words: Words, place: Place, name: str, width: float) -> Drawing:
    """Draw one detail."""
    thick = _thickness(plan)
    scale = 1.0 if width >= 2 * REACH + 2 * MARGIN else 2.0
    sheet = Sheet(
        id=f"detail-{name}",
        kind="detail",
        width=width,
        scale=scale,
        language=words.language,
        title=words(
            "detail", name=name, what=words(place.what), label=place.support["label"], run=place.run["id"]
        ),
        description=words("detail_told", panel=f"{thick:g} mm"),
    )
    radius = place.support["width_mm"] / 2
    mirrored = place.run["side"] == "left"
    base = heading(sheet, [words("scale", scale=int(scale))]) + 5 + (2 * radius + thick) / scale
    view = View(scale=scale, left=width / 2, base=base, origin=place.support["x_mm"], mirrored=mirrored)
    _draw_wall(sheet, view, place, thick)
    return sheet.finish(_dimensions(sheet, view, place, words, plan) + MARGIN)


def _draw_wall(sheet: Sheet, view: View, place: Place, thick: float) -> None:
    """Draw post, panels and what stands on them."""
    x, half = place.support["x_mm"], place.support["width_mm"] / 2
    sheathed = place.part is not None and place.part["role"] in {"joint_profile", "end_cap"}
    near = thick + _FLANGE * sheathed
    if place.support["kind"] == "jamb":
        sheet.rect(
            view.box(x - half, x + half, near, near + 2 * half), "wood", "outline", sheet.group("jamb")
        )
    else:
        centre = (view.x(x), view.y(near + half))
        sheet.circle(centre, half / view.scale, "post", "outline", sheet.group("post"))
    group = sheet.group("panels")
    for panel in place.run["panels"]:
        start, end = max(panel["x_start_mm"], x - REACH), min(panel["x_end_mm"], x + REACH)
        if start < end:
            sheet.rect(view.box(start, end, 0, thick), "panel", "outline", group)
    if place.part is not None:
        _draw_part(sheet, view, place, place.part, thick)
    sheet.line(
        [(view.x(x), view.y(-_STRIP) + 3), (view.x(x), view.y(thick + 2 * half) - 2)], "centre", ink="faint"
    )


def _draw_part(sheet: Sheet, view: View, place: Place, part: PartOut, thick: float) -> None:
    """Draw a batten, cap or upright on the panel, or a joint profile around both ends, and its screw line."""
    group, half, at = sheet.group(part["role"]), part_width(part) / 2, part["x_mm"]
    sheet.rect(view.box(at - half, at + half, -_STRIP, 0), "metal", "outline", group)
    if part["role"] in {"joint_profile", "end_cap"}:
        sheet.rect(view.box(at - half, at + half, thick, thick + _FLANGE), "metal", "narrow", group)
    if part["role"] == "joint_profile":
        sheet.rect(view.box(at - 0.8, at + 0.8, 0, thick), "metal", "narrow", group)
    depth = thick + place.support["width_mm"] * 0.6
    sheet.line([(view.x(at), view.y(-_STRIP) + 2), (view.x(at), view.y(depth))], "centre", group, "mark")


def _dimensions(sheet: Sheet, view: View, place: Place, words: Words, plan: Plan) -> float:
    """Write gap and distances from the support's centre, and give where they end [mm]."""
    text, y = measures(plan), view.base + _STRIP / view.scale + 6
    x, room = place.support["x_mm"], Room(MARGIN, sheet.width - MARGIN)
    ends = sorted(
        {
            end
            for panel in place.run["panels"]
            for end in (panel["x_start_mm"], panel["x_end_mm"])
            if abs(end - x) < REACH
        }
    )
    if len(ends) == 2:
        left, right = sorted((view.x(ends[0]), view.x(ends[1])))
        figures = [
            words("joint_gap", size=text(ends[1] - ends[0])),
            words("side_gap", size=text(plan["layout"]["movement"]["side_gap_mm"])),
        ]
        y += chain(sheet, [Span(start=left, end=right, words="; ".join(figures))], y, room)
    named = [("panel_end", end) for end in ends]
    named += [("screw_line", place.part["x_mm"])] if place.part is not None else []
    for what, at in named:
        off = abs(at - x)
        where = words("off_centre", size=text(off)) if off > _CENTRED else words("on_centre")
        y += running(sheet, [(view.x(at), words(what, place=where))], y, room)
    return y
