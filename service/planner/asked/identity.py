"""A spec as it counts for a plan's identity: whole, with its defaults filled in.

Rules of this file
------------------
- Everything that the spec holds counts, fields that are yet to come included, but for what `UNCOUNTED` names.
- What is left out and what says the same is the same question: its answers are equal to the byte.
- Ways to ask that come to the same wall but not to the same advice (bays or stations, a height or its top above the post)
  are two questions.
"""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from service.planner.asked.parts import Sheet
from service.planner.asked.settle import Job
from service.planner.asked.spec import Allowances, OnHand, Spec, Structure, Wall
from service.planner.rules import SPARES_PERCENT

UNCOUNTED: Final[Mapping[str, Any]] = {"reference": "", "catalog_revision": None}
"""Fields of the spec that do not count, with what stands there: the customer's own words, and the pin of a revision, which
counts as the revision that was planned from."""


def normalised(job: Job) -> Spec:
    """A job's spec with its defaults filled in, in one way of writing it.

    Parameters
    ----------
    job
        The settled job.
    """
    spec, options = job.spec, job.spec.options
    return replace(
        spec,
        **UNCOUNTED,
        structure=_structure(job, spec.structure),
        wall=_wall(job, spec.wall),
        options=replace(
            options,
            wind_flaps=tuple(sorted(set(options.wind_flaps))),
            sections=tuple(sorted(set(options.sections))),
            spares_percent=SPARES_PERCENT if options.spares_percent is None else options.spares_percent,
        ),
        on_hand=tuple(_on_hand(job, own) for own in spec.on_hand),
        allowances=Allowances(joint=job.joint_cost, metal_joint=job.metal_joint_cost, cut=job.cut_cost),
    )


def _structure(job: Job, structure: Structure) -> Structure:
    """Count stations from the first, and list the sides in one order."""
    stations = None if structure.stations is None else job.stations
    return replace(structure, stations=stations, sides=tuple(job.sides))


def _wall(job: Job, wall: Wall) -> Wall:
    """Fill in the height and the board that follow from the display units."""
    default = wall.height is None and wall.top_above_post is None
    return replace(
        wall,
        height=job.limits.wall_height if default else wall.height,
        baseboard_face=job.board.part.face,
    )


def _on_hand(job: Job, own: OnHand) -> OnHand:
    """Fill in the height of a piece of sheet."""
    part = job.catalog.by_sku[own.sku].part
    if own.height is None and isinstance(part, Sheet):
        return replace(own, height=part.width)
    return own
