"""Which variable is branched on: hand-made cases of pseudo-costs (Achterberg, Koch and Martin, ZIB-Report 04-13, 2004)."""

import numpy as np
import pytest

from service.planner.solver.compiling import Floats
from service.planner.solver.lp.pseudo_costs import choose, empty_gains, learn

GROUPS = np.array([0, 1]), np.array([0, 1, 2, 3])
PRICES = np.array([1.0, 1.0, 1.0, 1.0])


def levels(*values: float) -> Floats:
    """Give values as an array."""
    return np.array(values)


def test_nothing_is_branched_on_where_all_is_whole() -> None:
    """Whole up to rounding is whole."""
    assert choose(levels(1.0, 2.0, 0.0, 3.0000001), GROUPS, empty_gains(PRICES)) == -1


def test_totals_come_first() -> None:
    """A total that is hardly off comes before a column that is a half; where totals are whole the column is taken."""
    assert choose(levels(1.0, 2.01, 0.5, 0.0), GROUPS, empty_gains(PRICES)) == 1
    assert choose(levels(1.0, 2.0, 0.5, 0.2), GROUPS, empty_gains(PRICES)) == 2


def test_without_gains_price_and_nearness_to_a_half_decide() -> None:
    """Price 10 with 0.1 and 0.9: 10 * 0.1 * 10 * 0.9 = 9; price 1 with halves: 0.25."""
    assert choose(levels(0.5, 0.4, 0.0, 0.0), GROUPS, empty_gains(PRICES)) == 0
    assert choose(levels(0.5, 0.1, 0.0, 0.0), GROUPS, empty_gains(np.array([1.0, 10.0, 1.0, 1.0]))) == 1


def test_what_raised_the_cost_on_both_sides_is_taken_again() -> None:
    """3 down and 4 up by unit score 3 * 0.5 * 4 * 0.5 = 3; 20 down but nothing up scores next to nothing."""
    gains = empty_gains(PRICES)
    for variable, down, up in ((0, 20.0, 0.0), (1, 3.0, 4.0)):
        learn(gains, variable, 2.5, 0, down * 0.5)
        learn(gains, variable, 2.5, 1, up * 0.5)
    assert choose(levels(0.5, 0.5, 0.0, 0.0), GROUPS, gains) == 1


def test_means_stand_for_what_was_not_branched_on() -> None:
    """One variable of price 2 raised the cost by 6 and 2 a unit, 3 and 1 by price; one of price 8 is expected to by 24 and 8."""
    gains = empty_gains(np.array([2.0, 8.0, 1.0, 1.0]))
    learn(gains, 0, 1.25, 0, 1.5)
    learn(gains, 0, 1.25, 1, 1.5)
    assert gains[0, 0] == pytest.approx(6.0)
    assert gains[2, 0] == pytest.approx(2.0)
    assert gains[0, -1] == pytest.approx(3.0)
    assert gains[2, -1] == pytest.approx(1.0)
    assert (
        choose(levels(0.5, 0.1, 0.0, 0.0), GROUPS, gains) == 1
    )  # 24 * 0.1 * 8 * 0.9 = 17.3 beats 6 * 2 / 4 = 3
    assert choose(levels(0.5, 0.01, 0.0, 0.0), GROUPS, gains) == 0  # 24 * 0.01 * 8 * 0.99 = 1.9 does not


def test_a_cost_that_fell_by_rounding_is_no_gain() -> None:
    """A raise below nothing counts as none; one without end is not counted."""
    gains = empty_gains(PRICES)
    learn(gains, 0, 0.5, 0, -1e-9)
    learn(gains, 0, 0.5, 1, float("inf"))
    assert gains[:4, 0].tolist() == [0.0, 1.0, 0.0, 0.0]
