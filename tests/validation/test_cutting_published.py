"""Published cutting problems: the optimum is reached and proven.

Sources
-------
- V. Chvatal, Linear Programming, Freeman 1983, pages 195-198 (P1); the same example with 35 for 36 as printed in the
  SAS/OR OPTMODEL documentation (P1b).
- The paper-reel example of 5600 mm, worked on the newsgroup sci.op-research and in encyclopaedias (P2).
- R. Fourer, D. Gay, B. Kernighan, AMPL, second edition, chapter 15, data file cut.dat (P3).
- J. Puchinger, MiniZinc model cutstock.mzn, 2007 (P4).
- D. Johnson et al., SIAM Journal on Computing 3 (1974) 299-325: worst case of first-fit-decreasing, scaled; from memory (P5).
- A small instance whose optimum is above the rounded material bound, after O. Marcotte and T. Gau; from memory (P6).
- JuMP documentation, tutorial on column generation, lengths times ten (P7).
- K. Postek, A. Zocca, J. Gromicho, J. Kantor, MO-Book, notebook 05 on cutting stock, after Gilmore and Gomory 1961 (M1).
- J. Kantor, CBE40455, notebook 05.07 on stock cutting (M2).
- J. Beasley, Operations Research 33 (1985) 49-64, instances ngcut of OR-Library; level packing after A. Lodi,
  S. Martello, D. Vigo, Journal of Combinatorial Optimization 8 (2004) 363-379 (title page from memory).

The optima were computed independently: by integer programmes over all maximal patterns (P, M), and by a constraint
solver and an integer programme over levels (ngcut); the sources print the data, not always the optimum.
"""

import pytest

from service.planner.solver.cuts import cut_lists
from service.planner.solver.cuts.cut_lists import (
    CutDemand,
    CutList,
    CutListProblem,
    CutStock,
    solve_cut_list,
    turned,
)

PUBLISHED = {
    "P1 Chvatal 1983": (100, [(45, 97), (36, 610), (31, 395), (14, 211)], 453),
    "P1b SAS/OR variant": (100, [(45, 97), (35, 610), (31, 395), (14, 211)], 453),
    "P2 paper reel": (
        5600,
        [
            *[(2200, 20), (2150, 18), (2140, 16), (2100, 14), (2050, 12), (2000, 10), (1930, 20)],
            *[(1880, 18), (1820, 18), (1710, 14), (1560, 12), (1520, 25), (1380, 22)],
        ],
        73,
    ),
    "P3 AMPL cut.dat": (110, [(75, 8), (55, 10), (50, 24), (45, 35), (20, 48)], 47),
    "P4 MiniZinc cutstock": (10, [(7, 2), (5, 2), (3, 4)], 4),
    "P5 greedy trap": (100, [(51, 6), (27, 6), (26, 6), (23, 12)], 9),
    "P6 bound trap": (132, [(44, 2), (33, 3), (12, 6)], 3),
    "P7 JuMP tutorial": (
        1000,
        [
            *[(750, 189), (538, 33), (530, 36), (510, 41), (502, 35), (322, 37), (308, 44), (298, 49)],
            *[(201, 37), (162, 36), (145, 42), (110, 33), (86, 47), (82, 35), (66, 49), (51, 42)],
        ],
        334,
    ),
}

# instance: sheet, pieces (width, height, count), optimum with the first cut along the width and along the height
LEVELS = {
    "ngcut5": (
        (15, 10),
        [(12, 3, 3), (12, 2, 3), (11, 3, 1), (11, 1, 3), (10, 3, 2), (9, 3, 1), (2, 10, 1)],
        (4, 3),
    ),
    "ngcut8": (
        (20, 20),
        [(18, 5, 3), (15, 3, 1), (13, 1, 2), (12, 4, 1), (8, 7, 2), (8, 3, 1), (6, 6, 3)],
        (2, 2),
    ),
    "ngcut10": ((30, 30), [(30, 2, 3), (27, 9, 3), (26, 7, 3), (25, 7, 1), (1, 30, 3)], (3, 3)),
    "ngcut11": (
        (30, 30),
        [(29, 5, 1), (21, 8, 1), (21, 2, 3), (17, 11, 3), (14, 7, 2), (8, 5, 2), (3, 23, 3)],
        (3, 3),
    ),
}


def assert_proven(answer: CutList, optimum: int) -> None:
    assert answer.objective == optimum
    assert answer.lower_bound == optimum
    assert answer.proven_optimal


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_sticks_are_cut_at_proven_least_stock(name: str) -> None:
    """Rows P1 to P7: the fewest pieces of stock, proven."""
    length, pieces, optimum = PUBLISHED[name]
    problem = CutListProblem(
        stock=(CutStock(length=length, price=1),),
        demand=tuple(CutDemand(length=piece, count=count) for piece, count in pieces),
    )
    assert_proven(solve_cut_list(problem), optimum)


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_sticks_are_solved_by_the_last_step_alone(
    monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """Without dives, first-fit-decreasing (485, 82, 11 ...) is improved to the optimum from a complete list of patterns."""
    length, pieces, optimum = PUBLISHED[name]
    problem = CutListProblem(
        stock=(CutStock(length=length, price=1),),
        demand=tuple(CutDemand(length=piece, count=count) for piece, count in pieces),
    )
    monkeypatch.setattr(cut_lists, "DIVES", 0)
    assert_proven(solve_cut_list(problem), optimum)


def test_several_stock_lengths_at_their_own_prices() -> None:
    """M1, MO-Book: stock of 5, 6 and 9 at 6, 7 and 10 costs 170 at least, without waste."""
    problem = CutListProblem(
        stock=(CutStock(length=5, price=6), CutStock(length=6, price=7), CutStock(length=9, price=10)),
        demand=(CutDemand(length=4, count=20), CutDemand(length=3, count=10), CutDemand(length=2, count=20)),
    )
    assert_proven(solve_cut_list(problem), 170)


def test_limited_stock_cut_without_waste() -> None:
    """M2, CBE40455: three each of 15 and 10 cover the demand of 60 with exactly 60 of stock."""
    problem = CutListProblem(
        stock=(CutStock(length=15, price=15, count=3), CutStock(length=10, price=10, count=3)),
        demand=(
            CutDemand(length=7, count=3),
            CutDemand(length=6, count=2),
            CutDemand(length=4, count=6),
            CutDemand(length=3, count=1),
        ),
    )
    answer = solve_cut_list(problem)
    assert_proven(answer, 60)
    assert all(used <= 3 for used in answer.stock_used)


@pytest.mark.parametrize("name", LEVELS)
def test_levels_with_trim_in_both_directions_of_the_first_cut(name: str) -> None:
    """Beasley's ngcut instances as levels: rip and crosscut exchanged give their own optimum each."""
    (width, height), pieces, (along_width, along_height) = LEVELS[name]
    problem = CutListProblem(
        stock=(CutStock(length=width, width=height, price=1),),
        demand=tuple(CutDemand(length=wide, width=high, count=count) for wide, high, count in pieces),
        trim=True,
    )
    assert_proven(solve_cut_list(problem), along_width)
    assert_proven(solve_cut_list(turned(problem)), along_height)
