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
    # questions to others, before anything is ordered or dug
    triggers.told,
    triggers.engineer,
    # what holds the wall
    wind.wind,
    screws.screw_length,
    screws.drilling,
    movement.joint_bite,
    movement.panel_end_cover,
    bearing.joint_drift,
    bearing.screw_edge,
    bearing.board_lap,
    bearing.clashes,
    geometry.bow_set_back,
    geometry.bow_stand_off,
    geometry.post_end,
    geometry.board_reach,
    geometry.bay_thickness,
    economy.trench_depth,
    # what lets it move, and keeps it tight
    movement.thermal_gap,
    movement.washer_cover,
    movement.channel_gap,
    ground.ground,
    geometry.curtain_lap,
    screws.head_contact,
    # what it is used for, and what it costs
    geometry.opening_width,
    geometry.vent_opening,
    economy.heat,
    economy.packed_length,
    economy.bundle_mass,
    economy.sheet_waste,
)  # fmt: skip
"""Every rule, of equal outcomes in the order answered: who could be hurt, what could come down, what could leak, cost."""
RANK: Final[dict[Outcome, int]] = {"pass": 0, "provided": 1, "not_assessed": 2, "caution": 3, "fail": 4}
"""Outcomes from the least to the most that asks for attention"""
LEFT: Final[tuple[Outcome, ...]] = ("fail", "caution")
"""Outcomes that leave something for somebody to decide, the worst first"""


def run_checks(facts: Facts) -> tuple[Check, ...]:
    """Judge a plan by every rule of the table; what asks for the most attention comes first.

    Parameters
    ----------
    facts
        The plan.
    """
    found = [_advised(facts, check) for rule in RULES for check in rule(facts)]
    return tuple(sorted(found, key=lambda check: -RANK[check.outcome]))


def _advised(facts: Facts, check: Check) -> Check:
    """Leave out changes that the request could not take."""
    if applicable(facts, check.changes) == check.changes:
        return check
    return replace(check, changes=())


def worst(checks: Iterable[Check]) -> Outcome:
    """The worst outcome that leaves something to decide, pass where nothing of what was assessed does.

    Parameters
    ----------
    checks
        The checks.
    """
    outcomes = {check.outcome for check in checks}
    left: list[Outcome] = [outcome for outcome in LEFT if outcome in outcomes]
    return left[0] if left else "pass" if outcomes - {"not_assessed"} else "not_assessed"
