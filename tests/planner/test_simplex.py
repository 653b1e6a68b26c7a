"""The simplex method on small programs against HiGHS, an independent solver."""

from collections.abc import Iterator
from itertools import count, islice
from math import inf
from random import Random

import numpy as np
import pytest

from service.bench_structures import make_structures
from service.planner.solver.courses import program
from service.planner.solver.courses.formulation import Formulation
from service.planner.solver.effort import Effort
from service.planner.solver.lp import relaxation
from service.planner.solver.lp.basis import invert, settle
from service.planner.solver.lp.relaxation import Relaxation
from service.planner.solver.lp.simplex import ABOVE, INFEASIBLE, OPTIMAL, STUCK, TURNS
from tests.planner.course_cases import draw_problem
from tests.planner.small_programs import (
    Small,
    ask_highs,
    close,
    columns_of,
    draw_program,
    first_basis,
    highs_of,
    model_of,
    program_of,
    relaxation_of,
    solve_from,
    with_all_patterns,
    within,
)

PROGRAMS = range(500)


def drawn_models(number: int) -> Iterator[Formulation]:
    """The models of small course problems; those with a section that no piece covers have none."""
    for seed in islice(count(), number):
        try:
            yield model_of(draw_problem(seed))
        except ValueError:
            continue


def test_least_cost_is_that_of_an_independent_solver() -> None:
    """Optimum, or that there is none, of 500 programs: equalities, tied and repeated rows, boxes, falling costs."""
    ends = {OPTIMAL: 0, INFEASIBLE: 0}
    for seed in PROGRAMS:
        small = draw_program(seed)
        columns = columns_of(small)
        how, cost, _ = solve_from(columns, first_basis(columns, len(small.row_lows)))
        best = ask_highs(program_of(small))
        assert how == (INFEASIBLE if best is None else OPTIMAL), f"seed {seed}"
        assert best is None or close(cost, best), f"seed {seed}"
        ends[how] += 1
    assert min(ends.values()) >= 100


def test_values_and_prices_prove_each_other() -> None:
    """Values keep all bounds and rows, prices leave no reduced cost wrong, and what both are worth is the same.

    Weak duality (any textbook) then makes the value a bound without asking another solver.
    """
    for seed in PROGRAMS:
        small = draw_program(seed)
        columns, size = columns_of(small), len(small.row_lows)
        basis = first_basis(columns, size)
        how, cost, _ = solve_from(columns, basis)
        if how != OPTIMAL:
            continue
        values, prices = basis.levels[size:], basis.reduced[:size]
        assert within(values, small.lows, small.highs), f"seed {seed}"
        assert within(small.matrix @ values, small.row_lows, small.row_highs), f"seed {seed}"
        assert close(float(small.costs @ values), cost), f"seed {seed}"
        reduced = small.costs - small.matrix.T @ prices
        ends = np.where(reduced > 1e-7, small.lows, np.where(reduced < -1e-7, small.highs, 0.0))
        sides = np.where(prices > 1e-7, small.row_lows, np.where(prices < -1e-7, small.row_highs, 0.0))
        assert close(float(reduced @ ends + prices @ sides), cost), f"seed {seed}"


def test_columns_enter_where_that_is_cheaper() -> None:
    """From a plan that keeps all rows but is dear, entering columns and crossing bounds lead to the optimum by HiGHS."""
    for seed in range(300):
        random = Random(f"cheaper {seed}")  # noqa: S311 - no secret
        rows, columns = random.randint(1, 8), random.randint(1, 14)
        small = Small(
            costs=np.array([float(random.randint(-9, 4)) for _ in range(columns)]),
            lows=np.zeros(columns),
            highs=np.array(
                [float(random.randint(1, 4)) if random.random() < 0.4 else inf for _ in range(columns)]
            ),
            row_lows=np.full(rows, -inf),
            row_highs=np.array([float(random.choice((0, 3, 7, 7))) for _ in range(rows)]),
            matrix=np.array(
                [[float(random.choice((0, 1, 1, 2, 3))) for _ in range(columns)] for _ in range(rows)]
            ),
        )
        small.matrix[0] += small.matrix.sum(axis=0) == 0.0
        program = columns_of(small)
        basis = first_basis(program, rows)
        basis.levels[rows:] = 0.0
        how, cost, _ = solve_from(program, basis)
        best = ask_highs(program_of(small))
        assert best is not None
        assert (how, close(cost, best)) == (OPTIMAL, True), f"seed {seed}: {cost} {best}"


