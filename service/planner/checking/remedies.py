"""Changes to the request that make a check pass: another height, closer posts, shorter stock, another sheet.

Rules of this file
------------------
- A change is offered only where what it asks for can be built and bought; else there is none.
- What the customer cannot choose is never changed: temperatures, ground, and the frame of a tunnel that stands.
- Values are written as a request writes them: lengths in millimetres.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from service.planner.catalog import EndCap, JointProfile, Sheet, TopChannel
from service.planner.checking.judging import Changes
from service.planner.facts import Facts
from service.planner.heights import across, rip_tolerance
from service.planner.layout import Heights, Run
from service.planner.materials import sheet_stock, stick_length
from service.planner.settle import Job
from service.planner.spec import MAXIMUM_POSTS, SideOverride, Wall
from service.planner.stock_sections import section
from service.planner.units import METRE, MILLIMETRE, cut_step, round_down, to_millimetres

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
        for pointer, value in height_fields(job, run, height):
            lowers = height < run.height
            wanted[pointer] = (min if lowers else max)(value, wanted.get(pointer, value))
    return tuple((pointer, to_millimetres(value)) for pointer, value in wanted.items())


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


def height_fields(job: Job, run: Run, height: int) -> Iterator[tuple[str, int]]:
    """Give the fields that set a run's height, with their values for another height [nm]."""
    wall, own = job.spec.wall, getattr(job.spec.wall.per_side, run.side)
    asked: SideOverride | Wall = wall if own.height is None and own.top_above_post is None else own
    at = "/wall" if asked is wall else f"/wall/per_side/{run.side}"
    if asked.height is not None or asked.top_above_post is None:
        yield f"{at}/height", height
    if asked.top_above_post is not None:
        yield f"{at}/top_above_post", asked.top_above_post + height - run.height


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
    return (("/structure/bays", bays), ("/structure/bay_spacing", to_millimetres(spacing)))


def widest_bay(job: Job) -> int:
    """Give the widest bay [nm]."""
    return max(there - here for here, there in pairwise(job.stations))


def other_sheets(job: Job, thicknesses: Iterable[int]) -> Iterator[Job]:
    """Give the same job with sheets of other thicknesses, as far as the catalog has all that goes with them."""
    for thickness in thicknesses:
        found = with_thickness(job, thickness)
        if found is not None:
            yield found


def thickness_of(job: Job) -> Changes:
    """Ask for the thickness of a job's sheets."""
    return (("/wall/panel_thickness", to_millimetres(job.spec.wall.panel_thickness)),)


def thicknesses(job: Job) -> list[int]:
    """Give the thicknesses that the catalog has sheets in, thinnest first [nm]."""
    parts = (item.part for item in job.catalog.by_role["sheet"])
    return sorted({part.thickness for part in parts if isinstance(part, Sheet)})


def with_thickness(job: Job, thickness: int) -> Job | None:
    """Settle the same job with sheets of another thickness [nm]; none where the catalog lacks what goes with them."""
    catalog = job.catalog
    profile = section(catalog, "joint_profile", JointProfile, lambda part: part.thickness == thickness)
    channel = section(catalog, "top_channel", TopChannel, lambda part: part.thickness == thickness)
    cap = section(catalog, "end_cap", EndCap, lambda part: part.thickness == thickness)
    sheets = tuple(
        item
        for item in catalog.by_role["sheet"]
        if isinstance(item.part, Sheet) and item.part.thickness == thickness
    )
    if profile is None or channel is None or not sheets or (job.spec.structure.openings and cap is None):
        return None
    wall = replace(job.spec.wall, panel_thickness=thickness)
    found = replace(
        job, spec=replace(job.spec, wall=wall), sheets=sheets, profile=profile, channel=channel, end_cap=cap
    )
    return found if sheet_stock(found) else None


def shorter_stock(facts: Facts, job: Job, span: int) -> Changes:
    """Limit the stock to what no panel can be cut from that spans as much as this, where all else can be bought.

    Parameters
    ----------
    facts
        The plan.
    job
        The job, perhaps with another sheet than the plan's.
    span
        The least span that has to go [nm].
    """
    if job.upright_flutes:
        # panels are as long as a sheet is wide, which no limit on stock lengths changes
        return ()
    return stock_no_longer(facts, job, span - job.profile.part.web - 2 * job.limits.least_gap - 1)


def stock_no_longer(facts: Facts, job: Job, longest: int) -> Changes:
    """Limit the stock to a length [nm], where everything can still be bought."""
    longest = round_down(min(longest, job.spec.options.longest_stock or longest), MILLIMETRE)
    if longest < METRE or not _buyable(facts, job, longest):
        return ()
    return (("/options/longest_stock", to_millimetres(longest)),)


def _buyable(facts: Facts, job: Job, longest: int) -> bool:
    """Tell whether every part can be cut from stock no longer than this."""
    post, bay = job.spec.structure.post.width, widest_bay(job)
    tallest = max((part.length for part in facts.layout.parts), default=0)
    sections = [
        # section, least length of a stick that serves
        (job.board, bay + max(job.board.part.lap, post)),
        (job.channel, bay),
        (job.profile, tallest),
        (job.film_channel, tallest),
        *((cap, tallest) for cap in (job.corner_cap, job.end_cap) if cap is not None),
    ]
    lengths = [([stick_length(item) for item in found.items], least) for found, least in sections]  # type: ignore[attr-defined]  # every section has items
    sheets = [item.part.length for item in job.sheets if isinstance(item.part, Sheet)]
    # no panel ends under a wind-flap upright, so that one panel reaches from the support before it to the one behind
    unbroken = [
        run.supports[upright + 1].x - run.supports[upright - 1].x
        for run in facts.layout.runs
        for upright in run.uprights
    ]
    on_hand = (own.length for own in job.spec.on_hand)
    return all(
        any(least <= length <= longest for length in found)
        for found, least in [*lengths, (sheets, max([bay, *unbroken]))]
    ) and all(length <= longest for length in on_hand)
