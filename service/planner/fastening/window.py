"""Which screw: the window that its length must lie in, and the choice from the catalog.

Rules of this file
------------------
- A screw is long enough when three threads and its point stand beyond the near wall, its washer counted; it is
  short enough when it keeps off the far wall.
- The table's length is taken where it lies in the window, else the shortest length that does; among equal lengths
  a point that drills the metal comes first, or the one that drills most of it, then the order of the catalog.
- Where no length lies in the window the nearest is taken and said not to fit.
- A washer on the panel is the smallest that covers its hole, else the largest, and the hole becomes a slot; elsewhere
  it is the smallest.
- A pilot hole is drilled where three layers or more are joined; mere room does not count.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.parts import Screw, Washer
from service.planner.engineering.hardware import (
    EXPOSED_THREADS,
    SCREWS,
    ScrewSize,
    drill_capacity,
)
from service.planner.errors import FieldProblem, NoSuchItem
from service.planner.fastening.holes import clearance, lies_on_panel
from service.planner.fastening.layers import METALS, ROOM
from service.planner.keeping import kept_with_catalog, remembered
from service.planner.messages import Value, filled, say
from service.planner.records import record
from service.planner.rules import FasteningRule, Place
from service.planner.units import INCH, MILLIMETRE, DisplayUnits
from service.planner.wall.layout import Layer

_SIZES: Final[tuple[tuple[int, ScrewSize], ...]] = (
    (6, "No.6"),
    (8, "No.8"),
    (10, "No.10"),
    (12, "No.12"),
    (14, "1/4 in"),
)
PILOT: Final = INCH // 8
"""Diameter of the pilot hole [nm]"""
JOINED_FOR_PILOT: Final = 3
"""Layers joined from which on a pilot hole is drilled [-]"""
_POINT_STEP: Final = INCH // 10
"""What each point number above those of the table adds to the point's length; judgement [nm]"""


@record
class Choice:
    """A screw with the window that it was chosen by."""

    screw: Item
    """The screw"""
    washer: Item | None
    """The washer under its head"""
    shortest: int
    """Least length that serves [nm]"""
    longest: int
    """Greatest length that serves [nm]"""
    fits: bool
    """Whether the screw's length lies in the window"""
    slot: bool
    """Whether no washer covers the hole, so that it becomes a slot"""
    pilot: int | None
    """Diameter of the pilot hole where three layers or more are joined [nm]"""
    clearance: int | None
    """Diameter of the clearance hole in the outer metals, where the thread would bite them too early [nm]"""


@dataclass(frozen=True, slots=True)
class Chooser:
    """Chooses a job's screws, each combination of place and layers once."""

    catalog: Catalog
    """The catalog"""
    fastening: Mapping[Place, FasteningRule]
    """The fastening rules in force"""
    units: DisplayUnits
    """Units that drills are sold in"""
    chosen: dict[tuple[Place, tuple[Layer, ...], int, int], Choice] = field(default_factory=dict)
    """What has been chosen so far"""

    def choose(self, place: Place, layers: tuple[Layer, ...], room: int, covering: int = 0) -> Choice:
        """Choose the screw for a place.

        Parameters
        ----------
        place
            Row of the fastening rules table.
        layers
            What the screw passes, outside to inside, near wall included.
        room
            How far its point may reach beyond them [nm].
        covering
            Diameter of a washer on the panel that covers its hole [nm].

        Raises
        ------
        NoSuchItem
            When the catalog has no such screw of any length, or no washer.
        """
        covering = covering if lies_on_panel(layers) else 0
        key = (place, layers, room, covering)
        found = self.chosen.get(key)
        if found is None:
            found = _best(self.catalog, self.fastening[place], layers, room, covering, self.units)
            self.chosen[key] = found
        return found


@kept_with_catalog("screws")
def _best(
    catalog: Catalog,
    rule: FasteningRule,
    layers: tuple[Layer, ...],
    room: int,
    covering: int,
    units: DisplayUnits,
) -> Choice:
    """Take the screw that fits best, with a washer that covers so much of the panel where the rule has one."""
    washer = _washer(catalog.by_role["washer"], covering) if rule.washer else None
    grip = sum([layer.thickness for layer in layers])
    metal = sum([layer.thickness for layer in layers if layer.part in METALS])
    under_head, longest = grip + _thickness(washer), grip + room

    def lack(item: Item) -> tuple[int, int]:
        screw = screw_of(item)
        missed = max(under_head + tail(screw) - screw.length, screw.length - longest, 0)
        return missed, max(metal - capacity(screw.number, screw.point), 0)

    item = min(_shelf(catalog, rule), key=lack)
    screw = screw_of(item)
    shortest = under_head + tail(screw)
    return Choice(
        screw=item,
        washer=washer,
        shortest=shortest,
        longest=longest,
        fits=shortest <= screw.length <= longest,
        slot=washer is not None and outside(washer) < covering,
        pilot=_pilot(layers),
        clearance=_clearance(units, layers, screw),
    )


