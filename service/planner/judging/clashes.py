"""Clashes: parts that would stand in each other's way on the wall.

Rules of this file
------------------
- A clash names two parts, where they meet, how far apart they are and how far apart they have to be.
- Everything is measured on what was laid out; nothing is taken from the reasons why it was laid out so.
- Board laps, panel joints and channel joints may share a post: that is how it is built, and no clash.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, pairwise
from typing import Final, Literal

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.engineering.hardware import screw_diameter
from service.planner.engineering.screw_strength import EDGE_DIAMETERS, SPACING_DIAMETERS
from service.planner.fastening.window import screw_of
from service.planner.keeping import remembered
from service.planner.messages import Noun
from service.planner.nouns import JOINT
from service.planner.records import record
from service.planner.units import INCH
from service.planner.wall.hooks import obstacles
from service.planner.wall.layout import FastenerRow, Hook, Layout, Plate, Run, RunWall

ClashKind = Literal[
    "hook_clearance",
    "hooks_together",
    "screws_together",
    "short_plate",
    "plates_together",
    "joint_under_upright",
    "channel_under_upright",
    "channel_under_end_part",
]
HOOKS_APART: Final = 2 * INCH
"""Least distance between hooks: their 1 in relief holes leave an inch of sheet between; judgement [nm]"""


@record
class Clash:
    """Two parts too close to each other."""

    kind: ClashKind
    """What is wrong"""
    run: int
    """Index of the run [-]"""
    support: int
    """The support where they meet, or the one before them [-]"""
    first: str | Noun
    """Id of the one part, or of its row of the schedule; what it is where it has no id"""
    second: str
    """Id of the other, or the label of the support"""
    distance: int
    """How far apart they are; below 0 where they overlap [nm]"""
    least: int
    """How far apart they have to be [nm]"""


def find_clashes(job: Job, layout: Layout, rows: Iterable[FastenerRow]) -> tuple[Clash, ...]:
    """Find what would stand in each other's way.

    Parameters
    ----------
    job
        The settled question.
    layout
        Everything that stands on the wall.
    rows
        The fastener schedule.
    """
    rows_of: list[list[FastenerRow]] = [[] for _ in layout.walls]
    for row in rows:
        rows_of[row.run].append(row)
    found: list[Clash] = []
    for wall in layout.walls:
        found += _hooks(job, wall)
        found += _screws(wall.run, rows_of[wall.run.index])
        found += _plates(job, wall.run, wall.plates)
        found += _uprights(job, wall, layout.movement.gap)
        found += _end_parts(job, wall)
    return tuple(found)


def _hooks(job: Job, wall: RunWall) -> Iterator[Clash]:
    """Find hooks on or near laps, plates, posts and jambs, and hooks on each other."""
    run, hooks = wall.run, wall.hooks
    near = obstacles(job, run, wall.boards, wall.plates)
    least, centres = job.limits.hook_clearance, [support.x for support in run.supports]
    widest = max(near)[0] + least
    for hook in hooks:
        x = hook.x
        for support in range(bisect_right(centres, x - widest), bisect_left(centres, x + widest)):
            reach, part = near[support]
            distance = abs(x - centres[support]) - reach
            if distance < least:
                yield Clash(
                    kind="hook_clearance",
                    run=run.index,
                    support=support,
                    first=hook.id,
                    second=part,
                    distance=distance,
                    least=least,
                )
    yield from _hooks_together(run, hooks)


def _hooks_together(run: Run, hooks: Iterable[Hook]) -> Iterator[Clash]:
    """Find hooks whose relief holes meet."""
    for before, after in pairwise(hooks):
        if after.x - before.x < HOOKS_APART:
            yield Clash(
                kind="hooks_together",
                run=run.index,
                support=before.bay,
                first=before.id,
                second=after.id,
                distance=after.x - before.x,
                least=HOOKS_APART,
            )


def _screws(run: Run, rows: Sequence[FastenerRow]) -> Iterator[Clash]:
    """Find screws of one support closer than they can be driven, by their heights.

    References
    ----------
    AISI S100, E4.1 / J4.1: three diameters from centre to centre (secondary).
    """
    close: list[tuple[int, int, int, int]] = []
    for level in _levels(rows):
        taken = [support for _, number, _ in level for support in rows[number].supports]
        if len(set(taken)) < len(taken):
            close += _close(rows, level)
    for support, one, other, least in sorted(close):
        first, second = rows[one], rows[other]
        yield Clash(
            kind="screws_together",
            run=run.index,
            support=support,
            first=first.id,
            second=second.id,
            distance=abs(first.z - second.z),
            least=least,
        )


def _on_support(row: FastenerRow) -> bool:
    """Tell whether a row's screws reach their supports."""
    return row.layers[-1].part in {"post", "bow", "jamb"}


