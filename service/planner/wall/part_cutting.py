"""Cutting of the parts whose lengths are already known: joint profiles, film channel and caps.

Rules of this file
------------------
- Demand is fixed here, so this is a cut list: least stock price, proven, kerf counted.
- Parts of one role share their stock over all runs.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job
from service.planner.errors import FieldProblem, NoPieceFits
from service.planner.messages import Length, say
from service.planner.solver.cuts.cut_lists import (
    CutDemand,
    CutList,
    CutListProblem,
    CutStock,
    Pattern,
    PieceFitsNoStock,
    solve_cut_list,
)
from service.planner.solver.effort import Effort
from service.planner.solver.kept import Kept
from service.planner.wall.courses import StockPiece, stick_stock
from service.planner.wall.layout import CutPattern, Cutting, Part, Strip

SHARE: Final = 0.05
"""What the cutting of one material may take of a plan's units [-]"""
PART_BYTES: Final = 400
"""What a length or a stock takes in an answer that is kept, about [B]"""


def cut_parts(job: Job, parts: Iterable[Part], effort: Effort) -> tuple[Cutting, ...]:
    """Cut all upright parts, material by material.

    Parameters
    ----------
    job
        The settled job.
    parts
        The parts.
    effort
        Counter of units.

    Raises
    ------
    NoPieceFits
        When a part is longer than every stick of its section.
    """
    by_material: dict[str, list[Part]] = defaultdict(list)
    for part in parts:
        by_material[part.material].append(part)
    return tuple([_cut(job, role, by_material[role], effort) for role in sorted(by_material)])


def _weigh(problem: CutListProblem, answer: CutList) -> int:
    """Weigh a question and its answer by their lengths, stock and patterns [B]."""
    return PART_BYTES * (len(problem.stock) + len(problem.demand) * (1 + len(answer.patterns)))


_solved = Kept(solve_cut_list, _weigh)
"""Upright parts of one height are asked for again and again"""


def _cut(job: Job, role: str, parts: list[Part], effort: Effort) -> Cutting:
    """Cut the parts of one material."""
    stock = stick_stock(job, job.sections[role])
    ids: dict[int, list[str]] = defaultdict(list)
    for part in parts:
        ids[part.length].append(part.id)
    lengths = sorted(ids, reverse=True)
    problem = CutListProblem(
        stock=tuple(
            [
                CutStock(length=s.length, price=s.item.price if s.count is None else 0, count=s.count)
                for s in stock
            ]
        ),
        demand=tuple([CutDemand(length=length, count=len(ids[length])) for length in lengths]),
        kerf=job.limits.metal_kerf,
    )
    try:
        with effort.share(SHARE):
            found = _solved(problem, effort)
    except PieceFitsNoStock:
        raise _too_long(role, lengths[0], stock) from None
    patterns = tuple([_pattern(job, pattern, stock, lengths, ids) for pattern in found.patterns])
    return Cutting(
        role=role,
        patterns=patterns,
        kerf=job.limits.metal_kerf,
        objective=found.objective,
        lower_bound=found.lower_bound,
    )


def _pattern(
    job: Job, pattern: Pattern, stock: Sequence[StockPiece], lengths: list[int], ids: dict[int, list[str]]
) -> CutPattern:
    """Name the pieces of one pattern, taking ids off the lists in order."""
    piece, kerf = stock[pattern.stock], job.limits.metal_kerf
    cuts = Counter({lengths[cut.demand]: cut.count for strip in pattern.strips for cut in strip.cuts})
    named = tuple(
        tuple(ids[length].pop(0) for length, count in cuts.items() for _ in range(count))
        for _ in range(pattern.repeat)
    )
    number = cuts.total()
    used = sum(length * count for length, count in cuts.items()) + kerf * (number - 1)
    strip = Strip(
        height=None,
        cuts=tuple(cuts.items()),
        pieces=named,
        crosscuts=number - (used == piece.length),
        offcut=max(0, piece.length - used - kerf),
    )
    return CutPattern(
        item=piece.item,
        sku=piece.item.sku,
        length=piece.length,
        width=None,
        from_on_hand=piece.count is not None,
        repeat=pattern.repeat,
        strips=(strip,),
    )


def _too_long(role: str, length: int, stock: Sequence[StockPiece]) -> NoPieceFits:
    """Say that a part is longer than its sticks."""
    detail = say(
        "spec.stick_too_short",
        "{part} of {needed} is needed, the longest stick is {longest}",
        part=ROLES[role].noun,
        needed=Length(length),
        longest=Length(max(piece.length for piece in stock)),
    )
    return NoPieceFits(
        say("spec.no_long_stick", "No {part} is long enough.", part=ROLES[role].noun),
        [FieldProblem(pointer="/wall/height", detail=detail)],
    )