def test_a_cost_without_end_is_told() -> None:
    """One column may grow for ever at a gain: no optimum is claimed."""
    small = Small(
        costs=np.array([-1.0, 1.0]),
        lows=np.zeros(2),
        highs=np.full(2, inf),
        row_lows=np.array([-inf]),
        row_highs=np.array([4.0]),
        matrix=np.array([[-1.0, 1.0]]),
    )
    columns = columns_of(small)
    assert solve_from(columns, first_basis(columns, 1))[0] == STUCK


def test_a_limit_is_told_only_where_the_optimum_is_beyond_it() -> None:
    """Below the optimum by HiGHS the limit ends the iterations, at a cost that is no more than the optimum; above it never does."""
    told = 0
    for seed in PROGRAMS:
        small = draw_program(seed)
        best = ask_highs(program_of(small))
        if best is None:
            continue
        columns, size = columns_of(small), len(small.row_lows)
        beyond = best - 1e-3 * (1.0 + abs(best))
        how, cost, turns = solve_from(columns, first_basis(columns, size), beyond)
        assert how == ABOVE or not turns, f"seed {seed}"
        assert cost <= best + 1e-6 * (1.0 + abs(best)), f"seed {seed}"
        assert how != ABOVE or cost > beyond
        told += how == ABOVE
        enough = best + 1e-3 * (1.0 + abs(best))
        assert solve_from(columns, first_basis(columns, size), enough)[0] == OPTIMAL, f"seed {seed}"
    assert told >= 100


def test_an_inverse_made_anew_gives_the_same_values() -> None:
    """After the solution the inverse times the basic columns is one, and making it anew changes neither values nor prices."""
    for seed in PROGRAMS[:300]:
        small = draw_program(seed)
        columns, size = columns_of(small), len(small.row_lows)
        basis = first_basis(columns, size)
        how, cost, _ = solve_from(columns, basis)
        if how != OPTIMAL:
            continue
        whole = np.hstack([-np.eye(size), small.matrix])
        assert np.allclose(basis.inverse @ whole[:, basis.head], np.eye(size), atol=1e-8), f"seed {seed}"
        levels, reduced, head = basis.levels.copy(), basis.reduced.copy(), set(basis.head.tolist())
        assert invert(columns, basis)
        assert close(settle(columns, basis), cost), f"seed {seed}"
        assert set(basis.head.tolist()) == head
        assert all(basis.places[variable] == row for row, variable in enumerate(basis.head))
        assert np.allclose(basis.inverse @ whole[:, basis.head], np.eye(size), atol=1e-8), f"seed {seed}"
        assert np.allclose(basis.levels, levels, atol=1e-7), f"seed {seed}"
        assert np.allclose(basis.reduced, reduced, atol=1e-7), f"seed {seed}"


def test_columns_that_depend_on_each_other_have_no_inverse() -> None:
    """A basis of the same column twice is refused."""
    small = Small(
        costs=np.ones(2),
        lows=np.zeros(2),
        highs=np.full(2, inf),
        row_lows=np.ones(2),
        row_highs=np.full(2, inf),
        matrix=np.array([[1.0, 2.0], [1.0, 2.0]]),
    )
    columns = columns_of(small)
    basis = first_basis(columns, 2)
    basis.head[:] = (2, 3)
    assert not invert(columns, basis)


def test_ties_everywhere_come_to_an_end() -> None:
    """Assignments of n to n at few different costs: 2n equalities, one of them too many, and n - 1 basic zeros at every corner."""
    for size in range(2, 9):
        for seed in range(4):
            random = Random(f"{size} {seed}")  # noqa: S311 - no secret
            matrix = np.zeros((2 * size, size * size))
            for i in range(size):
                matrix[i, i * size : (i + 1) * size] = 1.0
                matrix[size + i, i::size] = 1.0
            small = Small(
                costs=np.array([float(random.randint(0, 2)) for _ in range(size * size)]),
                lows=np.zeros(size * size),
                highs=np.full(size * size, inf),
                row_lows=np.ones(2 * size),
                row_highs=np.ones(2 * size),
                matrix=matrix,
            )
            columns = columns_of(small)
            how, cost, turns = solve_from(columns, first_basis(columns, 2 * size))
            best = ask_highs(program_of(small))
            assert best is not None
            assert (how, close(cost, best)) == (OPTIMAL, True)
            assert turns < TURNS / 2


