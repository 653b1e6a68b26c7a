"""Plans made from prices by compiled code: they cut what they lay, from stock that there is, and cost what they say."""

from collections import Counter
from collections.abc import Iterator

from service.planner.solver.courses.pieces import ALIKE, EVEN, INNER, PLACED, START, WHOLE, Block
from service.planner.solver.courses.price_plan import guided_plan
from service.planner.solver.courses.program import Plan, Program
from service.planner.solver.courses.quick_bound import counted
from service.planner.solver.courses.sampling import prices_by_length
from service.planner.solver.courses.strips import Pattern
from tests.planner.course_cases import draw_problem
from tests.planner.small_programs import endless, model_of

SEEDS = range(300)


def plans() -> Iterator[tuple[int, Program, Plan]]:
    """The plans that counting and prices by length make of drawn problems."""
    for seed in SEEDS:
        try:
            program = model_of(draw_problem(seed)).program
        except ValueError:
            continue
        prices, start = prices_by_length(program), counted(program, endless())
        for plan in (prices and guided_plan(program, prices, endless()), start and start[0]):
            if plan:
                yield seed, program, plan


def covers(block: Block, counts: list[int]) -> bool:
    """Whether so many of each piece make up all sections of a block."""
    size, last = block.group.size, block.group.section.last
    chosen = [(piece.place, count) for piece, count in zip(block.pieces, counts, strict=True) if count]
    if block.way == PLACED:
        ends: Counter[int] = Counter()
        for (start, end), count in chosen:
            ends[start] += count
            ends[end] -= count
        return {at: n for at, n in ends.items() if n} == {0: size, last: -size}
    spans = sum(place[1] * count for place, count in chosen)
    begun = sum(count for place, count in chosen if place[0] in {WHOLE, START})
    return spans == size * last and (
        begun == size if block.way == EVEN else {p[0] for p, _ in chosen} == {INNER}
    )


def cut_from(program: Program, strips: list[tuple[int, Pattern]]) -> Counter[int]:
    """Count the pieces of every slot that are cut, each strip with room for its own."""
    held: Counter[int] = Counter()
    for strip, pattern in strips:
        taken = [program.slots[slot] + program.kerf for slot, n in pattern.counts for _ in range(n)]
        room = program.strips[strip][0] + program.kerf
        assert sum(taken) == room if pattern.flush else sum(taken) < room
        for slot, n in pattern.counts:
            held[slot] += n
    return held


def test_plans_hold_together() -> None:
    """Sections are covered, every piece has its place in a strip, every strip in stock, and the cost is theirs."""
    ways, limited = Counter[int](), 0
    for seed, program, plan in plans():
        limited += any(supply.count is not None for supply in program.supplies)
        chosen, need, given = plan.chosen, Counter[int](), Counter[int]()
        for block, counts in zip(program.blocks, chosen.pieces, strict=True):
            assert covers(block, counts), f"seed {seed}"
            ways[block.way] += 1
            for piece, count in zip(block.pieces, counts, strict=True):
                need[program.slot_of[piece.kind]] += count
        strips = Counter(strip for strip, _ in chosen.strips)
        assert +cut_from(program, chosen.strips) == +need, f"seed {seed}"
        for at, rip in chosen.opened:
            for strip, n in program.supplies[at].rips[rip]:
                given[strip] += n
        assert strips <= given, f"seed {seed}"
        for at, number in Counter(at for at, _ in chosen.opened).items():
            most = program.supplies[at].count
            assert most is None or number <= most, f"seed {seed}"
        assert plan.cost == program.plan(chosen).cost, f"seed {seed}"
    assert min(ways[way] for way in (PLACED, EVEN, ALIKE)) >= 20
    assert limited >= 160  # what is used up in one place is not counted on in another


def test_where_stock_runs_out_there_is_no_plan() -> None:
    """A single stock of which there is one, for runs that need more."""
    missing = 0
    for seed in SEEDS:
        try:
            program = model_of(draw_problem(seed)).program
        except ValueError:
            continue
        if all(supply.count is not None for supply in program.supplies):
            start = counted(program, endless())
            missing += start is not None and start[0] is None
    assert missing >= 1
