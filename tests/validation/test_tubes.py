"""Tube and pipe: ASME B36.10M outside diameters and schedule 40 walls; Birmingham gauge walls.

Second opinion: the package `fluids` (`fluids.piping`, data after ASME B36.10M and, for the gauge, Machinery's
Handbook). Mass: the plain-end formula of ASME B36.10M, 10.69 (D - t) t lb/ft.
"""

import fluids.piping
import pytest

from service.planner.engineering.metal import (
    BIRMINGHAM_WALLS,
    TUBE_SIZES,
    pounds_per_foot,
    thickness,
    tube_mass,
)
from service.planner.engineering.quantities import MM_PER_INCH


@pytest.mark.parametrize("gauge", range(10, 21))
def test_birmingham_walls(gauge: int) -> None:
    """Gauges 10 to 20, against the package's data."""
    second_opinion = fluids.piping.t_from_gauge(gauge, SI=False, schedule="BWG")
    # both carry three places
    assert thickness(gauge, "birmingham") / MM_PER_INCH == pytest.approx(second_opinion, abs=1e-9)


@pytest.mark.parametrize(
    ("nominal", "outside", "wall"),
    [(1, 1.315, 0.133), (1.25, 1.660, 0.140), (1.5, 1.900, 0.145), (2, 2.375, 0.154)],
)
def test_pipe_sizes_and_schedule_40_walls(nominal: float, outside: float, wall: float) -> None:
    """ASME B36.10M: the table's diameters are the pipe sizes, the thickest wall is schedule 40."""
    _, _, metric_outside, metric_wall = fluids.piping.nearest_pipe(
        NPS=nominal,  # type: ignore[arg-type]  # the package types it int and documents float
        schedule="40",
    )
    # the package holds the rounded metric sizes: 0.1 mm on the diameter, 0.01 mm on the wall
    assert metric_outside * 1000 == pytest.approx(outside * MM_PER_INCH, abs=0.051)
    assert metric_wall * 1000 == pytest.approx(wall * MM_PER_INCH, abs=0.0051)
    row = next(size for size in TUBE_SIZES if size.outside_diameter == outside)
    assert row.walls[-1] == wall


def test_every_other_wall_is_a_gauge_or_a_fence_frameworks() -> None:
    """Walls are schedule 40, ASTM F1043 group IC (0.111, 0.120 and 0.130, from memory), Birmingham, or 17 ga sheet."""
    group_ic = {1.660: 0.111, 1.900: 0.120, 2.375: 0.130}
    # 0.055 in is 17 gauge as the tube trade rounds it; Birmingham 17 is 0.058
    known = {*BIRMINGHAM_WALLS.values(), 0.055}
    for size in TUBE_SIZES:
        lighter = size.walls[:-1] if "NPS" in size.trade_name else size.walls
        assert set(lighter) <= known | {group_ic.get(size.outside_diameter, 0.055)}
        assert list(size.walls) == sorted(size.walls)


@pytest.mark.parametrize(
    ("outside", "wall", "pounds"),
    [
        (1.315, 0.133, 1.681),
        (1.660, 0.140, 2.275),
        (1.900, 0.145, 2.720),
        (2.375, 0.154, 3.656),
        (1.660, 0.111, 1.838),
        (1.660, 0.083, 1.399),
        (1.660, 0.065, 1.108),
        (2.375, 0.083, 2.034),
        (1.375, 0.065, 0.910),
    ],
)
def test_mass_of_tube(outside: float, wall: float, pounds: float) -> None:
    """ASME B36.10M, plain-end mass; printed pipe tables give 1.68, 2.27, 2.72 and 3.66 for the first four."""
    found = pounds_per_foot(tube_mass(outside * MM_PER_INCH, wall * MM_PER_INCH))
    # 10.69 is rounded from 10.6915: 0.02 per cent, and three places
    assert found == pytest.approx(pounds, abs=0.0012)
