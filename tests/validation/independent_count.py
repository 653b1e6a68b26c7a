"""A second count of a wall, written from the trade's rules alone; it shares no code with the service.

What lives here: heights, gaps, piece lengths, and every count that follows once the joints are known. Nothing is
optimised: the joints are read from the plan that is counted again. Rules: common practice, no source; ten per cent
of spares and one hook a bay are the project's own defaults.
"""

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from tests.validation.independent_job import INCH, Document, Job, Length, Run, Units, down, mm, up

F = Fraction


def strips_per_sheet(units: Units, width: Length, height: Length) -> int:
    """Count the strips of a sheet: floor((W + k) / (h - r + k))."""
    return math.floor((width + units.kerf) / (height - units.kerf + units.kerf))


def ripped(job: Job, height: Length, widths: set[Length]) -> Length:
    """The ripped height: the least over the sheet widths used."""
    if job.upright_flutes:
        return down(height, job.units.step)
    least = height
    for width in widths:
        n = max(strips_per_sheet(job.units, width, height), 1)
        least = min(least, (width - (n - 1) * job.units.kerf) / n)
    return down(least, job.units.step)


def elevations(job: Job, run: Run) -> Document:
    """Give every line's height above grade."""
    u, board, channel = job.units, job.board, job.channel
    face, top = mm(board["face"]), run.ripped - run.bury
    under = top - mm(channel["slot_depth"])
    clear = under - face
    locating = face + u.pick("1 1/2", 40)
    thirds = [face + clear / 3, face + 2 * clear / 3] if clear >= u.pick("6", 150) else []
    return {
        "panel_foot_mm": -run.bury,
        "board_underside_mm": F(0),
        "board_lower_screws_mm": mm(board["lower_line"]),
        "board_upper_screws_mm": mm(board["upper_line"]),
        "board_top_mm": face,
        "locating_screws_mm": locating,
        "field_screws_mm": [z for z in thirds if abs(z - locating) >= u.pick("1", 25)],
        "channel_underside_mm": under,
        "panel_top_mm": top,
        "channel_screws_mm": top + mm(channel["flange"]) / 2,
        "channel_top_mm": top + mm(channel["flange"]),
        "post_top_mm": job.post_top,
        "hip_rail_mm": job.hip,
        "clear_height_mm": clear,
    }


ALPHA: Final = F(65, 1_000_000)
SCREW: Final = F(19, 100) * INCH


@dataclass(frozen=True, slots=True)
class Movement:
    """What the sheet's movement asks of the layout."""

    span: Length
    growth: Length
    side_gap: Length
    gap: Length
    end_room: Length


def movement_at(job: Job, span: Length) -> Movement:
    """Work out the gap of a longest span: g = t_w + 2c."""
    u, profile, site = job.units, job.profile, job.request.get("site", {})
    web = mm(profile["web"])
    install, hot = (
        F(str(site.get("install_temperature_c", 15))),
        F(str(site.get("highest_temperature_c", 50))),
    )
    growth = ALPHA * span * max(hot - install, F(0))
    screw = F(0) if profile.get("pieces") == "two_piece" else SCREW
    side = max(u.pick("1/8", 3), up(growth / 2 + max(F(0), (screw - web) / 2), u.step))
    return Movement(span, growth, side, web + 2 * side, up(growth / 2, u.step))


def bite(job: Job, span: Length, side_gap: Length) -> Length:
    """What the joint profile still holds at the coldest."""
    site = job.request.get("site", {})
    fall = F(str(site.get("install_temperature_c", 15))) - F(str(site.get("lowest_temperature_c", -25)))
    return mm(job.profile["reach"]) - side_gap - ALPHA * span * max(fall, F(0)) / 2


def longest_piece_of_stock(job: Job) -> Length:
    """The longest sheet along the wall."""
    sheets = job.parts("sheet", thickness=job.thickness)
    own = [
        mm(o["length"]) for o in job.request.get("on_hand", []) if any(s["sku"] == o["sku"] for s in sheets)
    ]
    return max(
        [mm(s["width" if job.upright_flutes else "length"]) for s in sheets]
        + ([] if job.upright_flutes else own)
    )


