"""From a job to its runs: ordered supports, what stands at each end, and what each opening leaves clear.

Rules of this file
------------------
- A side is one run from its first post to its last, cut by openings.
- An edge on a post, or near its face, makes that post the jamb; otherwise a stud is added on the edge.
- No post is ever cut: an opening that holds one is refused with the nearest offset that works.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from itertools import pairwise

from service.planner.asked.height_fields import HeightFields
from service.planner.asked.settle import Job
from service.planner.asked.spec import EndWall, Opening, SideName
from service.planner.errors import FieldProblem, FieldsDisagree, OpeningUnbuildable
from service.planner.messages import Length, Message, say
from service.planner.nouns import SIDES
from service.planner.records import record
from service.planner.units import as_asked, round_down, round_up
from service.planner.wall.layout import EndKind, Run, Support, SupportKind

_END_KINDS: dict[EndWall, EndKind] = {"film": "end_film", "polycarbonate": "end_rigid", "open": "end_open"}


@record
class Jamb:
    """What an opening's edge becomes."""

    post: int | None
    """Post that serves as the jamb, none where a stud is added [-]"""
    centre: int
    """Centre of post or stud from the side's first post [nm]"""
    width: int
    """Width of post or stud [nm]"""
    face: int
    """Its face towards the opening [nm]"""


@record
class ClearOpening:
    """An opening as it will be built."""

    number: int
    """Place in the spec's list [-]"""
    side: SideName
    """The side it is in"""
    near: Jamb
    """The jamb towards the front"""
    far: Jamb
    """The jamb towards the back"""

    @property
    def clear_width(self) -> int:
        """Width between the jambs' faces [nm]."""
        return self.far.face - self.near.face


@record
class PostLine:
    """A line of posts that a wall may stand on: a side of the tunnel."""

    side: SideName
    """Its name"""
    stations: tuple[int, ...]
    """Post centres from its first post [nm]"""
    levels: tuple[int, ...]
    """Ground at each post, none where it was not levelled [nm]"""
    front_end: EndKind
    """What stands at its first post"""
    back_end: EndKind
    """What stands at its last post"""
    height: int
    """Nominal panel height [nm]"""
    bury_depth: int
    """Depth of the panel's foot below grade [nm]"""
    asked: HeightFields
    """The fields of the request that set height and burial"""

    def ground_at(self, station: int) -> float:
        """Return the ground at a station, between two posts straight from one to the other [nm]."""
        after = min(max(bisect_right(self.stations, station), 1), len(self.stations) - 1)
        here, there = self.stations[after - 1], self.stations[after]
        share = min(max((station - here) / (there - here), 0.0), 1.0)
        return self.levels[after - 1] + share * (self.levels[after] - self.levels[after - 1])


def lines_of(job: Job) -> tuple[PostLine, ...]:
    """List the lines that get a wall, left before right."""
    walls, ground = job.spec.structure.end_walls, job.spec.structure.ground_heights
    return tuple(
        PostLine(
            side=side,
            stations=job.stations,
            levels=getattr(ground, side),
            front_end=_END_KINDS[walls.front],
            back_end=_END_KINDS[walls.back],
            height=heights.height,
            bury_depth=heights.bury_depth,
            asked=heights.asked,
        )
        for side, heights in job.sides.items()
    )


def lay_runs(job: Job) -> tuple[tuple[Run, ...], tuple[ClearOpening, ...]]:
    """Cut the sides into runs.

    Parameters
    ----------
    job
        The settled job.

    Returns
    -------
        The runs, left before right and front before back, and the openings between them.

    Raises
    ------
    OpeningUnbuildable
        When an opening holds a post, overlaps another or leaves the side, or when nothing is left to wall.
    FieldsDisagree
        When a wind flap's corner has no run of two bays.
    """
    runs: list[Run] = []
    openings: list[ClearOpening] = []
    for line in lines_of(job):
        cut = _openings(job, line)
        openings += cut
        runs += _runs_along(job, line, cut, len(runs))
    if not runs:
        whole = [
            FieldProblem(
                pointer="/structure/openings",
                detail=say("spec.no_stretch", "the openings leave no stretch of two supports"),
            )
        ]
        raise OpeningUnbuildable(say("spec.nothing_to_wall", "The openings leave nothing to wall."), whole)
    _check_flaps(job, runs)
    return tuple(runs), tuple(openings)