def _washer(listed: Sequence[Item], needed: int) -> Item:
    """Take the smallest washer that covers the hole, the first listed of equal ones, or the largest."""
    if not listed:
        raise NoSuchItem(
            say("spec.no_washer", "The catalog has no sealing washer."),
            [FieldProblem(pointer="", detail=say("spec.washers_needed", "the panel's screws need washers"))],
        )
    by_size = sorted(listed, key=outside)
    return next((item for item in by_size if outside(item) >= needed), by_size[-1])


def _pilot(layers: Iterable[Layer]) -> int | None:
    """The pilot hole where three layers or more are joined [nm]."""
    joined = sum([layer.part not in ROOM for layer in layers])
    return PILOT if joined >= JOINED_FOR_PILOT else None


def _clearance(units: DisplayUnits, layers: tuple[Layer, ...], screw: Screw) -> int | None:
    """The clearance hole that a screw wants in the outer metals [nm]."""
    drills, point = capacity(screw.number, screw.point), point_length(screw.number, screw.point)
    return clearance(units, layers, screw.number, drills=drills, point=point)


_NO_SCREW: Final = say(
    "spec.no_screw", "The catalog has no screw of number {number}, head {head}, drive {drive}."
)
_SCREW_NEEDED: Final = say(
    "spec.screw_needed", "{place} needs a screw of number {number}, head {head}, drive {drive}"
)


def _shelf(catalog: Catalog, rule: FasteningRule) -> Sequence[Item]:
    """List the catalog's screws of a rule's number, head and drive: its own length first, then the shortest."""
    found = catalog.screws.get((rule.number, rule.head, rule.drive))
    if found is None:
        wanted: dict[str, Value] = {
            "place": rule.place,
            "number": rule.number,
            "head": rule.head,
            "drive": rule.drive,
        }
        raise NoSuchItem(
            filled(_NO_SCREW, wanted), [FieldProblem(pointer="", detail=filled(_SCREW_NEEDED, wanted))]
        )
    return sorted(found, key=lambda item: ((length := screw_of(item).length) != rule.length, length))


def outside(item: Item) -> int:
    """A washer's outside diameter [nm]."""
    return item.part.outer_diameter if isinstance(item.part, Washer) else 0


def _thickness(washer: Item | None) -> int:
    """What a washer adds under the head [nm]."""
    return getattr(washer.part, "thickness", 0) if washer else 0


def screw_of(item: Item) -> Screw:
    """Read an item as the screw that it is.

    Parameters
    ----------
    item
        An item of the role screw.
    """
    if not isinstance(item.part, Screw):
        raise TypeError(f"{item.sku} is no screw")
    return item.part


def tail(screw: Screw) -> int:
    """What of a screw stands beyond the near wall at least: its point and three threads [nm].

    Parameters
    ----------
    screw
        The screw.

    References
    ----------
    Point lengths and spaced threads: SAE J78 and ASME B18.6.4 (secondary). Three threads: practice for cold-formed
    steel (secondary). A number or a point that they do not list takes the next larger row, or a tenth of an
    inch more for each point number (judgement).
    """
    return _tail(screw.number, screw.point)


@remembered("figures")
def _tail(number: int, point: int) -> int:
    """Work out a screw's tail from the tables [nm]."""
    threads = round(EXPOSED_THREADS * INCH / SCREWS[size_name(number)].threads_per_inch)
    return point_length(number, point) + threads


@remembered("figures")
def point_length(number: int, point: int) -> int:
    """The length of a drill point, which goes through metal before the thread bites [nm].

    Parameters
    ----------
    number
        Screw number [-].
    point
        Drill point number [-].
    """
    row = SCREWS[size_name(number)]
    known = max(listed for listed in row.point_lengths if listed <= point)
    return round(row.point_lengths[known] * INCH) + (point - known) * _POINT_STEP


@remembered("figures")
def capacity(number: int, point: int) -> int:
    """The most metal that a point drills; an inch where no source says [nm].

    Parameters
    ----------
    number
        Screw number [-].
    point
        Drill point number [-].

    References
    ----------
    SAE J78 (secondary), ISO 15480 and trade charts, the least that any of them states; see ``hardware.py``.
    """
    try:
        return round(drill_capacity(size_name(number), point) * MILLIMETRE)
    except KeyError:
        return INCH


def size_name(number: int) -> ScrewSize:
    """Name the row of the screw table for a number, the next larger where it has none."""
    return next(size for listed, size in _SIZES if listed >= number)
