"""The checks of a plan: what was checked, against what, how close it is, and what was not assessed.

Rules of this file
------------------
- ``RULES`` is the one table of checks; the next rule goes into its family's module and one of its rows here.
- A rule is a function from the plan's facts to checks; it judges every place of the wall and gives the governing one.
- A check that does not apply is not listed; one that lacks data says ``not_assessed`` and which data it lacks.
- These are checks of a cladding: whether frame and anchors carry it is a matter for local code and a licensed engineer.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final

from service.planner.judging.applicable import applicable
from service.planner.judging.checks import (
    bearing,
    economy,
    geometry,
    ground,
    movement,
    screws,
    triggers,
    wind,
)
from service.planner.judging.checks.verdict import Check, Outcome
from service.planner.judging.facts import Facts

RULES: Final[tuple[Callable[[Facts], Iterator[Check]], ...]] = (
    movement.thermal_gap,
    movement.joint_bite,
    movement.washer_cover,
    movement.panel_end_cover,
    movement.channel_gap,
    bearing.joint_drift,
    bearing.board_lap,
    bearing.screw_edge,
    bearing.clashes,
    screws.screw_length,
    screws.drilling,
    screws.head_contact,
    wind.wind,
    geometry.bow_set_back,
    geometry.bow_stand_off,
    geometry.post_end,
    geometry.board_reach,
    ground.ground,
    geometry.curtain_lap,
    geometry.vent_opening,
    geometry.opening_width,
    geometry.bay_thickness,
    economy.sheet_waste,
    economy.packed_length,
    economy.bundle_mass,
    economy.heat,
    economy.trench_depth,
    triggers.engineer,
    triggers.told,
)  # fmt: skip
"""Every rule, in the order answered."""
RANK: Final[dict[Outcome, int]] = {"not_assessed": 0, "pass": 1, "caution": 2, "fail": 3}
"""Outcomes from the least to the most that asks for attention"""


def run_checks(facts: Facts) -> tuple[Check, ...]:
    """Judge a plan by every rule of the table.

    Parameters
    ----------
    facts
        The plan.
    """
    return tuple(_advised(facts, check) for rule in RULES for check in rule(facts))


def _advised(facts: Facts, check: Check) -> Check:
    """Leave out changes that the request could not take."""
    if applicable(facts, check.changes) == check.changes:
        return check
    return replace(check, changes=())


def worst(checks: Iterable[Check]) -> Outcome:
    """Give the worst outcome of the checks that were assessed.

    Parameters
    ----------
    checks
        The checks.
    """
    return max((check.outcome for check in checks), key=RANK.__getitem__, default="not_assessed")
