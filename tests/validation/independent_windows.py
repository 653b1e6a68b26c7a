"""What each screw passes through and which length holds, written from the trade's rules alone.

A screw must reach from its head through every layer to the inside of the near wall with three threads and its drill
point beyond, and stay a quarter inch off the far wall. Drill points: SAE J78, read in a secondary reprint; 16
threads an inch for No.10 and 14 for No.12: ASME B18.6.4. The layers: common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import Any, Final

from tests.validation.independent_count import Joints, elevations
from tests.validation.independent_job import INCH, STUD, Document, Job, Length, Run, mm

F = Fraction
Layer = tuple[str, Length]
POINT: Final = {10: F(300, 1000) * INCH, 12: F(353, 1000) * INCH}
THREADS_AN_INCH: Final = {10: 16, 12: 14}
TABLE_LENGTH: Final = {"top_channel": F(3, 4) * INCH, "upright_above_panel": F(3, 4) * INCH}
"""Every other place takes 1-1/2 in"""


@dataclass(frozen=True, slots=True)
class Window:
    """The lengths that hold."""

    grip: Length
    shortest: Length
    longest: Length | None


def near_wall(job: Job, run: Run, support: int, z: Length) -> tuple[list[Layer], Length]:
    """What stands behind the wall at a height, and how much room is inside it."""
    if run.supports[support].stud:
        return [("jamb", F(0))], STUD
    post, bow = job.structure.get("post", {}), job.structure.get("bow", {})
    post_wall, post_width = mm(post.get("wall_thickness", "0.095 in")), job.post_width
    bow_wall, bow_width = mm(bow.get("wall_thickness", "0.065 in")), mm(bow.get("width", "1.66 in"))
    inside_bow = bow_width - 2 * bow_wall
    if z <= job.post_top:
        if z > job.post_top - mm(bow.get("nest_depth", 0)):
            return [("post", post_wall), ("bow", bow_wall)], inside_bow
        return [("post", post_wall)], post_width - 2 * post_wall
    layers = [("stand_off", (post_width - bow_width) / 2)] if bow_width < post_width else []
    rise = min(z, elevations(job, run)["channel_top_mm"]) - job.post_top
    if bow.get("profile") == "curved" and rise > 0:
        # the wall stands straight; an upright above it is taken to follow the bow
        layers.append(("set_back", _set_back(mm(bow["radius"]), rise)))
    return [*layers, ("bow", bow_wall)], inside_bow


def _set_back(radius: Length, above: Length) -> Length:
    """R - sqrt(R^2 - z^2), to a nanometre."""
    square = (radius * radius - above * above) * 10**12
    return radius - F(isqrt(int(square)), 10**6)


def outer_layers(job: Job, run: Run, joints: Joints, row: tuple[str, int]) -> list[list[Layer]]:
    """The layers outside the near wall that a row's screw at a support may have."""
    role, support = row
    sheet, filler = ("panel", job.thickness), ("gap", job.thickness)
    film = ("film_channel", mm(job.part("film_channel")["metal"]))
    leg = ("joint_profile", mm(job.profile["leg"]))
    if role.startswith("board"):
        boards = [("baseboard", mm(job.board["metal"]))] * (2 if support in joints.boards else 1)
        full = job.wall.get("joint_profile_extent") == "full_height"
        behind = ([leg, filler, leg] if full else [filler]) if support in joints.panels else [sheet]
        return [[*boards, *behind]]
    if role == "jamb_cap":
        cap = ("end_cap", mm(job.part("end_cap", thickness=job.thickness)["leg"]))
        return [[cap, sheet, cap]]
    if role == "batten" and run.ends[0 if support == 0 else 1] == "end_rigid":
        # the end wall's sheet stands on the post's front face, held by the cap's other leg
        return [[("corner_cap", mm(job.part("corner_cap")["metal"])), sheet]]
    if role == "top_channel":
        return _channel_layers(job, run, joints, support)
    return [
        {
            "locating": [sheet],
            "field": [sheet],
            "joint_profile": _profile_layers(job, leg, filler),
            "batten": [film, sheet],
            "upright_over_panel": [film, sheet],
            "upright_above_panel": [film, ("packing", job.thickness)],
        }[role]
    ]


def _profile_layers(job: Job, leg: Layer, filler: Layer) -> list[Layer]:
    """Give both legs of a one-piece profile; of a two-piece one the base alone is screwed, and its cap clamps."""
    return [leg] if job.profile.get("pieces") == "two_piece" else [leg, filler, leg]


def _channel_layers(job: Job, run: Run, joints: Joints, support: int) -> list[list[Layer]]:
    """Give two screws in a joint's plate and one through it; at an end one in the post and one in the plate."""
    channel, plate = (
        ("top_channel", mm(job.channel["metal"])),
        ("splice_plate", mm(job.part("splice_plate")["metal"])),
    )
    if support in run.uprights:
        return [[plate], [channel, plate, ("", F(0))]]
    if support in joints.channels:
        return [[channel, plate, ("", F(0))], [channel, plate]]
    if {0: run.ends[0], run.last: run.ends[1]}.get(support, "jamb") != "jamb":
        return [[plate], [channel, plate, ("", F(0))]]
    return [[channel]]


def layers_allowed(
    job: Job, run: Run, joints: Joints, row: Document, support: int
) -> tuple[list[list[Layer]], Length]:
    """What a screw of a row may pass through at a support, and the room inside its near wall."""
    wall, inside = near_wall(job, run, support, mm(row["z_mm"]))
    outer = outer_layers(job, run, joints, (row["role"], support))
    # an empty last layer marks a screw that ends in the splice plate
    return [layers[:-1] if layers[-1][0] == "" else [*layers, *wall] for layers in outer], inside


def screw_window(layers: Iterable[Layer], inside: Length, screw: Document, washer: Length) -> Window:
    """The lengths that hold through some layers."""
    layers, number = list(layers), screw["number"]
    grip = sum((thickness for _, thickness in layers), F(0))
    shortest = grip + washer + 3 * INCH / THREADS_AN_INCH[number] + POINT[number]
    blind = layers[-1][0] == "splice_plate"
    return Window(grip, shortest, None if blind else grip + inside - INCH / 4)


def screw_taken(job: Job, role: str, screw: Document, window: Window) -> Length | None:
    """The table's length where it holds, else the shortest of the catalog that does."""

    def holds(length: Length) -> bool:
        return window.shortest <= length and (window.longest is None or length <= window.longest)

    table = TABLE_LENGTH.get(role, F(3, 2) * INCH)
    same: list[Any] = [
        mm(part["length"])
        for part in job.parts("screw")
        if all(part[key] == screw[key] for key in ("number", "head", "drive", "point"))
    ]
    return table if holds(table) and table in same else min(filter(holds, same), default=None)
