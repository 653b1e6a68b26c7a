"""Sections of the fastenings: what a screw passes from outside to inside.

Rules of this file
------------------
- One drawing a kind: rows of the schedule with the same screw, washer and layers share it.
- To scale along the screw, twice as large as life where the paper allows; across it everything is a symbol.
- Layers carry numbers, since the thin ones leave no room for words.
"""

from collections.abc import Iterator, Sequence
from typing import Final

from service.paper.dimensions import Length, span
from service.paper.drawing import PITCH, SMALL, Drawing, Sheet, View
from service.paper.inks import Ink
from service.paper.placing import spread
from service.paper.reading import description, fine, message, screw_length, screws
from service.paper.words import Words
from service.paper.writing import MARGIN, heading, letter, write_lines
from service.planner.answer.shapes import FastenerRowOut, Plan

_WORDS: Final = 48.0
"""Paper for the words beside the longest length [mm]"""
_TALL: Final = 22.0
"""Height of the layers on paper [mm]"""
_WASHER: Final = 2.5
"""Thickness of a washer [mm]"""
_FILLS: Final[dict[str, Ink]] = {
    "panel": "panel", "gap": "paper", "post": "post", "bow": "post", "jamb": "wood", "baseboard": "board",
    "stand_off": "paper", "set_back": "paper",
}  # fmt: skip
"""Fills of layers; others are metal"""


def sections(plan: Plan, words: Words, width: float) -> Iterator[Drawing]:
    """Draw a section of each kind of fastening.

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
        One a kind, in the order of the schedule.
    """
    kinds: dict[tuple[object, ...], list[FastenerRowOut]] = {}
    for row in screws(plan):
        layers = tuple((layer["part"], layer["thickness_mm"]) for layer in row["layers"])
        key = (row["role"], row["sku"], row.get("washer_sku"), layers, row.get("clearance_mm"))
        kinds.setdefault(key, []).append(row)
    for index, rows in enumerate(kinds.values()):
        yield _draw(plan, words, rows, letter(index), width)


def _draw(plan: Plan, words: Words, rows: Sequence[FastenerRowOut], name: str, width: float) -> Drawing:
    """Draw one section."""
    row = rows[0]
    layers = [
        f"{number} {words.role('part', layer['part'])} {fine(plan, layer['thickness_mm'])}"
        for number, layer in enumerate(row["layers"], 1)
    ]
    room = width - 2 * MARGIN - 14 - _WORDS
    scale = next((scale for scale in (0.5, 1.0, 2.0) if row["longest_screw_mm"] / scale <= room), 5.0)
    sheet = Sheet(
        id=f"section-{name}",
        kind="section",
        width=width,
        scale=scale,
        language=words.language,
        title=words("section", name=name, role=words.role("fix", row["role"])),
        description=words("section_told", layers="; ".join(layers)),
    )
    top = heading(sheet, [words("outside")]) + 5
    left = MARGIN + 14 + (_WASHER if "washer_sku" in row else 0) / scale
    view = View(scale=scale, left=left, base=top + _TALL / 2)
    end = _draw_layers(sheet, view, row, top)
    _draw_screw(sheet, view, row, end)
    y = top + _TALL + 5
    head = view.x(-_WASHER if "washer_sku" in row else 0)
    lengths = (
        ("grip", view.x(0), row["grip_mm"]),
        ("shortest", head, row["shortest_screw_mm"]),
        ("longest", head, row["longest_screw_mm"]),
    )
    for what, start, length in lengths:
        y = _measure(sheet, (start, start + length / view.scale), y, words(what, size=fine(plan, length)))
    return sheet.finish(write_lines(sheet, _lines(plan, words, rows, layers), y + 1) + MARGIN)


