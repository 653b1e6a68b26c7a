"""Pieces of one length: the table finds what the general search proves."""

from hypothesis import given
from hypothesis import strategies as st

from service.planner.solver.cuts.cut_lists import CutDemand, CutListProblem, CutStock
from service.planner.solver.cuts.one_length import cut_one_length


def problem(length: int, count: int, stock: list[tuple[int, int]], kerf: int = 3) -> CutListProblem:
    """Ask for pieces of one length from (length, price) sticks."""
    return CutListProblem(
        stock=tuple(CutStock(length=size, price=price) for size, price in stock),
        demand=(CutDemand(length=length, count=count),),
        kerf=kerf,
    )


def test_the_cheaper_mix_of_sticks_is_opened() -> None:
    """29 of 527 mm: 2438 mm holds 4 at 5.85, 3000 mm holds 5 at 7.75: 6 x 4 + 1 x 5 = 29 costs 35.10 + 7.75."""
    found = cut_one_length(problem(527, 29, [(2438, 585), (3000, 775)]))
    assert found is not None
    assert (found.objective, found.lower_bound, found.stock_used) == (4285, 4285, (6, 1))


def test_what_the_table_does_not_apply_to_is_left_alone() -> None:
    """Limited stock, sheets, several lengths, and pieces that fit nothing."""
    base = problem(500, 4, [(2000, 10)])
    limited = CutListProblem(stock=(CutStock(length=2000, price=10, count=9),), demand=base.demand)
    several = CutListProblem(stock=base.stock, demand=(*base.demand, CutDemand(length=300, count=1)))
    assert [cut_one_length(p) for p in (limited, several, problem(3000, 1, [(2000, 10)]))] == [None] * 3


def cheapest(holds: list[int], prices: list[int], pieces: int) -> int:
    """Find the least price by trying every number of every stick."""
    if pieces <= 0:
        return 0
    if not holds:
        return 10**9
    most = -(-pieces // holds[0])
    return min(
        n * prices[0] + cheapest(holds[1:], prices[1:], pieces - n * holds[0]) for n in range(most + 1)
    )


sticks = st.lists(st.tuples(st.integers(50, 400), st.integers(1, 60)), min_size=1, max_size=3)


@given(st.integers(20, 50), st.integers(1, 14), sticks, st.integers(0, 5))
def test_the_table_is_as_cheap_as_trying_everything(
    length: int, count: int, stock: list[tuple[int, int]], kerf: int
) -> None:
    """Every piece is cut, every stick holds its pieces, and no choice of sticks is cheaper."""
    found = cut_one_length(problem(length, count, stock, kerf))
    assert found is not None
    holds = [(size + kerf) // (length + kerf) for size, _ in stock]
    assert found.objective == cheapest(holds, [price for _, price in stock], count)
    cuts = [(p.stock, p.repeat, p.strips[0].cuts[0].count) for p in found.patterns]
    assert sum(repeat * number for _, repeat, number in cuts) == count
    assert all(number <= holds[index] for index, _, number in cuts)
    opened = [sum(repeat for at, repeat, _ in cuts if at == index) for index in range(len(stock))]
    assert tuple(opened) == found.stock_used
