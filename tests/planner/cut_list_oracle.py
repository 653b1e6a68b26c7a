"""An independent oracle for small cut lists, what every cut list must satisfy, and random cases.

The oracle decides for every strip of every piece of stock what it holds; it knows no patterns, prices or bounds, and
shares no code with the service.
"""

import random

from ortools.sat.python import cp_model

from service.planner.solver.cuts.cut_lists import (
    CutDemand,
    CutList,
    CutListProblem,
    CutStock,
)


class Choices:
    """What the oracle decides: strip s, where there is one, is opened by piece s, the widest in it.

    Parameters
    ----------
    problem
        The problem; its demand is taken piece by piece.
    """

    def __init__(self, problem: CutListProblem) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.pieces = [piece for piece in problem.demand for _ in range(piece.count)]
        self.places = range(len(self.pieces))
        self.kinds = range(len(problem.stock))
        self.opened = {
            (place, kind): self.model.new_bool_var("") for place in self.places for kind in self.kinds
        }
        self.holds = {
            (piece, strip): self.model.new_bool_var("") for piece in self.places for strip in self.places
        }
        self.lies = {
            (strip, place): self.model.new_bool_var("") for strip in self.places for place in self.places
        }

    def size(self, place: int, *, across: bool) -> cp_model.LinearExprT:
        """Length, or width, of the stock opened at a place, plus kerf."""
        sizes = [(item.width or 0) if across else item.length for item in self.problem.stock]
        return sum(self.opened[place, kind] * (sizes[kind] + self.problem.kerf) for kind in self.kinds)

    def limit_stock(self) -> None:
        """At most one kind of stock at a place, and no more than there is."""
        for place in self.places:
            self.model.add_at_most_one(self.opened[place, kind] for kind in self.kinds)
        for kind, item in enumerate(self.problem.stock):
            if item.count is not None:
                self.model.add(sum(self.opened[place, kind] for place in self.places) <= item.count)

    def fill_strips(self) -> None:
        """Each piece in one strip of its width, or a wider one where trim is allowed."""
        for piece in self.places:
            self.model.add_exactly_one(self.holds[piece, strip] for strip in self.places)
            for strip in self.places:
                own, other = self.pieces[strip].width or 0, self.pieces[piece].width or 0
                if own != other and not (self.problem.trim and other < own):
                    self.model.add(self.holds[piece, strip] == 0)
                self.model.add_implication(self.holds[piece, strip], self.holds[strip, strip])

    def lay_strips(self) -> None:
        """Each strip in one place, long enough for its pieces; side by side across the sheet, alone on a stick."""
        kerf = self.problem.kerf
        for strip in self.places:
            self.model.add(sum(self.lies[strip, place] for place in self.places) == self.holds[strip, strip])
            used = sum(self.holds[piece, strip] * (self.pieces[piece].length + kerf) for piece in self.places)
            for place in self.places:
                fits = self.model.add(used <= self.size(place, across=False))
                fits.only_enforce_if(self.lies[strip, place])
        for place in self.places:
            widths = [(piece.width or 0) + kerf for piece in self.pieces]
            if self.problem.stock[0].width is None:
                self.model.add(sum(self.lies[strip, place] for strip in self.places) <= 1)
            else:
                across = sum(self.lies[strip, place] * widths[strip] for strip in self.places)
                self.model.add(across <= self.size(place, across=True))


def oracle(problem: CutListProblem) -> int | None:
    """Least cost by assignment of pieces to strips and strips to stock; None when it cannot be done."""
    choices = Choices(problem)
    choices.limit_stock()
    choices.fill_strips()
    choices.lay_strips()
    choices.model.minimize(
        sum(
            choices.opened[place, kind] * item.price
            for place in choices.places
            for kind, item in enumerate(problem.stock)
        )
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(choices.model)
    assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def assert_cuts_exactly(problem: CutListProblem, answer: CutList) -> None:
    """Every piece is cut exactly once, everything fits, and the cost is the price of the stock opened."""
    made = [0] * len(problem.demand)
    used = [0] * len(problem.stock)
    for pattern in answer.patterns:
        used[pattern.stock] += pattern.repeat
        item = problem.stock[pattern.stock]
        if item.width is not None:
            widths = [strip.width or 0 for strip in pattern.strips]
            assert sum(width + problem.kerf for width in widths) <= item.width + problem.kerf
        else:
            assert [strip.width for strip in pattern.strips] == [None]
        for strip in pattern.strips:
            lengths = 0
            for cut in strip.cuts:
                piece = problem.demand[cut.demand]
                made[cut.demand] += cut.count * pattern.repeat
                lengths += cut.count * (piece.length + problem.kerf)
                assert piece.width == strip.width or (
                    problem.trim and (piece.width or 0) < (strip.width or 0)
                )
            assert lengths <= item.length + problem.kerf
    assert made == [piece.count for piece in problem.demand]
    assert tuple(used) == answer.stock_used
    assert all(
        item.count is None or count <= item.count for item, count in zip(problem.stock, used, strict=True)
    )
    assert answer.objective == sum(
        item.price * count for item, count in zip(problem.stock, used, strict=True)
    )
    assert answer.lower_bound <= answer.objective
    assert answer.proven_optimal == (answer.lower_bound == answer.objective)


def sticks(seed: int, *, limited: bool) -> CutListProblem:
    """Up to seven pieces and three stock lengths, with prices that do not follow the length closely."""
    chance = random.Random(seed)  # noqa: S311 - repeatable cases, no secrets
    demand: list[CutDemand] = []
    left = 7
    while left > 0 and len(demand) < 6:
        count = chance.randint(1, min(3, left))
        demand.append(CutDemand(length=chance.randint(3, 30), count=count))
        left -= count
    longest = max(piece.length for piece in demand)
    stock = [
        CutStock(
            length=chance.randint(longest, 60),
            price=chance.randint(5, 60),
            count=chance.randint(1, 4) if limited else None,
        )
        for _ in range(chance.randint(1, 3))
    ]
    return CutListProblem(stock=tuple(stock), demand=tuple(demand), kerf=chance.choice([0, 1, 2]))


def sheets(seed: int, *, trim: bool, kinds: int = 1) -> CutListProblem:
    """Up to seven pieces of a few widths from sheets."""
    chance = random.Random(seed)  # noqa: S311 - repeatable cases, no secrets
    widths = [chance.randint(2, 12) for _ in range(3)]
    demand: list[CutDemand] = []
    left = 7
    while left > 0 and len(demand) < 5:
        count = chance.randint(1, min(3, left))
        demand.append(CutDemand(length=chance.randint(2, 14), width=chance.choice(widths), count=count))
        left -= count
    stock = [
        CutStock(length=chance.randint(14, 24), width=chance.randint(12, 22), price=chance.randint(5, 15))
        for _ in range(kinds)
    ]
    return CutListProblem(stock=tuple(stock), demand=tuple(demand), kerf=chance.choice([0, 1]), trim=trim)
