"""What a screw passes: the layers outside a support, and the support itself at a height.

Rules of this file
------------------
- Outside to inside: what lies on the support, then what stands between, then the support's near wall.
- Up to the post's top the support is the post, with the bow's wall where the bow sits inside it; above, it is the
  bow, with its stand-off and a curved bow's set-back in front. A bow inside its post bears on the near wall.
- Above the top channel an upright follows the bow, so that the set-back grows no further.
- A jamb stud is solid timber: it has no near wall, so its layer has no thickness.
- No screw is chosen here.
"""

import math
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from service.planner.layout import Heights, Layer
from service.planner.settle import Job
from service.planner.stock_sections import Section
from service.planner.units import INCH

METALS: Final = frozenset(
    {"baseboard", "top_channel", "splice_plate", "film_channel", "corner_cap", "post", "bow"}
)
"""Layers that a drill point has to drill as metal."""
ROOM: Final = frozenset({"gap", "stand_off", "set_back"})
"""Layers that are only room: nothing there is joined."""
FAR_WALL: Final = INCH // 4
"""What a screw's point keeps from the far wall [nm]"""


class Backing(NamedTuple):
    """A support at one height, as a screw meets it."""

    layers: tuple[Layer, ...]
    """Stand-off and set-back, then the near wall"""
    room: int
    """How far a point may reach beyond the near wall [nm]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Skins:
    """The layers that lie on supports, as thick as the job's items, and the supports' walls behind them."""

    board: Layer
    """One thickness of baseboard"""
    panel: Layer
    """The multiwall sheet"""
    gap: Layer
    """The gap between two panels at a joint"""
    profile: Layer
    """One leg of the joint profile"""
    channel: Layer
    """The top channel's flange"""
    plate: Layer
    """The splice plate"""
    film_channel: Layer
    """Base of the film channel"""
    corner_cap: Layer
    """The corner cap"""
    end_cap: Layer
    """One leg of the end cap"""
    end_wall_sheet: Layer
    """The rigid end wall's sheet, taken as thick as the panel"""
    packing: Layer
    """Packing strip of sheet offcut"""
    post: Layer
    """The post's near wall"""
    bow: Layer
    """The bow's near wall"""


def skins(job: Job) -> Skins:
    """Name the layers that lie on supports.

    Parameters
    ----------
    job
        The settled question.
    """
    sheet = job.spec.wall.panel_thickness
    return Skins(
        board=Layer(part="baseboard", thickness=job.board.part.metal),
        panel=Layer(part="panel", thickness=sheet),
        gap=Layer(part="gap", thickness=sheet),
        profile=Layer(part="joint_profile", thickness=job.profile.part.leg),
        channel=Layer(part="top_channel", thickness=job.channel.part.metal),
        plate=Layer(part="splice_plate", thickness=job.plate.part.metal),
        film_channel=Layer(part="film_channel", thickness=job.film_channel.part.metal),
        corner_cap=Layer(part="corner_cap", thickness=_size(job.corner_cap, "metal")),
        end_cap=Layer(part="end_cap", thickness=_size(job.end_cap, "leg")),
        end_wall_sheet=Layer(part="end_wall_sheet", thickness=sheet),
        packing=Layer(part="packing", thickness=sheet),
        post=Layer(part="post", thickness=job.spec.structure.post.wall_thickness),
        bow=Layer(part="bow", thickness=job.spec.structure.bow.wall_thickness),
    )


def _size(section: Section[Any] | None, name: str) -> int:
    """Read a size of a section; where the catalog has none, settling has made sure that it is not used [nm]."""
    return getattr(section.part, name) if section else 0


def backing(job: Job, surfaces: Skins, heights: Heights, z: int) -> Backing:
    """Tell what a screw meets behind the wall's layers on a post or its bow.

    Parameters
    ----------
    job
        The settled question.
    surfaces
        The job's layers.
    heights
        Heights of the run.
    z
        Height of the screw [nm].
    """
    post, bow = job.spec.structure.post, job.spec.structure.bow
    if z <= heights.post_top - bow.nest_depth:
        return Backing((surfaces.post,), post.width - 2 * post.wall_thickness - FAR_WALL)
    inside_bow = bow.width - 2 * bow.wall_thickness - FAR_WALL
    if z > heights.post_top:
        away = (
            Layer("stand_off", (post.width - bow.width) // 2),
            Layer("set_back", _set_back(job, min(z, heights.channel_top) - heights.post_top)),
        )
        return Backing((*(a for a in away if a.thickness > 0), surfaces.bow), inside_bow)
    return Backing((surfaces.post, surfaces.bow), inside_bow)


def stud(width: int) -> Backing:
    """Tell what a screw meets in a jamb stud, taken as deep as it is wide.

    Parameters
    ----------
    width
        Width of the stud [nm].
    """
    return Backing(layers=(Layer(part="jamb", thickness=0),), room=width - FAR_WALL)


def open_air(job: Job) -> Backing:
    """Tell what a screw meets that joins two metals beside a post: its point stays within the post's depth.

    Parameters
    ----------
    job
        The settled question.
    """
    return Backing(layers=(), room=job.spec.structure.post.width - FAR_WALL)


def _set_back(job: Job, rise: int) -> int:
    """Tell how far a curved bow stands back at a height above its post; beyond its crown, its radius [nm]."""
    bow = job.spec.structure.bow
    if bow.profile == "straight" or bow.radius is None or rise <= 0:
        return 0
    return bow.radius - math.isqrt(max(0, bow.radius**2 - rise**2))