def _openings(job: Job, line: PostLine) -> list[ClearOpening]:
    """Find the jambs of a line's openings, front to back."""
    found = [
        _opening(job, line, number, opening)
        for number, opening in enumerate(job.spec.structure.openings)
        if opening.side == line.side
    ]
    found.sort(key=lambda opening: opening.near.centre)
    for before, after in pairwise(found):
        same_post = before.far.post is not None and before.far.post == after.near.post
        apart = after.near.centre - before.far.centre
        if not same_post and apart < (before.far.width + after.near.width) // 2:
            overlap = say(
                "spec.opening_overlaps", "overlaps the opening before it on the {side}", side=SIDES[line.side]
            )
            raise _refused(after.number, "offset", overlap)
    return found


def _opening(job: Job, line: PostLine, number: int, opening: Opening) -> ClearOpening:
    """Find an opening's jambs, or refuse it with the nearest offset that works."""
    placed = _place(job, line, number, opening.offset, opening.width)
    if isinstance(placed, ClearOpening):
        return placed
    works = _nearest_offset(job, line, opening)
    raise _refused(number, "offset", placed, None if works is None else as_asked(works, job.units))


def _place(job: Job, line: PostLine, number: int, offset: int, width: int) -> ClearOpening | Message:
    """Place an opening, or say what is in its way."""
    near = _jamb(job, line, offset, towards_back=True)
    far = _jamb(job, line, offset + width, towards_back=False)
    half = job.spec.structure.post.width // 2
    if offset + width > line.stations[-1] + half + job.limits.opening_snap:
        return say(
            "spec.opening_beyond",
            "ends beyond the side's last post at {last}",
            last=Length(line.stations[-1]),
        )
    if far.face <= near.face:
        return say("spec.opening_closed", "leaves nothing clear between its jambs")
    own = {near.post, far.post}
    first, last = near.face, far.face
    reach = half + job.limits.jamb_width
    for post in range(bisect_left(line.stations, first - reach), bisect_left(line.stations, last + reach)):
        station = line.stations[post]
        if post in own:
            continue
        if station - half < last and first < station + half:
            return say(
                "spec.opening_holds_post",
                "holds post {label} at {station}; cutting a post is an engineer's matter",
                label=f"P{post + 1}",
                station=Length(station),
            )
        for stud in (near, far):
            if stud.post is None and abs(stud.centre - station) < half + stud.width // 2:
                return say(
                    "spec.no_room_for_stud",
                    "leaves no room for a jamb stud beside post {label} at {station}",
                    label=f"P{post + 1}",
                    station=Length(station),
                )
    return ClearOpening(number=number, side=line.side, near=near, far=far)


