"""What sizes of stock serve no wall at all.

Rules of this file
------------------
- A size is refused only when the closest common posts and the lowest common wall cannot use it.
- Each rule says the size that would do, ready to put in its place.
"""

from collections.abc import Iterator
from typing import Final

from service.planner.asked.catalog_view import CatalogView, Complaint, Rule
from service.planner.asked.parts import (
    Baseboard,
    CornerCap,
    EndCap,
    FilmChannel,
    JointProfile,
    Sheet,
    Tape,
    TopChannel,
    Washer,
)
from service.planner.engineering.hardware import screw_diameter
from service.planner.messages import Length, Message, filled, say
from service.planner.rules import FASTENING
from service.planner.units import FOOT, INCH, to_millimetres

LEAST_BAY: Final = 3 * FOOT
"""The closest common spacing of posts; judgement [nm]"""
LEAST_WALL: Final = 12 * INCH
"""The lowest common wall; judgement [nm]"""
_SPANS: Final = say("catalog.spans", "it spans a bay of {bay}")


def _too_small(place: int, field: str, need: int, reason: Message) -> Complaint:
    detail = say("catalog.too_small", "must be {least} at least: {reason}", least=Length(need), reason=reason)
    return Complaint(("items", place, "part", field), detail, to_millimetres(need))


