"""Invented structures for measuring the planner, and what "realistic" means for them.

A structure is drawn with a seeded generator, so that every run of the measurement sees the same ones. The
shares below are judgement (no source): most tunnels have even bays and two sides, some have stations of their own,
openings, wind flaps, sides of two heights, or stock left over from an earlier job. Stations differ for two
reasons: a post dodged a rock, or all posts were measured as they stand. Rough structures, drawn only when asked for,
have every bay off by up to an eighth, so that no two pieces are alike: the hardest to solve, and not usual. The
planner's rules stand in for each other only as far as the numbers of the three courses need.
"""

from dataclasses import dataclass
from random import Random

from service.planner.solver.courses.problem import CourseProblem, Stock
from service.planner.solver.courses.runs import CourseRun

INCH = 25_400_000
MILLIMETRE = 1_000_000
SIXTEENTH = INCH // 16

DODGED_SHARE = 0.06
"""Share of structures where some posts stand aside of their mark, by up to a quarter of a bay [-]."""
AS_BUILT_SHARE = 0.06
"""Share of structures where every post was measured, within an inch (25 mm) of its mark [-]."""
OPENING_SHARE = 0.25
FLAP_SHARE = 0.20
ONE_SIDE_SHARE = 0.15
TWO_HEIGHTS_SHARE = 0.10
ON_HAND_SHARE = 0.15
METRIC_SHARE = 0.20
SECOND_STOCK_SHARE = 0.45
FULL_LIST_SHARE = 0.25
"""Share of courses that may use all the lengths a dealer stocks, sheets in two widths [-]."""

