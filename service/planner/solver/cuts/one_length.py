"""Pieces of one length from unlimited sticks: exact by a table over the pieces still to cut.

Rules of this file
------------------
- Only what the table can answer is answered; anything else is left to the general search.
- A stick holds (L + k) // (l + k) pieces; the table holds the least price for every number of pieces up to the demand.
"""

from typing import Final

from service.planner.solver.cuts.problem import Cut, CutList, CutListProblem, Pattern, Strip

MOST_PIECES: Final = 20_000
"""Pieces up to which the table is made [-]"""


def cut_one_length(problem: CutListProblem) -> CutList | None:
    """Cut a demand of one length, or give None where the table does not apply.

    Parameters
    ----------
    problem
        Stock, demand and kerf.
    """
    wanted = [(index, piece) for index, piece in enumerate(problem.demand) if piece.count]
    if len(wanted) != 1 or any(item.count is not None or item.width is not None for item in problem.stock):
        return None
    demand, piece = wanted[0]
    holds = [(item.length + problem.kerf) // (piece.length + problem.kerf) for item in problem.stock]
    if piece.count > MOST_PIECES or not any(holds):
        return None
    opened = _cheapest(holds, [item.price for item in problem.stock], piece.count)
    cost = sum(problem.stock[stock].price * count for stock, count in opened.items())
    return CutList(
        objective=cost,
        lower_bound=cost,
        proven_optimal=True,
        patterns=_patterns(holds, opened, demand, piece.count),
        stock_used=tuple(opened.get(stock, 0) for stock in range(len(problem.stock))),
    )


def _cheapest(holds: list[int], prices: list[int], pieces: int) -> dict[int, int]:
    """Open the cheapest sticks that hold so many pieces; of equals, the sticks that hold most."""
    order = sorted(
        (stock for stock, held in enumerate(holds) if held), key=lambda stock: (-holds[stock], prices[stock])
    )
    cost, last = [0] * (pieces + 1), [0] * (pieces + 1)
    for number in range(1, pieces + 1):
        cost[number], last[number] = min(
            (cost[max(0, number - holds[stock])] + prices[stock], rank) for rank, stock in enumerate(order)
        )
    opened: dict[int, int] = {}
    while pieces > 0:
        stock = order[last[pieces]]
        opened[stock] = opened.get(stock, 0) + 1
        pieces -= holds[stock]
    return opened


def _patterns(holds: list[int], opened: dict[int, int], demand: int, pieces: int) -> tuple[Pattern, ...]:
    """Fill the sticks that hold most first; the last one takes what is left."""
    found: list[Pattern] = []
    for stock in sorted(opened, key=lambda stock: (-holds[stock], stock)):
        full = min(opened[stock], pieces // holds[stock])
        parts = [(full, holds[stock])] if full else []
        if full < opened[stock] and pieces - full * holds[stock]:
            parts.append((1, pieces - full * holds[stock]))
        for repeat, count in parts:
            strip = Strip(width=None, cuts=(Cut(demand=demand, count=count),))
            found.append(Pattern(stock=stock, strips=(strip,), repeat=repeat))
            pieces -= repeat * count
    return tuple(found)