def _jamb(job: Job, line: PostLine, edge: int, *, towards_back: bool) -> Jamb:
    """Find the post that serves as the jamb of an edge, or put a stud on it."""
    width = job.spec.structure.post.width
    sign = 1 if towards_back else -1
    after = bisect_left(line.stations, edge)
    near = range(max(after - 1, 0), min(after + 1, len(line.stations)))
    post = min(near, key=lambda number: abs(line.stations[number] - edge))
    station = line.stations[post]
    if abs(station - edge) <= width // 2 + job.limits.opening_snap:
        return Jamb(post=post, centre=station, width=width, face=station + sign * (width // 2))
    stud = job.limits.jamb_width
    return Jamb(post=None, centre=edge - sign * (stud // 2), width=stud, face=edge)


def _nearest_offset(job: Job, line: PostLine, opening: Opening) -> int | None:
    """Find the offset nearest the one asked for at which the opening can be built."""
    step, on_post = job.limits.opening_snap, job.spec.structure.post.width // 2 + job.limits.opening_snap
    candidates: set[int] = set()
    for here, there in pairwise(line.stations):
        first, last = here - on_post, there + on_post - opening.width
        if last >= first:
            inside = min(max(opening.offset, first), last)
            candidates |= {
                here,
                there - opening.width,
                first,
                last,
                round_down(inside, step),
                round_up(inside, step),
            }
    for offset in sorted(candidates, key=lambda offset: (abs(offset - opening.offset), offset)):
        if offset >= 0 and isinstance(_place(job, line, 0, offset, opening.width), ClearOpening):
            return offset
    return None


def _refused(
    number: int, name: str, detail: Message, suggestion: str | float | None = None
) -> OpeningUnbuildable:
    """Build the refusal of one opening."""
    pointer = f"/structure/openings/{number}/{name}"
    if suggestion is None:
        detail = say(
            "spec.no_offset",
            "{why}; no offset along this side takes an opening of this width beside the others",
            why=detail,
        )
    problem = FieldProblem(pointer=pointer, detail=detail, suggestion=suggestion)
    return OpeningUnbuildable(
        say("spec.opening", "Opening {opening} cannot be built where it is.", opening=number + 1), [problem]
    )


def _runs_along(job: Job, line: PostLine, openings: list[ClearOpening], already: int) -> list[Run]:
    """Cut a line at its openings."""
    ends: list[tuple[Jamb | None, Jamb | None]] = []
    before: Jamb | None = None
    for opening in openings:
        ends.append((before, opening.near))
        before = opening.far
    ends.append((before, None))
    runs: list[Run] = []
    studs = 0
    for front, back in ends:
        supports, studs = _supports(job, line, front, back, studs)
        if len(supports) < 2:
            continue
        flaps = job.spec.options.wind_flaps
        runs.append(
            Run(
                index=already + len(runs),
                id=f"{line.side}-{len(runs) + 1}",
                side=line.side,
                supports=supports,
                front_end="jamb" if front else line.front_end,
                back_end="jamb" if back else line.back_end,
                front_upright=front is None and f"{line.side}-front" in flaps,
                back_upright=back is None and f"{line.side}-back" in flaps,
                height=line.height,
                bury_depth=line.bury_depth,
                asked=line.asked,
                height_class=job.heights.index(line.height),
                ground=_ground(line, supports),
            )
        )
    return runs


def _supports(
    job: Job, line: PostLine, front: Jamb | None, back: Jamb | None, studs: int
) -> tuple[tuple[Support, ...], int]:
    """List the supports between two ends; count the studs used up on this side."""
    width = job.spec.structure.post.width
    first = front.centre if front else line.stations[0]
    last = back.centre if back else line.stations[-1]
    centres: list[tuple[int, int, int | None]] = []
    if front and front.post is None:
        centres.append((front.centre, front.width, None))
    centres += [(s, width, post) for post, s in enumerate(line.stations) if first <= s <= last]
    if back and back.post is None:
        centres.append((back.centre, back.width, None))
    kinds = _kinds(len(centres), front_jamb=front is not None, back_jamb=back is not None)
    supports: list[Support] = []
    for index, (station, wide, post) in enumerate(centres):
        studs += post is None
        label = f"J{studs}" if post is None else f"P{post + 1}"
        supports.append(
            Support(
                index=index,
                label=label,
                x=station - centres[0][0],
                station=station,
                kind=kinds[index],
                width=wide,
                post=post,
            )
        )
    return tuple(supports), studs


def _ground(line: PostLine, supports: Iterable[Support]) -> tuple[float, ...] | None:
    """Find the ground at each support above that at the first; none where the line was not levelled [nm]."""
    if not line.levels:
        return None
    found = [line.ground_at(support.station) for support in supports]
    return tuple([level - found[0] for level in found])


def _kinds(count: int, *, front_jamb: bool, back_jamb: bool) -> list[SupportKind]:
    """Say what each support of a run is."""
    kinds: list[SupportKind] = ["interior"] * count
    if kinds:
        kinds[0] = "jamb" if front_jamb else "end"
        kinds[-1] = "jamb" if back_jamb else "end"
    return kinds


def _check_flaps(job: Job, runs: Iterable[Run]) -> None:
    """Refuse a wind flap whose corner has no run of two bays to carry its upright."""
    carried = {f"{run.side}-front" for run in runs if run.front_upright and run.last >= 2}
    carried |= {f"{run.side}-back" for run in runs if run.back_upright and run.last >= 2}
    for number, corner in enumerate(job.spec.options.wind_flaps):
        if corner not in carried:
            pointer = f"/options/wind_flaps/{number}"
            detail = say(
                "spec.flap_needs",
                "a wind flap needs a walled side and an unbroken run of two bays at its corner",
            )
            raise FieldsDisagree(
                say("spec.no_flap", "This corner cannot carry a wind flap: {corner}.", corner=corner),
                [FieldProblem(pointer=pointer, detail=detail)],
            )
