"""The basis that the solver begins with where patterns are priced, against HiGHS, an independent solver."""

import numpy as np
import pytest

from service.bench_structures import make_structures
from service.planner.solver.courses import program, relaxation
from service.planner.solver.courses.model import Model
from service.planner.solver.courses.pieces import PLACED
from service.planner.solver.courses.relaxation import Relaxation
from service.planner.solver.courses.simplex import FEASIBLE, OPTIMAL
from service.planner.solver.courses.tree import Tree
from tests.planner.small_programs import ask_highs, close, model_of


@pytest.fixture(scope="module")
def models() -> list[Model]:
    """Courses of realistic structures, none of whose patterns are listed but those of one piece alone."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(program, "PATTERNS", 0)
        drawn = make_structures(120, seed=7)
        return [model_of(course) for each in drawn for course in (each.panels, each.boards, each.channels)]


def test_no_other_column_is_worth_while(models: list[Model]) -> None:
    """No reduced cost is wrong; most rows have a basic column."""
    for model in models:
        own = Relaxation(model)
        assert np.all(own.reduced >= -FEASIBLE)
        assert np.sum(own.basis.head >= own.size) >= len(model.program.slots)


def test_stations_of_their_own_are_solved_before_the_first_exchange(models: list[Model]) -> None:
    """Where all pieces are told by place and no stock is limited, the beginning is the optimum by HiGHS."""
    solved = 0
    for model in models:
        supplies = model.program.supplies
        plain = all(each.count is None and len(each.rips) == 1 for each in supplies)
        if plain and all(block.way == PLACED for block in model.program.blocks):
            own, best = Relaxation(model), ask_highs(model.build(integer=False))
            levels, columns = own.basis.levels[: own.number], own.columns
            assert np.all(levels >= columns.lows[: own.number] - FEASIBLE)
            assert np.all(levels <= columns.highs[: own.number] + FEASIBLE)
            assert best is not None
            assert close(own.cost, best)
            solved += 1
    assert solved >= 20


def test_where_rounding_spoils_it_the_rows_are_begun_with(
    models: list[Model], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both beginnings lead to the same cost."""
    costs = []
    for spoilt in (False, True):
        monkeypatch.setattr(relaxation, "FEASIBLE", -np.inf if spoilt else FEASIBLE)
        begun = [Relaxation(model) for model in models]
        assert spoilt == all(np.all(own.basis.head < own.size) for own in begun)
        assert {own.solve() for own in begun} == {OPTIMAL}
        costs.append([own.cost for own in begun])
    assert all(close(one, other) for one, other in zip(*costs, strict=True))


def test_the_bounds_of_a_node_move_what_is_not_basic_however_they_were_set_before(
    models: list[Model],
) -> None:
    """A basis that is returned to has a column at its old bound, though the relaxation may hold the new one already."""
    moved = 0
    for model in models:
        tree = Tree(model)
        if not tree.plant() or not tree.heap:
            continue
        own, column, more = tree.relaxation, model.pieces_column, float(model.fewest + 1)
        for _ in range(2):
            own.return_to(tree.root.held)
            if own.basis.places[own.size + column] < 0:
                tree._set({column: (more, np.inf)}, {})  # noqa: SLF001 - what every node does
                assert own.basis.levels[own.size + column] == more
                moved += 1
    assert moved >= 20