def sheet_serves_a_bay(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a sheet that gives no panel across a bay, its flutes along or upright."""
    webs: dict[int, int] = {}
    for _, profile in view.parts(JointProfile):
        webs[profile.thickness] = max(profile.web, webs.get(profile.thickness, 0))
    for place, sheet in view.parts(Sheet):
        need = LEAST_BAY - webs.get(sheet.thickness, 0) - 2 * view.limits.least_gap
        if max(sheet.length, sheet.width) < need:
            yield _too_small(place, "length", need, filled(_SPANS, {"bay": Length(LEAST_BAY)}))


def sheet_serves_a_wall(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a sheet lower than any wall with the dealer's boards and channels."""
    faces = [board.face for _, board in view.parts(Baseboard)]
    slots = [channel.slot_depth for _, channel in view.parts(TopChannel)]
    need = min(faces, default=0) + view.limits.clear_height + min(slots, default=0)
    for place, sheet in view.parts(Sheet):
        if min(sheet.length, sheet.width) < need:
            field = "width" if sheet.width <= sheet.length else "length"
            yield _too_small(
                place,
                field,
                need,
                say(
                    "catalog.lowest_wall",
                    "the lowest wall has a baseboard, the clear height and a top channel",
                ),
            )


def board_serves_a_bay(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a baseboard that does not span a bay and its lap."""
    for place, board in view.parts(Baseboard):
        if board.length < LEAST_BAY + board.lap:
            yield _too_small(
                place,
                "length",
                LEAST_BAY + board.lap,
                say("catalog.spans_with_lap", "it spans a bay of {bay} with its lap", bay=Length(LEAST_BAY)),
            )


def channel_serves_a_bay(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a top channel that does not span a bay less the gap to the next."""
    need = LEAST_BAY - view.limits.channel_gap
    for place, channel in view.parts(TopChannel):
        if channel.length < need:
            yield _too_small(place, "length", need, filled(_SPANS, {"bay": Length(LEAST_BAY)}))


def _least_clear_height(view: CatalogView) -> int:
    """Return the clear height [nm] of the lowest common wall behind the dealer's highest board."""
    faces = [board.face for _, board in view.parts(Baseboard)]
    slots = [channel.slot_depth for _, channel in view.parts(TopChannel)]
    left = LEAST_WALL - max(faces, default=LEAST_WALL) - max(slots, default=0)
    return max(left, view.limits.clear_height)


def profile_serves_a_wall(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a joint profile or end cap shorter than the clear height of the lowest common wall."""
    need = _least_clear_height(view) - view.limits.profile_clearance
    kinds: tuple[type[JointProfile | EndCap], ...] = (JointProfile, EndCap)
    for kind in kinds:
        for place, part in view.parts(kind):
            if part.length < need:
                yield _too_small(
                    place,
                    "length",
                    need,
                    say(
                        "catalog.clear_height",
                        "it fills the clear height of a wall of {wall}",
                        wall=Length(LEAST_WALL),
                    ),
                )


def batten_serves_a_wall(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a film channel or corner cap too short for the end batten of the lowest common wall."""
    tops = [channel.slot_depth + channel.flange for _, channel in view.parts(TopChannel)]
    need = _least_clear_height(view) + min(tops, default=0)
    kinds: tuple[type[FilmChannel | CornerCap], ...] = (FilmChannel, CornerCap)
    for kind in kinds:
        for place, part in view.parts(kind):
            if part.length < need:
                yield _too_small(
                    place,
                    "length",
                    need,
                    say(
                        "catalog.end_batten",
                        "it gives the end batten of a wall of {wall}",
                        wall=Length(LEAST_WALL),
                    ),
                )


def lines_on_the_face(view: CatalogView) -> Iterator[Complaint]:
    """Refuse screw lines that do not lie on the board's face, the lower below the upper."""
    for place, board in view.parts(Baseboard):
        if board.upper_line >= board.face:
            yield Complaint(
                ("items", place, "part", "upper_line"),
                say("catalog.line_on_face", "must be below the face of {face}", face=Length(board.face)),
            )
        if board.lower_line >= board.upper_line:
            yield Complaint(
                ("items", place, "part", "lower_line"),
                say(
                    "catalog.lines_order",
                    "must be below the upper line at {upper}",
                    upper=Length(board.upper_line),
                ),
            )


def profile_reaches(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a joint profile that does not reach over the least gap and the least bite."""
    need = view.limits.least_gap + view.limits.bite
    for place, profile in view.parts(JointProfile):
        if profile.reach < need:
            yield _too_small(
                place,
                "reach",
                need,
                say("catalog.reach", "it takes the least gap and the least bite of the panel"),
            )


def washer_covers_its_hole(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a washer that leaves open the least hole of the thinnest screw that takes one."""
    rules = {place: (rule.number, rule.washer) for place, rule in FASTENING.items()}
    rules |= {change.place: (change.number, change.washer) for change in view.document.fastening}
    numbers = [number for number, washered in rules.values() if washered]
    if not numbers:
        return
    need = screw_diameter(min(numbers)) + view.limits.hole_oversize + 2 * view.limits.washer_cover
    for place, washer in view.parts(Washer):
        if washer.outer_diameter < need:
            reason = say(
                "catalog.covers_hole",
                "it covers the hole of a No.{number} screw all round",
                number=min(numbers),
            )
            yield _too_small(place, "outer_diameter", need, reason)


def tape_for_every_sheet(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a sheet that no foil tape laps on both faces, and a tape that so laps no sheet."""
    sheets = list(view.first_of_thickness())
    tapes = [(place, tape) for place, tape in view.parts(Tape)]
    foils = [tape.width for _, tape in tapes if tape.role == "foil_tape"]
    lap = 2 * view.limits.tape_lap
    for place, thickness in sheets:
        if foils and max(foils) < thickness + lap:
            detail = say(
                "catalog.no_tape",
                "has no foil_tape: it wants one that is {least} wide at least",
                least=Length(thickness + lap),
            )
            yield Complaint(("items", place, "part", "thickness"), detail)
    need = min((thickness for _, thickness in sheets), default=0) + lap
    for place, tape in tapes:
        if tape.width < need:
            yield _too_small(
                place,
                "width",
                need,
                say("catalog.tape_laps", "it covers the thinnest sheet and laps over each face"),
            )


SIZE_RULES: Final = (
    # rule, then the fields that must be sound before it can be judged
    Rule(sheet_serves_a_bay, "items", "limits"),
    Rule(sheet_serves_a_wall, "items", "limits"),
    Rule(board_serves_a_bay),
    Rule(channel_serves_a_bay, "limits"),
    Rule(profile_serves_a_wall, "items", "limits"),
    Rule(batten_serves_a_wall, "items", "limits"),
    Rule(lines_on_the_face),
    Rule(profile_reaches, "limits"),
    Rule(washer_covers_its_hole, "fastening", "limits"),
    Rule(tape_for_every_sheet, "items", "limits"),
)
"""Sizes that serve no wall"""
