"""A second search for the least cost of a course, on a general solver and a formulation of its own.

What lives here: every arc between two supports, every way to cut a strip or a stick, and every way to rip a sheet,
as one integer program for OR-Tools' CP-SAT. It shares no code with the service and is meant for small structures.

Minimised: price of the stock opened, an allowance for each joint, an allowance for each crosscut; n pieces take n
crosscuts, or n - 1 where they and their kerfs fill the stock exactly. All in whole cents.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from ortools.sat.python import cp_model

from tests.validation.independent_count import Movement, board_length, channel_length, panel_length
from tests.validation.independent_job import Job, Length, Run, down, mm

Arc = tuple[int, int]
Measure = Callable[[Run, Arc], Length]
Expressions = list[cp_model.LinearExpr | int]
Piece = tuple[Length, Length]
"""Height of its strip (0 for a stick) and length"""


@dataclass(frozen=True, slots=True)
class Stock:
    """One kind of stock: its length, the pieces abreast in it, its price in cents and how many there are."""

    length: Length
    combos: tuple[tuple[Length, ...], ...]
    price: int
    limit: int | None


@dataclass(frozen=True, slots=True)
class Course:
    """What one material's least cost depends on."""

    arcs: list[dict[Arc, Piece]]
    stock: list[Stock]
    kerf: Length
    joint: int
    cut: int


def cents(text: str) -> int:
    """Turn money into cents."""
    return int(Decimal(text) * 100)


def _allowance(job: Job, name: str) -> int:
    own = (job.request.get("allowances") or {}).get(name)
    return cents(own or job.catalog["allowances"].get(name, "2.00"))


def _arcs(run: Run, step: Length, length: Measure, allowed: Callable[[Run, Arc], bool]) -> dict[Arc, Piece]:
    every = ((a, b) for a in range(run.last) for b in range(a + 1, run.last + 1))
    lengths = {arc: down(length(run, arc), step) for arc in every if allowed(run, arc)}
    return {arc: (run.height, cut) for arc, cut in lengths.items() if cut > 0}


def _own(job: Job, sku: str) -> Iterator[tuple[Length, Length | None, int]]:
    for held in job.request.get("on_hand", []):
        if held["sku"] == sku:
            yield mm(held["length"]), mm(held["height"]) if held.get("height") else None, held.get("count", 1)


def _combos(heights: list[tuple[Length, Length]], room: Length) -> list[tuple[Length, ...]]:
    """List what fits abreast in a sheet, heights with what each takes up; only fillings that nothing can be added to."""
    found: list[tuple[Length, ...]] = []

    def fill(start: int, left: Length, taken: tuple[Length, ...]) -> None:
        more = [i for i in range(start, len(heights)) if heights[i][1] <= left]
        for i in more:
            fill(i, left - heights[i][1], (*taken, heights[i][0]))
        if taken and not more:
            found.append(taken)

    fill(0, room, ())
    return found


def panel_course(job: Job, moved: Movement) -> Course:
    """State the panels: sheets ripped to strips, or crosscut to bands where the flutes stand upright."""

    def length(run: Run, arc: Arc) -> Length:
        return panel_length(job, run, arc, moved.gap, moved.end_room)

    def allowed(run: Run, arc: Arc) -> bool:
        return run.x(arc[1]) - run.x(arc[0]) <= moved.span and not run.uprights & set(arc)

    arcs = [_arcs(run, job.units.step, length, allowed) for run in job.runs]
    kerf, heights = job.units.kerf, sorted({run.height for run in job.runs})
    stock = []
    for sheet in job.parts("sheet", thickness=job.thickness):
        sizes: list[tuple[Length, Length, int, int | None]] = [
            (mm(sheet["length"]), mm(sheet["width"]), cents(sheet["price"]), None)
        ]
        sizes += [
            (long, height or mm(sheet["width"]), 0, count) for long, height, count in _own(job, sheet["sku"])
        ]
        for long, width, price, limit in sizes:
            across, along = (long, width) if job.upright_flutes else (width, long)
            tolerance = Fraction(0) if job.upright_flutes else kerf
            combos = _combos([(h, h - tolerance + kerf) for h in heights], across + kerf)
            stock.append(Stock(along, tuple(combos), price, limit))
    return Course(arcs, stock, kerf, _allowance(job, "joint"), _allowance(job, "cut"))


