"""Long runs in bands: how much of a run stands on one sheet.

Rules of this file
------------------
- Bands end at supports and hold about as many bays each; a little more is shown past the support, so that the post on the
  seam stands whole on both sheets.
- Scales are those of ISO 5455 (from memory), 1:5, 1:10, 1:20, 1:50, 1:100, and a few that a rule has between them; the
  largest at which a bay fits.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, cast

from service.planner.answer.layout_shapes import RunOut

SCALES: Final = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 100, 200, 500, 1000)
"""Scales of reductions [-]"""
PAST: Final = 120.0
"""Shown past the supports at which a band ends [mm of wall]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A stretch of a run."""

    index: int
    """Number from the run's zero, from 0"""
    count: int
    """Bands of the run"""
    first: int
    """Support at which it begins"""
    last: int
    """Support at which it ends"""
    begins: float
    """Position of the first support [mm]"""
    ends: float
    """Position of the last support [mm]"""
    past: float = PAST
    """Shown past either end [mm]"""

    @property
    def shown(self) -> tuple[float, float]:
        """What is shown, from and to [mm]."""
        return self.begins - self.past, self.ends + self.past

    def clip(self, start: float, end: float) -> tuple[float, float] | None:
        """The part of a stretch that is shown, if any [mm]."""
        low, high = self.shown
        start, end = max(start, low), min(end, high)
        return (start, end) if start < end else None

    def owns(self, position: float) -> bool:
        """Tell whether a part that begins here begins in this band, and in no other."""
        after = self.index == 0 or position >= self.begins - 1e-6
        before = self.index == self.count - 1 or position < self.ends - 1e-6
        return after and before


def visible(run: RunOut, band: Band) -> RunOut:
    """A run with no more than a band shows of it, so that a sheet costs what is on it."""
    low, high = band.shown
    near = {
        index for index, support in enumerate(run["supports"]) if low - 200 < support["x_mm"] < high + 200
    }
    courses: dict[str, object] = {
        field: [piece for piece in run[field] if piece["x_start_mm"] < high and piece["x_end_mm"] > low]
        for field in ("panels", "baseboards", "top_channels")
    }
    standing: dict[str, object] = {
        field: [part for part in run[field] if part["support"] in near]
        for field in ("joint_profiles", "end_battens", "uprights", "splice_plates", "panel_joints")
    }
    hooks = [hook for hook in run["rope_hooks"] if low < hook["x_mm"] < high]
    supports = [support for support in run["supports"] if support["index"] in near]
    return cast("RunOut", {**run, **courses, **standing, "rope_hooks": hooks, "supports": supports})


def fitting_scale(length: float, room: float, least: int = 1) -> int:
    """Choose the largest scale at which a length [mm of wall] fits the room [mm of paper], no larger than 1:least."""
    return next((scale for scale in SCALES if scale >= least and length / scale <= room), SCALES[-1])


def banded(run: RunOut, room: float, least: int) -> tuple[int, list[Band]]:
    """Cut a run into bands.

    Parameters
    ----------
    run
        The run.
    room
        Paper that a band may take along the wall [mm].
    least
        No larger scale than 1:least [-].

    Returns
    -------
        The scale, and the bands from the run's zero.
    """
    places = [support["x_mm"] for support in run["supports"]]
    widest = max(after - before for before, after in pairwise(places))
    scale = fitting_scale(widest + 2 * PAST, room, least)
    seams = _seams(places, room * scale - 2 * PAST)
    bands = [
        Band(
            index=index, count=len(seams) - 1, first=first, last=last, begins=places[first], ends=places[last]
        )
        for index, (first, last) in enumerate(pairwise(seams))
    ]
    return scale, bands


def _seams(places: Sequence[float], capacity: float) -> list[int]:
    """Choose the supports at which bands meet, ends of the run included."""
    seams = _filled(places, capacity, len(places))
    even = _filled(places, capacity, math.ceil((len(places) - 1) / (len(seams) - 1)))
    return even if len(even) == len(seams) else seams


def _filled(places: Sequence[float], capacity: float, most: int) -> list[int]:
    """Fill bands one after another, with so many bays at most."""
    seams = [0]
    while seams[-1] < len(places) - 1:
        begin = seams[-1]
        end = begin + 1
        while end < len(places) - 1 and end - begin < most and places[end + 1] - places[begin] <= capacity:
            end += 1
        seams.append(end)
    return seams