SPACINGS = ((48, 4), (60, 3), (72, 2))
METRIC_SPACINGS = ((1200, 2), (1500, 3), (2000, 2))
HEIGHTS = ((24, 6), (18, 1), (16, 1), (30, 1), (36, 2))
SHEET_LENGTHS = (96, 120, 144, 192, 240, 288)
SHEET_WIDTHS = ((48, 4), (72, 1))
BOARD_LENGTHS = (123, 147, 195, 243)
CHANNEL_LENGTHS = (96, 120, 144, 192, 240)
METRIC_SHEETS = (3000, 4000, 6000, 7000)
METRIC_STICKS = (3000, 4000, 5000, 6000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """The three course problems of one structure.

    Parameters
    ----------
    panels
        The panels.
    boards
        The baseboards.
    channels
        The top channel.
    """

    panels: CourseProblem
    boards: CourseProblem
    channels: CourseProblem


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """A run before it is told what its courses deduct."""

    positions: tuple[int, ...]
    start_jamb: bool
    end_jamb: bool
    height_class: int


def make_structures(count: int, seed: int = 0, *, rough: bool = False) -> list[Structure]:
    """Draw structures; the same count and seed give the same ones, `rough` asks for bays that all differ."""
    return [make_structure(Random(f"{seed}/{index}"), rough=rough) for index in range(count)]  # noqa: S311 - no secret


def make_structure(random: Random, *, rough: bool = False) -> Structure:
    """Draw one structure."""
    metric = random.random() < METRIC_SHARE
    stretches = _stretches(random, metric=metric, rough=rough)
    heights = [_height(random, metric=metric)]
    if any(stretch.height_class for stretch in stretches):
        heights.append(_height(random, metric=metric))
    flaps = (
        frozenset(random.sample(("start", "end"), random.choice((1, 2))))
        if random.random() < FLAP_SHARE
        else frozenset()
    )
    return Structure(
        panels=_panels(random, stretches, heights, flaps, metric=metric),
        boards=_boards(random, stretches, metric=metric),
        channels=_channels(random, stretches, flaps, metric=metric),
    )


def _weighted(random: Random, table: tuple[tuple[int, int], ...]) -> int:
    """Draw a value from a table of values and weights."""
    return random.choices([value for value, _ in table], [weight for _, weight in table])[0]


def _height(random: Random, *, metric: bool) -> int:
    """Draw what a strip takes of a sheet's width [nm]."""
    inches = _weighted(random, HEIGHTS)
    return (inches * 25 - 3) * MILLIMETRE if metric else inches * INCH - INCH // 8


def _stretches(random: Random, *, metric: bool, rough: bool) -> list[_Stretch]:
    """Draw the sides and cut them at their openings."""
    sides = 1 if random.random() < ONE_SIDE_SHARE else 2
    stations = _stations(random, metric=metric, rough=rough)
    two_heights = sides == 2 and random.random() < TWO_HEIGHTS_SHARE
    opened = random.randrange(sides) if random.random() < OPENING_SHARE else None
    found = []
    for side in range(sides):
        parts = _opened(random, stations) if side == opened else [(stations, False, False)]
        found += [
            _Stretch(positions=x, start_jamb=start, end_jamb=end, height_class=side if two_heights else 0)
            for x, start, end in parts
        ]
    return found


def _stations(random: Random, *, metric: bool, rough: bool) -> tuple[int, ...]:
    """Draw the supports of a side: even bays, or stations of their own."""
    bays = min(random.randint(5, 60), random.randint(5, 60))
    unit, spacings = (
        (MILLIMETRE, METRIC_SPACINGS) if metric else (INCH // 4, tuple((4 * s, w) for s, w in SPACINGS))
    )
    spacing = _weighted(random, spacings)
    marks = [spacing * bay for bay in range(bays + 1)]
    kind = random.random()
    if rough:
        off = [0, *(random.randint(-spacing // 8, spacing // 8) for _ in range(bays))]
        marks = [mark + sum(off[: at + 1]) for at, mark in enumerate(marks)]
    elif kind < DODGED_SHARE:
        for at in random.sample(range(1, bays), random.randint(1, min(3, bays - 1))):
            marks[at] += random.choice((-1, 1)) * random.randint(spacing // 16, spacing // 4)
    elif kind < DODGED_SHARE + AS_BUILT_SHARE:
        near = INCH // unit
        marks = [0, *(mark + random.randint(-near, near) for mark in marks[1:])]
    return tuple([mark * unit for mark in marks])


def _opened(random: Random, stations: tuple[int, ...]) -> list[tuple[tuple[int, ...], bool, bool]]:
    """Cut a side at an opening inside one bay, with a jamb on both of its edges."""
    bay = random.randrange(1, len(stations) - 2)
    room = stations[bay + 1] - stations[bay]
    near, far = stations[bay] + room // 5, stations[bay + 1] - room // 5
    first = (*stations[: bay + 1], near)
    second = (0, *(x - far for x in stations[bay + 1 :]))
    return [(first, False, True), (second, True, False)]


def _stock(
    random: Random, name: str, lengths: tuple[int, ...], unit: int, price: float, least: int = 0
) -> list[tuple[str, int, int]]:
    """Draw one or two lengths of stock, or all, not below the least, and their prices; the longer is a little cheaper by length."""
    usable = [length for length in lengths[1:] if length * unit > least]
    count = 2 if random.random() < SECOND_STOCK_SHARE and len(usable) > 1 else 1
    chosen = usable if random.random() < FULL_LIST_SHARE else sorted(random.sample(usable, count))
    return [
        (
            f"{name}-{length}",
            length * unit,
            _price(random, price * length * unit / (144 * INCH), length * unit / INCH),
        )
        for length in chosen
    ]


def _price(random: Random, price: float, inches: float) -> int:
    """Round a price to one that ends in .00, .50 or .95 [minor units of money]."""
    return round(price * (1 - 0.0002 * inches)) // 100 * 100 + random.choice((0, 50, 95))


def _panels(
    random: Random, stretches: list[_Stretch], heights: list[int], flaps: frozenset[str], *, metric: bool
) -> CourseProblem:
    """Draw the panels: sheets, a joint gap, no joint under a wind flap."""
    unit, lengths = (MILLIMETRE, METRIC_SHEETS) if metric else (INCH, SHEET_LENGTHS)
    drawn = _stock(random, "sheet", lengths, unit, 4800, _longest_pair(stretches) if flaps else 0)
    widths = [1200 * MILLIMETRE] if metric else [_weighted(random, SHEET_WIDTHS) * INCH]
    if len(drawn) > 2:
        widths = [1200 * MILLIMETRE, 2100 * MILLIMETRE] if metric else [48 * INCH, 72 * INCH]
    stock = [
        Stock(key=f"{key}-{width}", length=length, width=width, price=price * width // (48 * INCH))
        for key, length, price in drawn
        for width in widths
    ]
    if random.random() < ON_HAND_SHARE:
        length = random.randint(30, 140) * INCH
        stock.append(
            Stock(key="left-over", length=length, width=max(heights), price=0, count=random.randint(1, 6))
        )
    half_gap = 8 * MILLIMETRE if metric else random.choice((7, 8, 9, 10)) * INCH // 32
    runs = [_run(stretch, half_gap, (0, 6 * MILLIMETRE), flaps, forbid=True) for stretch in stretches]
    return _problem(runs, stock, 1800, tuple(heights), metric=metric)


def _longest_pair(stretches: list[_Stretch]) -> int:
    """Longest two bays side by side, which a panel must span where no joint may fall between them [nm]."""
    return max(
        x[i + 2] - x[i] for stretch in stretches for x in (stretch.positions,) for i in range(len(x) - 2)
    )


def _boards(random: Random, stretches: list[_Stretch], *, metric: bool) -> CourseProblem:
    """Draw the baseboards: sticks, laps, boards run past the end posts' centres."""
    unit, lengths = (MILLIMETRE, METRIC_STICKS) if metric else (INCH, BOARD_LENGTHS)
    stock = [
        Stock(key=key, length=n, price=price)
        for key, n, price in _stock(random, "board", lengths, unit, 2400)
    ]
    half_lap = -(37 * MILLIMETRE) if metric else -3 * INCH // 2
    ends = (-(24 * MILLIMETRE), -(19 * MILLIMETRE)) if metric else (-95 * INCH // 100, -3 * INCH // 4)
    runs = [_run(stretch, half_lap, ends, frozenset()) for stretch in stretches]
    return _problem(_one_class(runs), stock, 200, (), metric=metric)


def _channels(
    random: Random, stretches: list[_Stretch], flaps: frozenset[str], *, metric: bool
) -> CourseProblem:
    """Draw the top channel: sticks, small gaps, broken at wind flaps."""
    unit, lengths = (MILLIMETRE, METRIC_STICKS) if metric else (INCH, CHANNEL_LENGTHS)
    stock = [
        Stock(key=key, length=n, price=price)
        for key, n, price in _stock(random, "channel", lengths, unit, 1800)
    ]
    if random.random() < ON_HAND_SHARE:
        stock.append(
            Stock(key="left-over", length=random.randint(40, 140) * INCH, price=0, count=random.randint(1, 4))
        )
    half_gap = 3 * MILLIMETRE // 2 if metric else INCH // 16
    ends = (27 * MILLIMETRE, -(19 * MILLIMETRE)) if metric else (17 * INCH // 16, -3 * INCH // 4)
    runs = [_run(stretch, half_gap, ends, flaps, forbid=False) for stretch in stretches]
    return _problem(_one_class(runs), stock, 200, (), metric=metric)


def _run(
    stretch: _Stretch, deduction: int, ends: tuple[int, int], flaps: frozenset[str], *, forbid: bool = False
) -> CourseRun:
    """A stretch the deductions of a course; `ends` at an end post and at a jamb."""
    last = len(stretch.positions) - 1
    uprights = set()
    if "start" in flaps and not stretch.start_jamb and last > 2:
        uprights.add(1)
    if "end" in flaps and not stretch.end_jamb and last > 2:
        uprights.add(last - 1)
    deductions = [deduction] * (last + 1)
    if not forbid:
        for upright in uprights:
            deductions[upright] = 19 * MILLIMETRE
    return CourseRun(
        positions=stretch.positions,
        joint_deductions=tuple(deductions),
        start_deduction=ends[stretch.start_jamb],
        end_deduction=ends[stretch.end_jamb],
        forbidden=frozenset(uprights if forbid else ()),
        forced=frozenset(() if forbid else uprights),
        height_class=stretch.height_class,
    )


def _one_class(runs: list[CourseRun]) -> list[CourseRun]:
    """Linear stock knows no heights."""
    return [
        CourseRun(
            positions=run.positions,
            joint_deductions=run.joint_deductions,
            start_deduction=run.start_deduction,
            end_deduction=run.end_deduction,
            forbidden=run.forbidden,
            forced=run.forced,
        )
        for run in runs
    ]


def _problem(
    runs: list[CourseRun], stock: list[Stock], joint_cost: int, heights: tuple[int, ...], *, metric: bool
) -> CourseProblem:
    """Return the problem with the kerf, grid and cut allowance of its units."""
    return CourseProblem(
        runs=tuple(runs),
        heights=heights,
        stock=tuple(stock),
        kerf=3 * MILLIMETRE if metric else INCH // 8,
        grid=MILLIMETRE if metric else SIXTEENTH,
        joint_cost=joint_cost,
        cut_cost=150,
    )
