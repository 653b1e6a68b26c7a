"""A run as it is laid: which panel, board and piece of channel goes up in which round.

Rules of this file
------------------
- A run is read from the end that is laid first: place 0 is that end.
- Round 0 hangs the first panel; round k closes the k-th panel joint, for which the next panel hangs. A run of one
  panel has a round 1 without a joint. The last round also sets what stands at the far end.
- A board goes up with the first joint that it covers, tucked behind the one before; nothing of it is screwed where a
  panel does not hang yet. With profiles of full height it waits until all joints that it covers are closed.
- A piece of top channel goes on for good once every panel and profile under it is in, and its uprights and end parts
  stand.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate

from service.planner.asked.settle import Job
from service.planner.records import record
from service.planner.wall.layout import Piece, Run, RunWall


@record
class Laying:
    """A run as it is laid, from the end that is laid first."""

    wall: RunWall
    """The run with all that stands on it"""
    from_front: bool
    """Whether its front end is laid first"""
    labels: tuple[str, ...]
    """Labels of its supports"""
    panels: tuple[Piece, ...]
    """Panels in that order"""
    boards: tuple[Piece, ...]
    """Baseboards in that order"""
    channels: tuple[Piece, ...]
    """Top channel in that order"""
    two_piece: bool
    """Whether its joint profiles are a base and a cap"""
    full_height: bool
    """Whether its joint profiles run from the foot"""
    joints: tuple[int, ...]
    """Supports of its panel joints in that order [-]"""
    board_rounds: tuple[int, ...]
    """Round in which each board goes up [-]"""
    channel_rounds: tuple[int, ...]
    """Round in which each piece of top channel goes on for good [-]"""

    @property
    def run(self) -> Run:
        """The run."""
        return self.wall.run

    @property
    def last_round(self) -> int:
        """The last round [-]."""
        return max(1, len(self.joints))

    @property
    def start_round(self) -> int:
        """Round in which the first end is held: a jamb's cap waits for the board that it seats on [-]."""
        return self.board_rounds[0] if self.near_jamb else 0

    @property
    def near_jamb(self) -> bool:
        """Whether the first end is a jamb."""
        return (self.run.front_end if self.from_front else self.run.back_end) == "jamb"

    @property
    def far_jamb(self) -> bool:
        """Whether the far end is a jamb."""
        return (self.run.back_end if self.from_front else self.run.front_end) == "jamb"

    def place(self, support: int) -> int:
        """A support's place in the order of laying [-]."""
        return support if self.from_front else self.run.last - support

    def is_near(self, support: int) -> bool:
        """Tell whether an upright or end part at a support belongs to the end laid first."""
        near_upright = self.run.front_upright if self.from_front else self.run.back_upright
        return self.place(support) == 0 or (self.place(support) == 1 and near_upright)

    def span(self, piece: Piece) -> tuple[int, int]:
        """The places where a piece starts and ends [-]."""
        start, end = self.place(piece.start), self.place(piece.end)
        return min(start, end), max(start, end)

    def panel_round(self, place: int) -> int:
        """The round after which every panel that touches a place hangs [-]."""
        return self._touching(self.panels, place)[-1]

    def board_round(self, place: int) -> int:
        """The round after which every board that touches a place is up [-]."""
        return max([self.board_rounds[number] for number in self._touching(self.boards, place)])

    def channel_round(self, place: int) -> int:
        """The round after which every piece of channel that touches a place is on [-]."""
        return max([self.channel_rounds[number] for number in self._touching(self.channels, place)])

    def _touching(self, course: Sequence[Piece], place: int) -> range:
        """Find the pieces of a course, in the order of laying, that touch a place, without walking a long run."""
        first = bisect_left(course, place, key=lambda piece: self.span(piece)[1])
        return range(first, bisect_right(course, place, key=lambda piece: self.span(piece)[0]))

    def over(self, place: int) -> int:
        """The number of the panel that runs on over a place [-]."""
        return bisect_left(self.panels, place, key=lambda piece: self.span(piece)[1])


def lay(job: Job, wall: RunWall) -> Laying:
    """Put a run into the order in which it is laid.

    Parameters
    ----------
    job
        The settled job.
    wall
        The run with all that stands on it.
    """
    front, last = job.spec.options.lay_from == "front", wall.run.last
    courses = (wall.panels, wall.boards, wall.channels)
    panels, boards, channels = courses if front else tuple(course[::-1] for course in courses)
    ends, board_spans, channel_spans = (
        [(p.start, p.end) if front else (last - p.end, last - p.start) for p in course]
        for course in (panels, boards, channels)
    )
    joints = [end for _, end in ends[:-1]]
    full = job.spec.wall.joint_profile_extent == "full_height"
    two_piece = job.profile.part.pieces == "two_piece"
    near_upright, far_upright = (wall.run.front_upright, wall.run.back_upright)[:: 1 if front else -1]
    hung = [end for _, end in ends]
    waits = {last, *([last - 1] if far_upright else [])}
    # a near upright stands on both boards where they lap under it
    held = 1 if near_upright else 0
    board_rounds = _board_rounds(board_spans, joints, held, full=full and not two_piece)
    near_jamb = (wall.run.front_end if front else wall.run.back_end) == "jamb"
    started = board_rounds[0] if near_jamb else 0
    return Laying(
        wall=wall,
        from_front=front,
        labels=tuple([support.label for support in wall.run.supports]),
        panels=panels,
        boards=boards,
        channels=channels,
        two_piece=two_piece,
        full_height=full,
        joints=tuple([place if front else last - place for place in joints]),
        board_rounds=board_rounds,
        channel_rounds=_channel_rounds(channel_spans, joints, hung, waits, started),
    )


def _board_rounds(
    spans: Sequence[tuple[int, int]], joints: Sequence[int], held: int, *, full: bool
) -> tuple[int, ...]:
    """The round in which each board goes up; those that start at or before a place go up with the first panel."""
    last_round = max(1, len(joints))
    limits = [held, *joints]
    rounds = [
        next((number for number, limit in enumerate(limits) if start <= limit), last_round)
        for start, _ in spans
    ]
    if full:
        rounds = [
            max([own, *[number for number, joint in enumerate(joints, start=1) if start <= joint <= end]])
            for own, (start, end) in zip(rounds, spans, strict=True)
        ]
    return tuple(accumulate(rounds, max))


def _channel_rounds(
    spans: Sequence[tuple[int, int]],
    joints: Sequence[int],
    hung: Sequence[int],
    waits: set[int],
    started: int,
) -> tuple[int, ...]:
    """The round in which each piece of channel goes on for good."""
    last_round = max(1, len(joints))
    rounds = []
    for start, end in spans:
        under = next(number for number, reach in enumerate(hung) if reach >= end)
        closed = [number for number, joint in enumerate(joints, start=1) if start <= joint <= end]
        late = [last_round] if {start, end} & waits else []
        rounds.append(max([1, under, started if start == 0 else 0, *closed, *late]))
    return tuple(accumulate(rounds, max))
