"""Plans held fixed: what was laid out stays, and one thing about site or wall is changed under it; changed requests.

A planner that plans again would leave more room; the checks are judged on the layout as it is.
"""

from dataclasses import replace
from typing import Any

from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Site
from service.planner.bill.pricing import price
from service.planner.bill.takeoff import take_off
from service.planner.fastening.schedule import schedule
from service.planner.judging.facts import Facts
from service.planner.plan import PLAN_UNITS
from service.planner.solver.effort import Effort
from service.planner.wall.assembly import lay_out
from service.planner.wall.layout import FastenerRow, Heights, Piece, Run, RunWall
from service.planner.wall.runs import lay_runs
from tests.planner.asking import job_of


def apply_change(body: dict[str, Any], pointer: str, value: Any) -> None:
    """Put a value where an RFC 6901 pointer leads; objects that are missing on the way are made."""
    *way, last = pointer.removeprefix("/").split("/")
    place: Any = body
    for step in way:
        if isinstance(place, list):
            place = place[int(step)]
            continue
        if place.get(step) is None:
            place[step] = {}
        place = place[step]
    place[int(last) if isinstance(place, list) else last] = value


def facts_of(body: dict[str, Any], catalog: Catalog) -> Facts:
    """Plan a request as far as its checks."""
    job = job_of(body, catalog)
    runs, openings = lay_runs(job)
    layout = lay_out(job, runs, Effort(PLAN_UNITS))
    rows = schedule(job, layout)
    return Facts(
        job=job, layout=layout, openings=openings, rows=rows, bill=price(take_off(job, layout, rows))
    )


def on_site(facts: Facts, site: Site) -> Facts:
    """Put a wall on another site."""
    movement = replace(
        facts.layout.movement,
        warming=site.highest_temperature_c - site.install_temperature_c,
        cooling=site.install_temperature_c - site.lowest_temperature_c,
    )
    job = replace(facts.job, spec=replace(facts.job.spec, site=site))
    return replace(facts, job=job, layout=replace(facts.layout, movement=movement))


def stretched(facts: Facts, factor: float) -> Facts:
    """Set every support so many times as far away; the gaps between the pieces stay."""

    def longer(wall: RunWall) -> RunWall:
        run = _longer_run(wall.run, factor)

        def pieces(course: tuple[Piece, ...]) -> tuple[Piece, ...]:
            return tuple(_longer_piece(piece, wall.run, run) for piece in course)

        return replace(
            wall,
            run=run,
            panels=pieces(wall.panels),
            boards=pieces(wall.boards),
            channels=pieces(wall.channels),
            hooks=(),
        )

    job = replace(facts.job, stations=tuple(round(station * factor) for station in facts.job.stations))
    layout = replace(facts.layout, walls=tuple(longer(wall) for wall in facts.layout.walls))
    return replace(facts, job=job, layout=layout)


def _longer_run(run: Run, factor: float) -> Run:
    supports = tuple(
        replace(support, x=round(support.x * factor), station=round(support.station * factor))
        for support in run.supports
    )
    return replace(run, supports=supports)


def _longer_piece(piece: Piece, old: Run, new: Run) -> Piece:
    start = piece.x_start + new.supports[piece.start].x - old.supports[piece.start].x
    end = piece.x_end + new.supports[piece.end].x - old.supports[piece.end].x
    return replace(piece, x_start=start, x_end=end, length=end - start)


def raised(facts: Facts, factor: float) -> Facts:
    """Stretch everything above the board to so many times its height, screws with it."""
    walls = tuple(
        replace(
            wall,
            run=replace(wall.run, height=round(wall.run.height * factor)),
            heights=_higher(wall.heights, factor),
        )
        for wall in facts.layout.walls
    )
    rows = tuple(
        _higher_row(row, facts.layout.walls[row.run].heights.board_top, factor) for row in facts.rows
    )
    return replace(facts, layout=replace(facts.layout, walls=walls), rows=rows)


def _up(z: int, board: int, factor: float) -> int:
    return max(z, board + round((z - board) * factor)) if z > board else z


def _higher(lines: Heights, factor: float) -> Heights:
    board = lines.board_top
    names = ("locating", "channel_underside", "panel_top", "flange_line", "channel_top")
    moved = {name: _up(getattr(lines, name), board, factor) for name in names}
    return replace(lines, field=tuple(_up(z, board, factor) for z in lines.field), **moved)


def _higher_row(row: FastenerRow, board: int, factor: float) -> FastenerRow:
    return replace(row, z=_up(row.z, board, factor))
