"""Small course problems for the tests of the solver, drawn with a seed.

Lengths are small whole numbers so that exact fills, ties and shortages are frequent.
"""

from dataclasses import replace
from random import Random

from service.planner.solver.courses.problem import CourseProblem, Stock
from service.planner.solver.courses.runs import CourseRun

SHAPES = ("even", "uneven", "openings", "two heights", "limited", "breaks", "flush", "scarce")


def draw_problem(seed: int) -> CourseProblem:
    """Draw a small problem; the seed picks its shape in turn."""
    random = Random(seed)  # noqa: S311 - no secret
    shape = SHAPES[seed % len(SHAPES)]
    heights = (
        (random.randint(8, 14), random.randint(8, 14)) if shape == "two heights" else (random.randint(8, 14),)
    )
    linear = shape != "two heights" and random.random() < 0.5
    spacing = random.choice((40, 48, 60))
    half_gap = random.choice((-3, -1, 0, 1, 2))
    runs = _runs(random, shape, spacing, half_gap)
    kerf = random.choice((0, 1, 2, 3))
    return CourseProblem(
        runs=runs,
        heights=() if linear else heights,
        stock=_stock(random, shape, (spacing, half_gap, kerf), linear=linear),
        kerf=kerf,
        grid=random.choice((1, 1, 2)),
        max_span=random.choice((None, None, None, 3 * spacing)),
        joint_cost=random.choice((0, 20, 180)),
        cut_cost=random.choice((0, 15, 15)),
    )


def in_two_widths(problem: CourseProblem, seed: int) -> CourseProblem:
    """Offer every sheet in a second width too, so that strips of a length come from several kinds of stock."""
    random = Random(f"widths {seed}")  # noqa: S311 - no secret
    wider = [
        replace(
            own, key=f"wide {own.key}", width=own.width + random.randint(8, 20), price=_dearer(random, own)
        )
        for own in problem.stock
        if own.width is not None
    ]
    return replace(problem, stock=(*problem.stock, *wider))


def _dearer(random: Random, stock: Stock) -> int:
    """Draw the price of a wider sheet, about in proportion to what it gives."""
    return stock.price * random.randint(12, 22) // 10


def _runs(random: Random, shape: str, spacing: int, half_gap: int) -> tuple[CourseRun, ...]:
    """Draw one to three runs, two where bays differ; half of the time the second equals the first."""
    runs: list[CourseRun] = []
    for index in range(random.randint(1, 2 if shape == "uneven" else 3)):
        if runs and shape != "two heights" and random.random() < 0.5:
            runs.append(runs[0])
        else:
            height = index % 2 if shape == "two heights" else 0
            runs.append(_run(random, shape, (spacing, half_gap), height))
    return tuple(runs)


def _run(random: Random, shape: str, numbers: tuple[int, int], height: int) -> CourseRun:
    """Draw one run of up to seven bays."""
    spacing, half_gap = numbers
    bays = random.randint(1, 7 if shape != "uneven" else 5)
    spread = 8 if shape == "uneven" else 0
    positions = [0]
    for bay in range(bays):
        step = spacing + random.randint(-spread, spread)
        if shape == "openings" and bay in (0, bays - 1) and random.random() < 0.5:
            step = random.randint(12, spacing)
        positions.append(positions[-1] + step)
    deductions = [half_gap] * (bays + 1)
    inner = list(range(1, bays))
    forced = set(random.sample(inner, min(len(inner), random.randint(0, 2)))) if shape == "breaks" else set()
    for support in forced:
        deductions[support] = 5
    free = [i for i in inner if i not in forced]
    forbidden = set(random.sample(free, min(len(free), random.randint(0, 1)))) if shape == "breaks" else set()
    return CourseRun(
        positions=tuple(positions),
        joint_deductions=tuple(deductions),
        start_deduction=random.choice((half_gap, 0, -4)),
        end_deduction=random.choice((half_gap, 0, -4)),
        forbidden=frozenset(forbidden),
        forced=frozenset(forced),
        height_class=height,
    )


def _stock(random: Random, shape: str, numbers: tuple[int, int, int], *, linear: bool) -> tuple[Stock, ...]:
    """Draw one to three kinds of stock; "flush" draws lengths that pieces fill exactly, "scarce" may be too little."""
    spacing, half_gap, kerf = numbers
    found = []
    count = random.randint(1, 9) if shape == "scarce" else None
    for index in range(random.randint(1, 2)):
        spans = random.randint(2, 4)
        length = spans * spacing - 2 * half_gap
        if shape == "flush" and random.random() < 0.5:
            length = spans * spacing - 4 * half_gap + kerf
        elif shape != "flush" and random.random() < 0.7:
            length += random.randint(0, spacing // 2)
        width = None if linear else random.choice((14, 24, 30, 40))
        found.append(
            Stock(
                key=f"new {index}",
                length=length,
                width=width,
                price=random.randint(3, 8) * length // 2,
                count=count,
            )
        )
    if shape == "limited" or random.random() < 0.2:
        length = random.randint(spacing // 2, 4 * spacing)
        width = None if linear else random.choice((14, 30))
        price = random.choice((0, 0, 90))
        found.append(
            Stock(key="left over", length=length, width=width, price=price, count=random.randint(1, 3))
        )
    return tuple(found)
