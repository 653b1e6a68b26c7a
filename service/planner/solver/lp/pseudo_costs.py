"""Which variable to branch on, by what branching has raised the cost so far (pseudo-costs), compiled.

Source of the rule: T. Achterberg, T. Koch and A. Martin, Branching rules revisited, ZIB-Report 04-13, 2004: the product
of both sides, and the mean of the others where a variable was not yet branched on. That this mean goes by price, and
that totals come first, is ours.
"""

import numpy as np

from service.planner.solver.compiling import Floats, Integers, compiled

WHOLE = 1e-6
"""How far from whole a value may be [-]."""
LEAST = 1e-6
"""What a side raises the cost by at least, so that the other side tells variables apart."""
Groups = tuple[Integers, Integers]
"""Totals, and all else."""


@compiled
def empty_gains(prices: Floats) -> Floats:
    """Return what branching on each variable has raised the cost by: nothing yet.

    Rows: raise by unit with the upper bound lowered, and how often; the same with the lower bound raised; the price of
    one. The last column adds all variables up, each by its price.
    """
    gains = np.zeros((5, len(prices) + 1))
    for j in range(len(prices)):
        gains[4, j] = prices[j]
    gains[4, len(prices)] = 1.0
    return gains


@compiled
def learn(gains: Floats, variable: int, value: float, side: int, raised: float) -> None:
    """Take up by how much the cost rose on a side of a variable's value: 0 below, 1 above; without end tells nothing."""
    if raised == np.inf:
        return
    part = np.ceil(value) - value if side else value - np.floor(value)
    raised = max(0.0, raised) / part
    gains[2 * side, variable] += raised
    gains[2 * side + 1, variable] += 1.0
    gains[2 * side, -1] += raised / gains[4, variable]
    gains[2 * side + 1, -1] += 1.0


@compiled
def choose(levels: Floats, groups: Groups, gains: Floats) -> int:
    """Return the variable to branch on, -1 when all are whole.

    Parameters
    ----------
    levels
        Value of every variable [-].
    groups
        Variables to choose from: those of the first group if any of them is not whole [-].
    gains
        What branching has raised the cost by.
    """
    below = gains[0, -1] / max(1.0, gains[1, -1]) or 1.0
    above = gains[2, -1] / max(1.0, gains[3, -1]) or 1.0
    best, found = 0.0, -1
    for group in groups:
        for variable in group:
            value = levels[variable]
            if abs(value - np.rint(value)) > WHOLE:
                part, own = value - np.floor(value), gains[:, variable]
                down = (own[0] / own[1] if own[1] else below * own[4]) * part
                up = (own[2] / own[3] if own[3] else above * own[4]) * (1.0 - part)
                score = max(down, LEAST) * max(up, LEAST)
                if score > best * (1.0 + WHOLE):
                    best, found = score, int(variable)
        if found >= 0:
            break
    return found
