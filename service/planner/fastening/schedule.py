"""The fastener schedule: the walk over the fastening rules table, run by run.

Rules of this file
------------------
- Screws of one place, height and layers share a row; its supports stand in order.
- Where they go is said in ``places.py``, what they meet in ``layers.py``, which screw in ``window.py``.
- Holes in panels and clearance holes in metal are sized in ``holes.py``.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from service.planner.asked.settle import Job
from service.planner.fastening.holes import panel_holes
from service.planner.fastening.layers import Backing, backing, frame, skins, stud
from service.planner.fastening.places import PLACES, Screws, Wall, board_classes, crossed
from service.planner.fastening.window import Chooser
from service.planner.rules import Place
from service.planner.wall.details import screw_line
from service.planner.wall.layout import FastenerRow, Layer, Layout, RunWall


def schedule(job: Job, layout: Layout) -> tuple[FastenerRow, ...]:
    """List every screw of the wall.

    Parameters
    ----------
    job
        The settled question.
    layout
        Everything that stands on the wall.

    Returns
    -------
        Rows, run by run and within a run in the order of the fastening rules table.

    Raises
    ------
    NoSuchItem
        When the catalog has no screw of a number, head and drive that the table asks for, or no washer.
    """
    covering = panel_holes(job, layout).washers
    chooser = Chooser(job.catalog, job.fastening, job.units)
    rows: list[FastenerRow] = []
    for wall in _walls(job, layout, covering):
        for place, screws_of in PLACES.items():
            rows += _rows(wall, place, screws_of(wall), chooser)
    return tuple(rows)


def totals(rows: Iterable[FastenerRow]) -> Mapping[str, int]:
    """Count screws and washers of a schedule by sku [-].

    Parameters
    ----------
    rows
        Rows of the schedule.
    """
    counts: Counter[str] = Counter()
    for row in rows:
        counts[row.screw.sku] += row.count
        if row.washer is not None:
            counts[row.washer.sku] += row.count
    return counts


def _walls(job: Job, layout: Layout, covering: Sequence[int]) -> Iterator[Wall]:
    """Gather what belongs to each run."""
    surfaces, behind = skins(job), frame(job)
    for wall in layout.walls:
        run = wall.run
        yield Wall(
            job=job,
            skins=surfaces,
            frame=behind,
            run=run,
            heights=wall.heights,
            crossed=crossed(run, wall.panels),
            board_classes=board_classes(run, wall.boards, wall.joints),
            parts=wall.parts,
            plates=wall.plates,
            studs=frozenset(at for at in (0, run.last) if run.supports[at].post is None),
            lines=_lines(job, wall),
            channels=wall.channels,
            covering=covering[run.index],
        )


def _lines(job: Job, wall: RunWall) -> tuple[int, ...]:
    """The line that a board's screws sit on at each support: joint mark, end post's line or centre [nm]."""
    lines = [screw_line(job, wall.run, at) for at in range(wall.run.last + 1)]
    for joint in wall.joints:
        lines[joint.support] = joint.x
    return tuple(lines)


def _rows(
    wall: Wall, place: Place, screws_of_place: Iterable[Screws], chooser: Chooser
) -> Iterator[FastenerRow]:
    """Put equal screws of one place into rows."""
    grouped: dict[tuple[int, tuple[Layer, ...], int, int, bool], dict[int, tuple[int, ...]]] = {}
    for screws in screws_of_place:
        each, xs = len(screws.xs) // len(screws.supports) or 1, _xs(wall, screws)
        for supports, behind in _backings(wall, screws):
            equal = (screws.z, screws.skins + behind.layers, behind.room, each, screws.slot)
            grouped.setdefault(equal, {}).update({at: xs[at] for at in supports})
    for number, ((z, layers, room, _, slot), where) in enumerate(grouped.items(), start=1):
        supports = tuple(sorted(where))
        places = tuple([x for at in supports for x in where[at]])
        choice = chooser.choose(place, layers, room, wall.covering)
        yield FastenerRow(
            id=f"{wall.run.id}-{place}-{number}",
            place=place,
            run=wall.run.index,
            supports=supports,
            xs=places,
            z=z,
            count=len(places),
            screw=choice.screw,
            washer=choice.washer,
            layers=layers,
            shortest=choice.shortest,
            longest=choice.longest,
            fits=choice.fits,
            pilot=choice.pilot,
            clearance=choice.clearance,
            slot=slot or choice.slot,
        )


def _xs(wall: Wall, screws: Screws) -> Mapping[int, tuple[int, ...]]:
    """Where the screws sit on each support, its centre where nothing is said [nm]."""
    if not screws.xs:
        return {at: (wall.run.supports[at].x,) for at in screws.supports}
    each = len(screws.xs) // len(screws.supports)
    return {at: screws.xs[n * each : (n + 1) * each] for n, at in enumerate(screws.supports)}


def _backings(wall: Wall, screws: Screws) -> Sequence[tuple[Sequence[int], Backing]]:
    """Sort supports into posts and studs, with what stands behind."""
    if not screws.backed:
        return ((screws.supports, wall.frame.beside),)
    behind = backing(wall.frame, wall.heights, screws.z)
    if wall.studs.isdisjoint(screws.supports):
        return ((screws.supports, behind),)
    posts = [support for support in screws.supports if support not in wall.studs]
    studs = sorted(wall.studs.intersection(screws.supports))
    found: list[tuple[Sequence[int], Backing]] = [(posts, behind)] if posts else []
    return found + [([support], stud(wall.run.supports[support].width)) for support in studs]
