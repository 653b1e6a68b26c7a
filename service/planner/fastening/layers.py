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
from collections.abc import Iterable
from typing import Final, NamedTuple

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.engineering.bow import Remedy, remedy
from service.planner.records import record
from service.planner.units import INCH, MILLIMETRE
from service.planner.wall.layout import Heights, Layer

METALS: Final = frozenset({"post", "bow", *[role.name for role in ROLES.values() if role.metal]})
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


@record
class Skins:
    """The layers that lie on supports, as thick as the job's items."""

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
    packing: Layer
    """Packing strip of sheet offcut"""


@record
class Frame:
    """A job's posts with their bows, as a screw meets them at each height."""

    post: Backing
    """On the post"""
    nested: Backing
    """On the post where the bow sits inside it"""
    bow: Backing
    """On a straight bow, above the post"""
    nest_depth: int
    """How far the bow's leg sits inside the post [nm]"""
    radius: int | None
    """Radius of a curved bow [nm]"""
    beside: Backing
    """Beside a post, where two metals are joined: the point stays within the post's depth"""


def skins(job: Job) -> Skins:
    """Name the layers that lie on supports.

    Parameters
    ----------
    job
        The settled question.
    """
    sheet = job.spec.wall.panel_thickness
    return Skins(
        board=_skin(job, "baseboard"),
        panel=Layer(part="panel", thickness=sheet),
        gap=Layer(part="gap", thickness=sheet),
        profile=_skin(job, "joint_profile"),
        channel=_skin(job, "top_channel"),
        plate=_skin(job, "splice_plate"),
        film_channel=_skin(job, "film_channel"),
        corner_cap=_skin(job, "corner_cap"),
        end_cap=_skin(job, "end_cap"),
        packing=Layer(part="packing", thickness=sheet),
    )


def _skin(job: Job, name: str) -> Layer:
    """Return the layer of a role's stock; where the catalog has none, settling has made sure that it is not used."""
    role, section = ROLES[name], job.sections.get(name)
    return Layer(name, getattr(section.part, role.layer) if section and role.layer else 0)


def frame(job: Job) -> Frame:
    """Tell what stands behind the wall's layers at posts and bows.

    Parameters
    ----------
    job
        The settled question.
    """
    post, bow = job.spec.structure.post, job.spec.structure.bow
    post_wall, bow_wall = Layer("post", post.wall_thickness), Layer("bow", bow.wall_thickness)
    inside_bow = bow.width - 2 * bow.wall_thickness - FAR_WALL
    away = (post.width - bow.width) // 2
    stand_off = (Layer("stand_off", away),) if away > 0 else ()
    return Frame(
        post=Backing((post_wall,), post.width - 2 * post.wall_thickness - FAR_WALL),
        nested=Backing((post_wall, bow_wall), inside_bow),
        bow=Backing((*stand_off, bow_wall), inside_bow),
        nest_depth=bow.nest_depth,
        radius=bow.radius if bow.profile == "curved" else None,
        beside=Backing((), post.width - FAR_WALL),
    )


def backing(behind: Frame, heights: Heights, z: int) -> Backing:
    """Tell what a screw meets behind the wall's layers on a post or its bow.

    Parameters
    ----------
    behind
        The job's posts and bows.
    heights
        Heights of the run.
    z
        Height of the screw [nm].
    """
    if z <= heights.post_top - behind.nest_depth:
        return behind.post
    if z <= heights.post_top:
        return behind.nested
    away = _set_back(behind.radius, min(z, heights.channel_top) - heights.post_top)
    if not away:
        return behind.bow
    *stand_off, wall = behind.bow.layers
    return Backing((*stand_off, Layer("set_back", away), wall), behind.bow.room)


def packed_out(layers: Iterable[Layer]) -> tuple[Remedy, int]:
    """Tell what fills the room between wall and bow, and how wide it is: stand-off and set-back are one distance.

    Parameters
    ----------
    layers
        What a screw passes.

    Returns
    -------
        What serves, and the distance [nm].
    """
    away = sum([layer.thickness for layer in layers if layer.part in ("stand_off", "set_back")])
    return remedy(away / MILLIMETRE), away


def stud(width: int) -> Backing:
    """Tell what a screw meets in a jamb stud, taken as deep as it is wide.

    Parameters
    ----------
    width
        Width of the stud [nm].
    """
    return Backing(layers=(Layer(part="jamb", thickness=0),), room=width - FAR_WALL)


def _set_back(radius: int | None, rise: int) -> int:
    """Tell how far a curved bow stands back at a height above its post; beyond its crown, its radius [nm]."""
    if radius is None or rise <= 0:
        return 0
    return radius - math.isqrt(max(0, radius**2 - rise**2))
