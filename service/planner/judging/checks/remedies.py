"""Changes to the request that make a check pass: another height, closer posts, shorter stock, another sheet.

Rules of this file
------------------
- A change is offered only where what it asks for can be built and bought; else there is none.
- What the customer cannot choose is never changed: temperatures, ground, and the frame of a tunnel that stands.
- Values are written as a request in its units writes them.
"""

from collections.abc import Callable, Iterable, Iterator
from itertools import pairwise
from typing import NamedTuple

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.changes import Changes
from service.planner.asked.parts import EndCap, JointProfile, Sheet, TopChannel
from service.planner.asked.sections import Section, section, sheets_of
from service.planner.asked.settle import Job
from service.planner.asked.spec import MAXIMUM_POSTS
from service.planner.judging.facts import Facts
from service.planner.keeping import kept_with_catalog
from service.planner.units import METRE, MILLIMETRE, as_asked, cut_step, round_down, to_millimetres
from service.planner.wall.courses import sheet_stock, stick_length
from service.planner.wall.heights import across, rip_tolerance
from service.planner.wall.layout import Heights, Run

NARROWEST_BAY = 300 * MILLIMETRE
"""Narrowest bay that a request may ask for [nm]"""


def other_height(facts: Facts, height_of: Callable[[Run, Heights], int]) -> Changes:
    """Give every wall another height from foot to top, where the parts still fit and a sheet gives the strip.

    Parameters
    ----------
    facts
        The plan.
    height_of
        Gives a run's new height from the run and its lines; the run's own where it serves [nm].
    """
    job, wanted = facts.job, dict[str, int]()
    for run, heights in zip(facts.layout.runs, facts.layout.heights, strict=True):
        height = height_of(run, heights)
        if height == run.height:
            continue
        if not _buildable(job, run, height):
            return ()
        for pointer, value in run.asked.values(run.height, height).items():
            lowers = height < run.height
            wanted[pointer] = (min if lowers else max)(value, wanted.get(pointer, value))
    return tuple((pointer, as_asked(value, job.units)) for pointer, value in wanted.items())


def top_at_most(job: Job, most: int) -> Callable[[Run, Heights], int]:
    """Lower walls whose panel top is above a height [nm]."""

    def height_of(run: Run, heights: Heights) -> int:
        if heights.panel_top <= most:
            return run.height
        return round_down(most + run.bury_depth, cut_step(job.units))

    return height_of


def _buildable(job: Job, run: Run, height: int) -> bool:
    """Tell whether the parts fit under this height and the widest sheet gives a strip of it."""
    least = run.bury_depth + job.board.part.face + job.limits.clear_height + job.channel.part.slot_depth
    widest = max(across(job, item.part) for item in job.sheets if isinstance(item.part, Sheet))
    return least <= height - rip_tolerance(job) and height <= widest


def closer_posts(facts: Facts, widest: int) -> Changes:
    """Divide a tunnel yet to be built into more bays, none wider than this [nm].

    Openings and ground heights are given by posts, so that they would have to be surveyed anew.
    """
    job, structure = facts.job, facts.job.spec.structure
    fixed = job.spec.options.existing_tunnel or structure.bays is None or structure.openings
    if fixed or structure.ground_heights.left or structure.ground_heights.right or widest < NARROWEST_BAY:
        return ()
    bays = -(-job.stations[-1] // widest)
    spacing = round_down(job.stations[-1] // bays, cut_step(job.units))
    if spacing < NARROWEST_BAY or bays >= MAXIMUM_POSTS:
        return ()
    return (("/structure/bays", bays), ("/structure/bay_spacing", as_asked(spacing, job.units)))


def widest_bay(job: Job) -> int:
    """The widest bay [nm]."""
    return max([there - here for here, there in pairwise(job.stations)])


class Glazing(NamedTuple):
    """Sheets of one thickness and what goes with them."""

    thickness: int
    """Thickness [nm]"""
    sheets: tuple[Item, ...]
    """The sheets"""
    profile: Section[JointProfile]
    """The joint profile"""
    channel: Section[TopChannel]
    """The top channel"""
    end_cap: Section[EndCap] | None
    """The end cap, where there is one"""

    @property
    def changes(self) -> Changes:
        """Ask for sheets of this thickness."""
        return (("/wall/panel_thickness", to_millimetres(self.thickness)),)


def own_glazing(job: Job) -> Glazing:
    """The sheets that a job asks for."""
    return Glazing(job.spec.wall.panel_thickness, job.sheets, job.profile, job.channel, job.end_cap)


def other_glazing(job: Job, thicknesses: Iterable[int]) -> Iterator[Glazing]:
    """Give sheets of other thicknesses, as far as the catalog has all that goes with them and a strip comes out of one."""
    for thickness in thicknesses:
        found = _glazing(job.catalog, thickness)
        if found is None or (job.spec.structure.openings and found.end_cap is None):
            continue
        if sheet_stock(job, thickness):
            yield found


@kept_with_catalog("sections")
def _glazing(catalog: Catalog, thickness: int) -> Glazing | None:
    """Look up what a catalog has in a thickness; none where it lacks sheet, profile or channel."""
    sheets = sheets_of(catalog, thickness)
    profile = section(catalog, "joint_profile", JointProfile, thickness=thickness)
    channel = section(catalog, "top_channel", TopChannel, thickness=thickness)
    cap = section(catalog, "end_cap", EndCap, thickness=thickness)
    if profile is None or channel is None or not sheets:
        return None
    return Glazing(thickness, sheets, profile, channel, cap)


def shorter_stock(facts: Facts, glazing: Glazing, span: int) -> Changes:
    """Limit the stock to what no panel can be cut from that spans as much as this, where all else can be bought.

    Parameters
    ----------
    facts
        The plan.
    glazing
        Its sheets, or others.
    span
        The least span that has to go [nm].
    """
    job = facts.job
    if job.upright_flutes:
        # panels are as long as a sheet is wide, which no limit on stock lengths changes
        return ()
    return stock_no_longer(facts, glazing, span - glazing.profile.part.web - 2 * job.limits.least_gap - 1)


def stock_no_longer(facts: Facts, glazing: Glazing, longest: int) -> Changes:
    """Limit the stock to a length [nm], where everything can still be bought."""
    longest = round_down(
        min(longest, facts.job.spec.options.longest_stock or longest), cut_step(facts.job.units)
    )
    if longest < METRE or not _buyable(facts, glazing, longest):
        return ()
    return (("/options/longest_stock", as_asked(longest, facts.job.units)),)


def _buyable(facts: Facts, glazing: Glazing, longest: int) -> bool:
    """Tell whether every part can be cut from stock no longer than this."""
    job = facts.job
    bay, board = widest_bay(job), job.board
    tallest = max([part.length for part in facts.layout.parts], default=0)
    # no panel ends under a wind-flap upright, so that one panel reaches from the support before it to the one behind
    unbroken = [
        run.supports[upright + 1].x - run.supports[upright - 1].x
        for run in facts.layout.runs
        for upright in run.uprights
    ]
    stock = [
        # items, least length that serves
        (glazing.sheets, max([bay, *unbroken])),
        (board.items, bay + max(board.part.lap, job.spec.structure.post.width)),
        (glazing.channel.items, bay),
        (glazing.profile.items, tallest),
        (job.film_channel.items, tallest),
        *[(cap.items, tallest) for cap in (job.corner_cap, glazing.end_cap) if cap is not None],
    ]
    return all(own.length <= longest for own in job.spec.on_hand) and all(
        any(least <= stick_length(item) <= longest for item in items) for items, least in stock
    )