def _draw_layers(sheet: Sheet, view: View, row: FastenerRowOut, top: float) -> float:
    """Draw the layers with their numbers, and give where the last one ends [mm of wall]."""
    at, middles = 0.0, []
    group = sheet.group("layers")
    for layer in row["layers"]:
        thick = layer["thickness_mm"]
        line = "hidden" if layer["part"] in {"gap", "stand_off", "set_back"} else "outline"
        box = (view.x(at), top, max(thick, 0.3) / view.scale, _TALL)
        sheet.rect(box, _FILLS.get(layer["part"], "metal"), line, group)  # type: ignore[arg-type]  # one of two kinds of line
        middles.append(view.x(at + thick / 2))
        at += thick
    for number, (middle, place) in enumerate(zip(middles, spread(middles, 4), strict=True), 1):
        sheet.line([(middle, top), (middle, top - 1), (place, top - 2.5)], "dimension", group)
        sheet.text((place, top - 3), str(number), anchor="middle", bold=True, into=group)
    return at


def _draw_screw(sheet: Sheet, view: View, row: FastenerRowOut, end: float) -> None:
    """Draw head, washer and shank; the shank ends at the screw's length, or where the shortest that holds would."""
    group = sheet.group("screw")
    washer = _WASHER if "washer_sku" in row else 0.0
    length = screw_length(row) or row["shortest_screw_mm"]
    y, half = view.base, 2.4 / view.scale
    sheet.shape(
        [
            (view.x(-washer), y - half),
            (view.x(-washer - 3), y - half * 0.7),
            (view.x(-washer - 3), y + half * 0.7),
            (view.x(-washer), y + half),
        ],
        "metal",
        "outline",
        group,
    )
    if washer:
        sheet.rect(
            (view.x(-washer), y - 8 / view.scale * 0.5, washer / view.scale, 8 / view.scale),
            "board",
            "outline",
            group,
        )
    tip, thin = view.x(length - washer), 1.2 / view.scale * 1.6
    body = [
        (view.x(-washer if not washer else 0), y - thin),
        (tip - 5, y - thin),
        (tip, y),
        (tip - 5, y + thin),
        (view.x(-washer if not washer else 0), y + thin),
    ]
    sheet.shape(body, "metal", "narrow", group)
    sheet.line([(view.x(-washer - 6), y), (max(tip, view.x(end)) + 5, y)], "centre", group)


def _measure(sheet: Sheet, ends: tuple[float, float], y: float, text: str) -> float:
    """Draw a length along the screw with its words beside it, and give where it ends [mm]."""
    span(sheet, Length(start=ends[0], end=ends[1], words=text), y)
    sheet.text((ends[1] + 3, y + SMALL * 0.36), text)
    return y + PITCH + 0.6


def _lines(plan: Plan, words: Words, rows: Sequence[FastenerRowOut], layers: Sequence[str]) -> list[str]:
    """Write what the section cannot show."""
    row = rows[0]
    lines = ["; ".join(layers), words("screw", sku=row["sku"], item=description(plan, row["sku"]))]
    if "washer_sku" in row:
        lines.append(words("washer", sku=row["washer_sku"], item=description(plan, row["washer_sku"])))
    lines.append(words("drive", drive=message(row["drive"])))
    if "pilot_mm" in row:
        lines.append(words("pilot", size=fine(plan, row["pilot_mm"])))
    if "clearance_mm" in row:
        parts = ", ".join(words.role("part", part) for part in row.get("clearance_in", []))
        lines.append(words("clearance", size=fine(plan, row["clearance_mm"]), layers=parts))
    places = "; ".join(f"{held['run']} {places_text(held['labels'])} ({held['z_text']})" for held in rows)
    return [*lines, words("count", count=sum(held["count"] for held in rows), places=places)]


def places_text(labels: Sequence[str]) -> str:
    """Write labels shortly: P2-P5 for four that follow each other."""
    groups: list[list[str]] = []
    for label in labels:
        if groups and _follows(groups[-1][-1], label):
            groups[-1].append(label)
        else:
            groups.append([label])
    return ", ".join(group[0] if len(group) == 1 else f"{group[0]}-{group[-1]}" for group in groups)


def _follows(before: str, after: str) -> bool:
    """Tell whether a label comes right after another."""
    return before[:1] == after[:1] and before[1:].isdecimal() and after[1:] == str(int(before[1:]) + 1)