@remembered("figures")
def _apart(number: int) -> int:
    """How far a numbered screw has to be from the next [nm]."""
    return round(SPACING_DIAMETERS * screw_diameter(number))


_Level = list[tuple[int, int, int]]
"""Rows near each other upwards: height [nm], number, how far its screws have to be from others [nm]"""


def _levels(rows: Sequence[FastenerRow]) -> list[_Level]:
    """Part rows by height: between two levels is more than any screw has to be from the next."""
    # screws that join two metals beside the post are not on the support: plates see to them
    upwards = sorted(
        [
            (row.z, number, _apart(screw_of(row.screw).number))
            for number, row in enumerate(rows)
            if _on_support(row)
        ]
    )
    most = max([apart for _, _, apart in upwards], default=0)
    levels: list[_Level] = []
    below = 0
    for row in upwards:
        if not levels or row[0] - below >= most:
            levels.append([])
        levels[-1].append(row)
        below = row[0]
    return levels


def _close(rows: Sequence[FastenerRow], level: _Level) -> Iterator[tuple[int, int, int, int]]:
    """Pick where two rows are closer than three diameters: support, the rows' numbers, that distance [nm]."""
    for (z, number, apart), (higher, other, others) in combinations(level, 2):
        least = max(apart, others)
        if higher - z < least:
            for support in set(rows[number].supports).intersection(rows[other].supports):
                yield support, min(number, other), max(number, other), least


def _plates(job: Job, run: Run, plates: Sequence[Plate]) -> Iterator[Clash]:
    """Find plates too short for their screws, and plates that overlap.

    At a joint the half plate beside the post takes the piece's own screw and the one into the post; at an upright
    each half takes one; at an end the plate runs from the post's screw past the end part to the channel's.
    """
    channel_screw = screw_diameter(job.fastening["top_channel"].number)
    edge, spacing = round(EDGE_DIAMETERS * channel_screw), round(SPACING_DIAMETERS * channel_screw)
    cover, length = job.film_channel.part.width, job.plate.part.length
    least = {
        "joint": job.limits.channel_gap + 2 * (edge + spacing + edge),
        "upright": cover + 2 * (edge + edge),
        "end": cover // 2 + edge + edge + edge,
    }
    for plate in plates:
        if length < least[plate.kind]:
            yield Clash(
                kind="short_plate",
                run=run.index,
                support=plate.support,
                first=plate.id,
                second=run.supports[plate.support].label,
                distance=length,
                least=least[plate.kind],
            )
    for before, after in pairwise(plates):
        apart = run.supports[after.support].x - run.supports[before.support].x
        if apart < length:
            yield Clash(
                kind="plates_together",
                run=run.index,
                support=before.support,
                first=before.id,
                second=after.id,
                distance=apart - length,
                least=0,
            )


def _uprights(job: Job, wall: RunWall, gap: int) -> Iterator[Clash]:
    """Find panel joints under uprights, and top channel that does not break for them."""
    run, half = wall.run, job.film_channel.part.width // 2
    for support in run.uprights:
        x, label = run.supports[support].x, run.supports[support].label
        for joint in wall.joints:
            if joint.support == support:
                yield Clash(
                    kind="joint_under_upright",
                    run=run.index,
                    support=support,
                    first=JOINT,
                    second=label,
                    distance=abs(joint.x - x),
                    least=half + gap // 2,
                )
        for piece in wall.channels:
            distance = max(piece.x_start - x, x - piece.x_end)
            if distance < half:
                yield Clash(
                    kind="channel_under_upright",
                    run=run.index,
                    support=support,
                    first=piece.id,
                    second=label,
                    distance=distance,
                    least=half,
                )


def _end_parts(job: Job, wall: RunWall) -> Iterator[Clash]:
    """Find top channel that runs under an end batten or corner cap."""
    run, channels = wall.run, wall.channels
    for part in wall.parts:
        if not ROLES[part.role].over_end:
            continue
        half = job.sections[part.material].part.width // 2
        piece = channels[0] if part.end == "front" else channels[-1]
        distance = (piece.x_start - part.x if part.end == "front" else part.x - piece.x_end) - half
        if distance < 0:
            yield Clash(
                kind="channel_under_end_part",
                run=run.index,
                support=part.support,
                first=piece.id,
                second=part.id,
                distance=distance,
                least=0,
            )
