"""A basis to begin with where patterns are priced: no row is left for the simplex method that a good guess can settle.

Every slot is cut alone from the strip that is cheapest for it, every strip comes from its cheapest stock, and every
support is reached by its cheapest pieces. At these prices nothing else is worth while, so that the dual method has little
left to do: pieces of even sections, and stock that is limited or ripped in several ways.
"""

from collections.abc import Sequence
from math import inf

import numpy as np

from service.planner.solver.courses.model import Model
from service.planner.solver.courses.paths import cheapest_arrivals
from service.planner.solver.courses.pieces import PLACED


def first_basis(model: Model, costs: Sequence[float]) -> dict[int, int]:
    """Return the basic column of every row that does not keep its own variable.

    Parameters
    ----------
    model
        Columns and rows of a program whose patterns are not all listed.
    costs
        Cost of every column [minor units of money].
    """
    program = model.program
    basic = {model.count_row: model.pieces_column}
    if model.full_column is not None:
        basic[model.full_row] = model.full_column
    slots, slot_of = np.array(_slot_prices(model, costs, basic)), program.slot_arrays().of
    column = 0
    for block, row in zip(program.blocks, model.block_rows, strict=True):
        following = column + len(block.pieces)
        if block.way == PLACED:
            own = slots[slot_of[block.places[:, 2]]] + np.array(costs[column:following])
            came = cheapest_arrivals(block.places, own + costs[model.pieces_column], block.group.section.last)
            basic |= {row + support: column + at for support, at in enumerate(came.tolist()) if at >= 0}
        column = following
    return basic


def _strip_prices(model: Model, costs: Sequence[float], basic: dict[int, int]) -> list[float]:
    """Return the price of every strip by its cheapest unlimited stock, nothing where there is none."""
    supplies = model.program.supplies
    best: dict[int, tuple[float, int]] = {}
    for column, at, rip in model.rips:
        supply = supplies[at]
        if supply.count is None and len(supply.rips) == 1 and len(supply.rips[rip]) == 1:
            [(strip, number)] = supply.rips[rip]
            best[strip] = min(best.get(strip, (inf, 0)), (costs[column] / number, column))
    prices = [0.0] * len(model.supply_rows)
    for strip, (price, column) in best.items():
        basic[model.stock_rows[strip]], prices[strip] = column, price
        if strip in model.strip_columns:
            basic[model.supply_rows[strip]] = model.strip_columns[strip]
            prices[strip] += costs[model.strip_columns[strip]]
    return prices


def _slot_prices(model: Model, costs: Sequence[float], basic: dict[int, int]) -> list[float]:
    """Return the price of every slot, cut alone; nothing where no pattern is of it alone."""
    strips = _strip_prices(model, costs, basic)
    best: dict[int, tuple[float, int]] = {}
    for column, strip, pattern in model.patterns:
        if len(pattern.counts) == 1:
            [(slot, number)] = pattern.counts
            price = costs[column] + strips[strip]
            if pattern.flush and model.full_column is not None:
                price += costs[model.full_column]
            best[slot] = min(best.get(slot, (inf, 0)), (price / number, column))
    basic |= {slot: column for slot, (_, column) in best.items()}
    return [best.get(slot, (0.0, 0))[0] for slot in range(len(model.program.slots))]