def movement(job: Job) -> Movement:
    """Find the longest span that fits the longest stock at the smallest gap and keeps its bite.

    A span fits when its piece between two joints would, whatever its ends are.
    """
    smallest, stock = movement_at(job, F(0)).gap, longest_piece_of_stock(job)
    best = movement_at(job, F(0))
    for run in job.runs:
        for a in range(run.last):
            for b in range(a + 1, run.last + 1):
                span = run.x(b) - run.x(a)
                here = movement_at(job, span)
                if (
                    span - smallest <= stock
                    and span > best.span
                    and bite(job, span, here.side_gap) >= job.units.pick("1/2", 12)
                ):
                    best = here
    return best


def panel_cover(job: Job, run: Run, end: int, end_room: Length) -> Length:
    """How far a panel runs past the centre of a run's end."""
    if run.ends[end] != "jamb":
        return mm(job.wall.get("end_cover", 0))
    support = run.supports[0 if end == 0 else -1]
    return support.width / 2 - mm(job.part("end_cap", thickness=job.thickness)["web"]) - end_room


def panel_length(job: Job, run: Run, arc: tuple[int, int], gap: Length, end_room: Length) -> Length:
    """A panel's length before rounding."""
    a, b = arc
    front = panel_cover(job, run, 0, end_room) if a == 0 else -gap / 2
    back = panel_cover(job, run, 1, end_room) if b == run.last else -gap / 2
    return run.x(b) - run.x(a) + front + back


def board_length(job: Job, run: Run, arc: tuple[int, int]) -> Length:
    """A baseboard's length before rounding."""
    a, b = arc
    lap = mm(job.board["lap"])
    front = run.supports[0].width / 2 if a == 0 else lap / 2
    back = run.supports[-1].width / 2 if b == run.last else lap / 2
    return run.x(b) - run.x(a) + front + back


def _channel_end(job: Job, run: Run, index: int) -> Length:
    """How far a piece of channel runs past a support's centre, its joint taken to lie there."""
    if index in (0, run.last):
        kind = run.ends[0 if index == 0 else 1]
        if kind == "jamb":
            return run.supports[index].width / 2
        return -(job.batten_width(kind) / 2 + job.screw_line)
    if index in run.uprights:
        return -mm(job.part("film_channel")["width"]) / 2
    return -job.units.pick("1/8", 3) / 2


def channel_length(job: Job, run: Run, arc: tuple[int, int]) -> Length:
    """A channel's length before rounding."""
    fixed = {0, run.last, *run.uprights}
    front, back = (F(0) if index in fixed else job.channel_joint for index in arc)
    between = run.x(arc[1]) + back - run.x(arc[0]) - front
    return between + _channel_end(job, run, arc[0]) + _channel_end(job, run, arc[1])


@dataclass(frozen=True, slots=True)
class Joints:
    """The supports at which a run's pieces meet, read from a plan."""

    panels: frozenset[int]
    boards: frozenset[int]
    channels: frozenset[int]


def joints_of(run: Document) -> Joints:
    """Read the joints of a run of a plan."""
    last = len(run["supports"]) - 1
    inner = {
        key: frozenset(p["to_support"] for p in run[key] if p["to_support"] != last)
        for key in ("panels", "baseboards", "top_channels")
    }
    return Joints(inner["panels"], inner["baseboards"], inner["top_channels"])


def _pitch(job: Job, length: Length) -> int:
    return math.ceil(length / job.units.pick("12", 300))


def batten_length(job: Job, run: Run) -> Length:
    """From the top of the board to the top of the channel."""
    z = elevations(job, run)
    return down(z["channel_top_mm"] - z["board_top_mm"], job.units.step)


def profile_length(job: Job, run: Run) -> Length:
    """Clear height less 1/8 in (3 mm), or from the foot."""
    z = elevations(job, run)
    full = job.wall.get("joint_profile_extent") == "full_height"
    foot = z["panel_foot_mm"] if full else z["board_top_mm"]
    return down(z["channel_underside_mm"] - foot - job.units.pick("1/8", 3), job.units.step)


def cap_length(job: Job, run: Run) -> Length:
    """Clear height less 1/8 in (3 mm)."""
    return down(elevations(job, run)["clear_height_mm"] - job.units.pick("1/8", 3), job.units.step)


