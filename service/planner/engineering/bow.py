"""How far a curved bow stands back from the plane of the posts.

Rules of this file
------------------
- Circles only: a bow that springs upright from its post.
- Heights of bow are above the post's top unless the parameter says otherwise.
- What to do about a set-back is a table of judgement, not a formula.
"""

import math
from typing import Final, Literal

from service.planner.engineering.quantities import MM_PER_INCH
from service.planner.records import record

Remedy = Literal["none", "shim", "stand_off", "lower_the_wall"]


@record
class SetBackLimit:
    """What serves up to a set-back."""

    up_to: float
    """Greatest set-back this serves [mm]"""
    remedy: Remedy
    """What to do [-]"""


SET_BACK_LIMITS: Final = (
    # judgement, no source
    SetBackLimit(up_to=MM_PER_INCH / 8, remedy="none"),
    SetBackLimit(up_to=MM_PER_INCH / 2, remedy="shim"),
    SetBackLimit(up_to=2 * MM_PER_INCH, remedy="stand_off"),
    SetBackLimit(up_to=math.inf, remedy="lower_the_wall"),
)


def set_back(radius: float, rise: float) -> float:
    """Distance from the plane of the posts to a round bow.

    Parameters
    ----------
    radius
        Radius of the bow [mm]
    rise
        Height above the post's top where the wall meets the bow [mm]

    Returns
    -------
        Set-back, 0 at the post's top and growing upwards [mm]

    Raises
    ------
    ValueError
        When the height is above the crown of the circle.

    Notes
    -----
    The circle itself: s = R - sqrt(R2 - z2).
    """
    if not 0 <= rise <= radius:
        raise ValueError(f"a bow of radius {radius:g} mm does not reach {rise:g} mm above its centre")
    return radius - math.sqrt(radius**2 - rise**2)


def remedy(distance: float) -> Remedy:
    """Return what a set-back calls for.

    Parameters
    ----------
    distance
        Set-back where the wall meets the bow [mm]

    Returns
    -------
        The first row of the table that serves (judgement).
    """
    return next(row.remedy for row in SET_BACK_LIMITS if distance <= row.up_to)
