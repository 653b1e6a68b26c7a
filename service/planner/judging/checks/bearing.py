"""Bearing: joints on their posts, laps, edges and what stands in each other's way.

Rules of this file
------------------
- What was laid out is measured; how it came to be laid out so does not count.
- Distances to edges after AISI S100, in diameters; the rest is common practice or judgement.
"""

from collections.abc import Iterator
from functools import partial
from typing import Final

from service.planner.asked.changes import Changes
from service.planner.asked.spec import RopeHooks
from service.planner.engineering.glazing import STEEL_EXPANSION
from service.planner.engineering.hardware import screw_diameter
from service.planner.engineering.screw_strength import EDGE_DIAMETERS
from service.planner.judging.checks.remedies import widest_bay
from service.planner.judging.checks.verdict import Check, Kind, Words
from service.planner.judging.clashes import Clash, ClashKind, find_clashes
from service.planner.judging.facts import Facts
from service.planner.messages import Length, Message, Number, noun, say
from service.planner.units import as_asked
from service.planner.wall.movement import bearing_tolerance

DRIFT: Final = Kind("joint_drift", "Panel joints on their posts", "MMT", "joint-bearing")
LAP: Final = Kind("board_lap", "Laps of the baseboards", "MMT", "aisi-s100-12")
EDGE: Final = Kind("screw_edge", "Screws from the edges of metal", "MMT", "aisi-s100-12")
SPACING: Final = Kind("screw_spacing", "Screws too close to each other on one support", "C62", "aisi-s100-12")
HOOKS: Final = Kind(
    "hook_clearance", "Rope hooks in the way of joints, posts or each other", "C62", "hook-clearance"
)
PARTS: Final = Kind("parts_clear", "Plates and pieces in each other's way", "C62", "parts-clear")

CLASHES: Final[tuple[tuple[Kind, frozenset[ClashKind]], ...]] = (
    (SPACING, frozenset({"screws_together"})),
    (HOOKS, frozenset({"hook_clearance", "hooks_together"})),
    (PARTS, frozenset({
        "short_plate", "plates_together", "joint_under_upright", "channel_under_upright", "channel_under_end_part",
    })),
)  # fmt: skip
"""Which clashes a check counts."""
SHAPES: Final = {
    "round": noun("noun.round_post", "round post", "round posts"),
    "square": noun("noun.square_post", "square post", "square posts"),
}
"""Posts by their shape"""
BOARD_UPPER: Final = say("edge.board_upper", "the board's upper lip")
BOARD_LOWER: Final = say("edge.board_lower", "the board's lower lip")
FLANGE: Final = say("edge.flange", "the top channel's flange")
FILM_CHANNEL: Final = say("edge.film_channel", "the film channel")


def joint_drift(facts: Facts) -> Iterator[Check]:
    """Judge the joint that falls farthest off its post's centre."""
    joints = [joint for wall in facts.layout.walls for joint in wall.joints]
    if not joints:
        return
    job = facts.job
    worst = max(joints, key=lambda joint: abs(joint.drift))
    run, tolerance = facts.layout.runs[worst.run], bearing_tolerance(job)
    yield DRIFT.lengths(
        abs(worst.drift),
        tolerance,
        Words(
            say(
                "advice.joint_drift",
                "{run}, {label}: the joint falls {drift} off the post's centre; a {post} of {width} bears {bears}.",
                run=run.id,
                label=run.supports[worst.support].label,
                drift=Length(abs(worst.drift)),
                post=SHAPES[job.spec.structure.post.shape],
                width=Length(job.spec.structure.post.width),
                bears=Length(tolerance),
            ),
            remedy=say("remedy.joint_drift", "Trim a whole sheet to bring it back."),
        ),
    )


def board_lap(facts: Facts) -> Iterator[Check]:
    """Judge the lap: an edge distance on both sides of its screws, and what the longest board moves."""
    laps = [board for wall in facts.layout.walls if len(wall.boards) > 1 for board in wall.boards]
    if not laps:
        return
    job, movement = facts.job, facts.layout.movement
    longest = max(laps, key=lambda board: board.length)
    moves = STEEL_EXPANSION * max(movement.warming, movement.cooling) * longest.length
    edges = 2 * EDGE_DIAMETERS * screw_diameter(job.fastening["board_upper"].number)
    lap = job.board.part.lap
    yield LAP.lengths(
        edges + moves,
        lap,
        Words(
            say(
                "advice.board_lap",
                "A lap of {lap} takes an edge of {diameters} screw diameters on both sides of its screws, and {moves} that"
                " the longest board, {board}, moves.",
                lap=Length(lap),
                diameters=Number(EDGE_DIAMETERS),
                moves=Length(round(moves)),
                board=longest.id,
            ),
            remedy=say("remedy.board_lap", "A longer lap is the dealer's to stock."),
        ),
    )


def screw_edge(facts: Facts) -> Iterator[Check]:
    """Judge the screw line nearest to an edge of the metal that it goes through."""
    job = facts.job
    board, flange, fastening = job.board.part, job.channel.part.flange, job.fastening
    lines = [
        # where, distance from the line to the nearer edge, screw
        (BOARD_UPPER, board.face - board.upper_line, fastening["board_upper"].number),
        (BOARD_LOWER, board.lower_line, fastening["board_lower"].number),
        (FLANGE, flange // 2, fastening["top_channel"].number),
        (FILM_CHANNEL, job.film_channel.part.width // 2, fastening["batten"].number),
    ]
    place, distance, number = min(lines, key=lambda line: line[1] - EDGE_DIAMETERS * screw_diameter(line[2]))
    least = EDGE_DIAMETERS * screw_diameter(number)
    yield EDGE.lengths(
        least,
        distance,
        Words(
            say(
                "advice.screw_edge",
                "Nearest: {place}, {distance} from screw to edge; {diameters} diameters are {least}.",
                place=place,
                distance=Length(distance),
                diameters=Number(EDGE_DIAMETERS),
                least=Length(round(least)),
            ),
            remedy=say("remedy.screw_edge", "A deeper lip or flange is the dealer's to stock."),
        ),
    )


def clashes(facts: Facts) -> Iterator[Check]:
    """Count what stands in each other's way, and name the first of each kind."""
    found = find_clashes(facts.job, facts.layout, facts.rows)
    for kind, counted in CLASHES:
        own = [clash for clash in found if clash.kind in counted]
        advice = _clash_words(facts, own[0]) if own else say("advice.no_clash", "None.")
        changes = partial(_fewer_hooks, facts) if kind is HOOKS else None
        yield (
            kind.compare(len(own), 0, advice)
            if changes is None
            else kind.compare(len(own), 0, advice, over="caution", changes=changes)
        )


def _clash_words(facts: Facts, clash: Clash) -> Message:
    """Say where two parts meet."""
    run = facts.layout.runs[clash.run]
    return say(
        "advice.clash",
        "First on {run} at {label}: {first} and {second} are {distance} apart and need {least}.",
        run=run.id,
        label=run.supports[clash.support].label,
        first=clash.first,
        second=clash.second,
        distance=Length(clash.distance),
        least=Length(clash.least),
    )


def _fewer_hooks(facts: Facts) -> Changes:
    """Hang one hook in each bay; those of a bay without a clear place are left out anyway."""
    spacing = widest_bay(facts.job)
    if facts.job.spec.options.rope_hooks in ("auto", RopeHooks(spacing=spacing)):
        return ()
    return (("/options/rope_hooks", {"spacing": as_asked(spacing, facts.job.units)}),)