def upright_length(job: Job, run: Run) -> Length:
    """From the underside of the hip rail to the top of the board."""
    return down(job.hip - elevations(job, run)["board_top_mm"], job.units.step)


def screws_by_place(job: Job, run: Run, joints: Joints) -> Counter[str]:
    """Count the screws of each place of the fastening rules table."""
    z = elevations(job, run)
    every = set(range(run.last + 1))
    ends = {0, run.last}
    held = every - ends - joints.panels - run.uprights
    posts = sum(end != "jamb" for end in run.ends)
    jambs = sum(end == "jamb" for end in run.ends)
    plain = every - ends - joints.channels - run.uprights
    met = joints.channels - run.uprights
    # one screw at mid length under 6 in; an end cap is read like the profile, and a profile by what shows of it
    per_profile = 2 if cap_length(job, run) >= job.units.pick("6", 150) else 1
    over = z["panel_top_mm"] - z["board_top_mm"]
    return +Counter(
        {
            "board_upper": len(every),
            "board_lower": len(every),
            "locating": len(held),
            "field": len(held) * len(z["field_screws_mm"]),
            "joint_profile": len(joints.panels) * per_profile,
            "top_channel": len(plain) + 3 * len(met) + 2 * posts + jambs + 3 * len(run.uprights),
            "batten": posts * (_pitch(job, batten_length(job, run)) + 1),
            "upright_over_panel": len(run.uprights) * (_pitch(job, over) + 1),
            "upright_above_panel": len(run.uprights) * _pitch(job, job.hip - z["panel_top_mm"]),
            "jamb_cap": per_profile * jambs,
        }
    )


WASHERED: Final = ("locating", "field", "joint_profile", "jamb_cap")


def plates(run: Run, joints: Joints) -> int:
    """Count splice plates: one a channel joint or upright, one an end on an end post."""
    return len(joints.channels | run.uprights) + sum(end != "jamb" for end in run.ends)


def tape(job: Job, plan: Document) -> dict[str, Length]:
    """The tape's length by role, before it is slit [mm].

    For upright flutes the rule says the wall's length for each tape; it is read as the length of the wall's panels,
    since a gap between two panels has no flutes.
    """
    seen = [panel for run in plan["layout"]["runs"] for panel in run["panels"]]
    if job.upright_flutes:
        wall = sum((mm(panel["length_mm"]) for panel in seen), F(0))
        return {"foil_tape": wall, "vented_tape": wall}
    return {
        "foil_tape": sum((2 * (mm(panel["height_mm"]) + job.units.pick("1", 25)) for panel in seen), F(0))
    }


def hooks(job: Job, run: Run, joints: Joints) -> list[Length]:
    """The places of the rope hooks: even in their bay, or moved just clear; a bay where nothing clears has none."""
    asked = job.option("rope_hooks", "auto")
    if asked is None or (asked == "auto" and not job.structure.get("roll_up_sides", True)):
        return []
    kept = [_kept(job, run, joints, index) for index in range(run.last + 1)]
    spots = []
    for a in range(run.last):
        bay = run.x(a + 1) - run.x(a)
        n = 1 if asked == "auto" else math.ceil(bay / mm(asked["spacing"]))
        low = max(run.x(i) + kept[i] for i in range(a + 1))
        high = min(run.x(i) - kept[i] for i in range(a + 1, run.last + 1))
        for i in range(1, n + 1 if low <= high else 1):
            even = run.x(a) + bay * (2 * i - 1) / (2 * n)
            spots.append(min(max(even, low), high))
    return spots


def _kept(job: Job, run: Run, joints: Joints, index: int) -> Length:
    """What a hook keeps from a support: 3 in (75 mm) from its centre, its lap's end, its plate's end, its face."""
    posts = {0: run.ends[0], run.last: run.ends[1]}
    plated = index in joints.channels | run.uprights or posts.get(index, "jamb") != "jamb"
    reach = [
        run.supports[index].width / 2 if run.supports[index].jamb else F(0),
        mm(job.board["lap"]) / 2 if index in joints.boards else F(0),
        mm(job.part("splice_plate")["length"]) / 2 if plated else F(0),
    ]
    return max(reach) + job.units.pick("3", 75)