def test_a_program_that_makes_the_plain_rule_go_in_circles_ends() -> None:
    """Beale's example (E. M. L. Beale, "Cycling in the dual simplex algorithm", 1955, from memory): least cost -5/4."""
    small = Small(
        costs=np.array([-0.75, 20.0, -0.5, 6.0]),
        lows=np.zeros(4),
        highs=np.full(4, inf),
        row_lows=np.full(3, -inf),
        row_highs=np.array([0.0, 0.0, 1.0]),
        matrix=np.array([[0.25, -8.0, -1.0, 9.0], [0.5, -12.0, -0.5, 3.0], [0.0, 0.0, 1.0, 0.0]]),
    )
    columns = columns_of(small)
    how, cost, _ = solve_from(columns, first_basis(columns, 3))
    assert (how, close(cost, -1.25)) == (OPTIMAL, True)
    assert ask_highs(program_of(small)) == pytest.approx(-1.25)


def agrees(model: Formulation, own: Relaxation, how: int) -> bool:
    """Whether a relaxation ends as HiGHS does: its cost no less than the optimum, its bound no more, both close."""
    best = ask_highs(highs_of(model, own))
    if best is None:
        return how == INFEASIBLE
    tiny = 1e-6 * max(1.0, abs(best))
    return how == OPTIMAL and own.bound <= best + tiny and best <= own.cost + tiny and close(own.cost, best)


def test_the_relaxation_of_course_problems_costs_what_it_must() -> None:
    """Models of drawn problems and of invented structures, whose relaxations HiGHS solves too."""
    structures = make_structures(25)
    courses = [getattr(own, name) for own in structures for name in ("panels", "boards", "channels")]
    models = [*drawn_models(160), *map(model_of, courses)]
    assert len(models) >= 200
    for at, model in enumerate(models):
        own = relaxation_of(model)
        assert agrees(model, own, own.solve()), f"model {at}"
        assert within(own.values, np.array(model.lp.lows), np.array(model.lp.highs))


def test_a_relaxation_begins_with_all_reduced_costs_right() -> None:
    """Columns that gain begin at their greatest value, the others at their least: only so does a limit hold on the way."""
    falling = 0
    for at, model in enumerate(drawn_models(160)):
        own = relaxation_of(model)
        lows, highs = own.columns.lows[: own.number], own.columns.highs[: own.number]
        levels, out = own.basis.levels[: own.number], own.basis.places[: own.number] < 0
        reduced = own.basis.reduced[: own.number]
        assert np.all((reduced >= -1e-9)[out & (levels == lows) & (lows < highs)]), f"model {at}"
        assert np.all((reduced <= 1e-9)[out & (levels == highs) & (lows < highs)]), f"model {at}"
        falling += any(cost < 0 for cost in model.lp.costs)
    assert falling >= 20


@pytest.mark.parametrize("kept", [0, 10**6])
def test_bounds_that_are_changed_and_changed_back_leave_no_trace(
    monkeypatch: pytest.MonkeyPatch, kept: int
) -> None:
    """Columns that are not whole are rounded down or up three deep, each step as HiGHS has it; then the first basis again.

    The inverse is kept, or made anew, as it is where programs are large.
    """
    monkeypatch.setattr(relaxation, "ROOM", kept)
    steps = 0
    for seed, model in enumerate(drawn_models(80)):
        random, own = Random(seed), relaxation_of(model)  # noqa: S311 - no secret
        if own.solve() != OPTIMAL:
            continue
        held, cost, values = own.hold(), own.cost, own.values
        lows, uppers = list(model.lp.lows), list(model.lp.highs)
        for _ in range(3):
            off = [at for at, value in enumerate(own.values) if abs(value - round(value)) > 1e-6]
            if not off:
                break
            column = random.choice(off)
            low, high = lows[column], uppers[column]
            if random.random() < 0.5:
                high = float(np.floor(own.values[column]))
            else:
                low = float(np.ceil(own.values[column]))
            lows[column], uppers[column] = low, high
            own.set_bounds(column, low, high)
            how, steps = own.solve(), steps + 1
            assert bounded_agrees(model, own, how, (lows, uppers)), f"seed {seed}"
            if how != OPTIMAL:
                break
        for column, (low, high) in enumerate(zip(model.lp.lows, model.lp.highs, strict=True)):
            own.set_bounds(column, low, high)
        own.return_to(held)
        assert close(own.cost, cost)
        assert np.allclose(own.values, values, atol=1e-7), f"seed {seed}"
        assert own.solve() == OPTIMAL
        assert close(own.cost, cost), f"seed {seed}"
    assert steps >= 60