def metal_course(job: Job, role: str) -> Course:
    """State the boards or the channel: sticks cut to length, the channel broken at every upright."""
    boards = role == "baseboard"

    def length(run: Run, arc: Arc) -> Length:
        return board_length(job, run, arc) if boards else channel_length(job, run, arc)

    def allowed(run: Run, arc: Arc) -> bool:
        return boards or not any(arc[0] < i < arc[1] for i in run.uprights)

    sides = [_arcs(run, job.units.step, length, allowed) for run in job.runs]
    arcs = [{arc: (Fraction(0), cut) for arc, (_, cut) in side.items()} for side in sides]
    section = job.board if role == "baseboard" else job.channel
    same = {key: value for key, value in section.items() if key not in ("sku", "price", "pack", "length")}
    stock = []
    for item in job.parts(role):
        if all(item.get(key) == value for key, value in same.items()):
            stock.append(Stock(mm(item["length"]), ((Fraction(0),),), cents(item["price"]), None))
            own = _own(job, item["sku"])
            stock += [Stock(long, ((Fraction(0),),), 0, count) for long, _, count in own]
    return Course(arcs, stock, job.units.kerf, _allowance(job, "metal_joint"), _allowance(job, "cut"))


def _patterns(lengths: list[Length], room: Length, kerf: Length) -> Iterator[tuple[Counter[Length], bool]]:
    """Give every filling of a strip or stick, and whether it is flush."""

    def fill(start: int, left: Length, taken: tuple[Length, ...]) -> Iterator[tuple[Counter[Length], bool]]:
        if taken:
            yield Counter(taken), left == 0
        for i in range(start, len(lengths)):
            if lengths[i] + kerf <= left:
                yield from fill(i, left - lengths[i] - kerf, (*taken, lengths[i]))

    yield from fill(0, room + kerf, ())


def least_cost(course: Course) -> int:
    """Find the least cost, proven [cents]."""
    model = cp_model.CpModel()
    cost: Expressions = []
    demand: dict[Piece, list[cp_model.IntVar]] = {}
    for run in course.arcs:
        _path(model, run, demand, cost, course.joint)
        cost.append(-course.joint)
    made: dict[Piece, list[cp_model.LinearExpr]] = {piece: [] for piece in demand}
    most = sum(max(b for _, b in run) for run in course.arcs)
    for number, stock in enumerate(course.stock):
        _open_stock(model, course, (number, stock, most), made, cost)
    for piece, arcs in demand.items():
        model.add(sum(arcs) == sum(made[piece]))
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 20.0
    status = solver.solve(model)
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    return round(solver.objective_value)


def _path(
    model: cp_model.CpModel,
    run: dict[Arc, Piece],
    demand: dict[Piece, list[cp_model.IntVar]],
    cost: Expressions,
    joint: int,
) -> None:
    """Ask for a path of arcs from a run's first support to its last."""
    last = max(b for _, b in run)
    balance: list[list[cp_model.LinearExpr]] = [[] for _ in range(last + 1)]
    for (a, b), piece in run.items():
        chosen = model.new_bool_var(f"arc {a} {b}")
        balance[a].append(chosen)
        balance[b].append(-chosen)
        demand.setdefault(piece, []).append(chosen)
        cost.append(joint * chosen)
    for support, flow in enumerate(balance):
        model.add(sum(flow) == {0: 1, last: -1}.get(support, 0))


def _open_stock(
    model: cp_model.CpModel,
    course: Course,
    opened: tuple[int, Stock, int],
    made: dict[Piece, list[cp_model.LinearExpr]],
    cost: Expressions,
) -> None:
    """Let strips be cut from one kind of stock, no more than the stock opened gives."""
    number, stock, most = opened
    sheets = [
        (combo, model.new_int_var(0, most, f"stock {number} {i}")) for i, combo in enumerate(stock.combos)
    ]
    cost += [stock.price * sheet for _, sheet in sheets]
    if stock.limit is not None:
        model.add(sum(sheet for _, sheet in sheets) <= stock.limit)
    for height in {height for combo in stock.combos for height in combo}:
        lengths = sorted((length for h, length in made if h == height), reverse=True)
        strips = []
        for pattern, flush in _patterns(lengths, stock.length, course.kerf):
            strip = model.new_int_var(0, most, f"strip {number}")
            strips.append(strip)
            cost.append(course.cut * (pattern.total() - flush) * strip)
            for length, count in pattern.items():
                made[height, length].append(count * strip)
        model.add(sum(strips) <= sum(combo.count(height) * sheet for combo, sheet in sheets))