def bounded_agrees(
    model: Formulation, own: Relaxation, how: int, bounds: tuple[list[float], list[float]]
) -> bool:
    """Whether a relaxation with other bounds of its columns ends as HiGHS does."""
    built = highs_of(model)
    built.col_lower_, built.col_upper_ = np.array(bounds[0]), np.array(bounds[1])
    best = ask_highs(built)
    if best is None:
        return how == INFEASIBLE
    return how == OPTIMAL and close(own.cost, best) and own.bound <= best + 1e-6 * max(1.0, abs(best))


@pytest.mark.parametrize("kept", [0, 10**6])
@pytest.mark.parametrize("spare", [0, 512])
def test_patterns_added_after_a_solution_are_solved_with_the_rest(
    monkeypatch: pytest.MonkeyPatch, kept: int, spare: int
) -> None:
    """HiGHS agrees on the patterns that are known then, no other is worth while, and so it is from the first basis again."""
    monkeypatch.setattr(relaxation, "ROOM", kept)
    monkeypatch.setattr(program, "PATTERNS", 3)
    added = 0
    for seed, model in enumerate(drawn_models(80)):
        if model.program.listed:
            continue
        own = relaxation_of(model, spare)
        assert own.solve() == OPTIMAL
        held, before = own.hold(), own.number
        assert with_all_patterns(model, own) == OPTIMAL, f"seed {seed}"
        assert agrees(model, own, OPTIMAL), f"seed {seed}"
        assert most_gained(model, own) <= 1e-4, f"seed {seed}"
        cost, added = own.cost, added + own.number - before
        own.return_to(held)
        assert own.solve() == OPTIMAL
        assert close(own.cost, cost), f"seed {seed}"
        assert agrees(model, own, OPTIMAL), f"seed {seed}"
    assert added >= 120


def test_a_limit_is_told_only_where_no_pattern_brings_the_cost_below_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A limit below the cost with all patterns that are worth while may end it, with every pattern priced; one above never does."""
    monkeypatch.setattr(program, "PATTERNS", 3)
    told = 0
    for seed, model in enumerate(drawn_models(80)):
        if model.program.listed:
            continue
        whole = relaxation_of(model, 512)
        assert with_all_patterns(model, whole) == OPTIMAL
        for above in (-2.0, 2.0):
            own, limit = relaxation_of(model, 512), whole.bound + above
            how = with_all_patterns(model, own, limit)
            assert how == OPTIMAL or (how == ABOVE and above < 0.0), f"seed {seed}"
            told += how == ABOVE
            if how == OPTIMAL:
                assert close(own.cost, whole.cost), f"seed {seed}"
            else:
                assert limit <= own.bound <= whole.bound + 1e-6, f"seed {seed}"
                assert most_gained(model, own) <= 1e-4, f"seed {seed}"
    assert told >= 10


def test_a_branch_that_ends_at_a_limit_costs_more_than_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A column that is not whole is rounded up or down: with a limit the branch ends as it does without, or above the limit."""
    monkeypatch.setattr(program, "PATTERNS", 0)
    told = 0
    for seed, model in enumerate(drawn_models(120)):
        own = relaxation_of(model, 512)
        assert with_all_patterns(model, own) == OPTIMAL
        held, values = own.hold(), own.values[: len(model.lp.costs)]
        for column in np.nonzero(np.abs(values - np.rint(values)) > 1e-6)[0].tolist():
            low, high = model.lp.lows[column], model.lp.highs[column]
            for ends in ((low, float(np.floor(values[column]))), (float(np.ceil(values[column])), high)):
                own.set_bounds(column, *ends)
                if with_all_patterns(model, own) == OPTIMAL:
                    cost = own.bound
                    for less in (3.0, 60.0, -3.0):
                        own.return_to(held)
                        own.set_bounds(column, *ends)
                        how = with_all_patterns(model, own, cost - less)
                        told += how == ABOVE
                        assert how == OPTIMAL or (how == ABOVE and less > 0.0), f"seed {seed}"
                        assert own.bound <= cost + 1e-6 * abs(cost), f"seed {seed}"
                        assert how == ABOVE or close(own.bound, cost), f"seed {seed}"
                own.return_to(held)
                own.set_bounds(column, low, high)
    assert told >= 100


def test_effort_that_is_spent_leaves_the_relaxation_unfinished(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without effort the first solution is as far as it goes, and it is said so."""
    monkeypatch.setattr(program, "PATTERNS", 3)
    stuck = 0
    for model in drawn_models(40):
        if not model.program.listed:
            stuck += with_all_patterns(model, relaxation_of(model, effort=Effort(0.0))) == STUCK
    assert stuck >= 10


def most_gained(model: Formulation, own: Relaxation) -> float:
    """By how much any pattern at all is worth more than its strip at the prices of the rows; all are listed here."""
    planned, duals, gained = model.program, own.duals, [0.0]
    for at, (length, height_class) in enumerate(planned.strips):
        kinds = [kind for kind, own in enumerate(planned.kinds.classes) if own == height_class]
        slots = sorted({planned.slot_of[kind] for kind in kinds}, key=lambda slot: -planned.slots[slot])
        for counts, left in every_filling(
            [planned.slots[slot] + planned.kerf for slot in slots], length + planned.kerf
        ):
            worth = sum(-duals[slot] * n for slot, n in zip(slots, counts, strict=True))
            saved = planned.cut_cost + duals[model.full_row] if left == 0 else 0.0
            crosscuts = planned.cut_cost * sum(counts) - max(0.0, saved)
            gained.append(worth - crosscuts + duals[model.supply_rows[at]])
    return max(gained)


def every_filling(sizes: list[int], room: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """List how many of each size fit into a room, and what is left of it."""
    if not sizes:
        yield (), room
        return
    for count_ in range(room // sizes[0] + 1):
        for others, left in every_filling(sizes[1:], room - count_ * sizes[0]):
            yield (count_, *others), left


def test_columns_at_a_bound_move_with_it() -> None:
    """Any column gets closer bounds, basic or not, above or below where it is: HiGHS agrees at every step, and after the way back."""
    moved = steps = 0
    for seed, model in enumerate(drawn_models(120)):
        random, own = Random(f"move {seed}"), relaxation_of(model)  # noqa: S311 - no secret
        if own.solve() != OPTIMAL:
            continue
        held, cost, lows, uppers = own.hold(), own.cost, list(model.lp.lows), list(model.lp.highs)
        for _ in range(4):
            column = random.randrange(len(lows))
            value, least, most = float(round(own.values[column])), lows[column], uppers[column]
            ends = ((value + 1.0, most), (value, value), (least, value - 1.0))
            low, high = random.choice([own for own in ends if least <= own[0] <= own[1] <= most])
            lows[column], uppers[column] = low, high
            own.set_bounds(column, low, high)
            moved += not low <= value <= high
            how, steps = own.solve(), steps + 1
            assert bounded_agrees(model, own, how, (lows, uppers)), f"seed {seed}"
            assert how != OPTIMAL or within(own.values, np.array(lows), np.array(uppers)), f"seed {seed}"
            if how != OPTIMAL:
                break
        own.return_to(held)
        for column, (low, high) in enumerate(zip(model.lp.lows, model.lp.highs, strict=True)):
            own.set_bounds(column, low, high)
        how = own.solve()
        assert (how, close(own.cost, cost)) == (OPTIMAL, True), f"seed {seed}"
    assert min(steps, 2 * moved) >= 150
