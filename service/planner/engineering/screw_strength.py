"""What a self-drilling screw takes in thin steel: AISI S100, older and newer forms.

Rules of this file
------------------
- Strengths only; what the wind asks of a screw lives with the wind.
- Every formula stands under its clause. Where editions differ both are here, and the allowable
  strengths give the smaller and say which form gave it.
- Steel under the head, steel under the thread. None of this says what multiwall polycarbonate takes under
  a washer: no neutral value for that was found, so it stays a question for the sheet's maker.
"""

import math
from typing import Final, Literal

from service.planner.engineering.quantities import MM_PER_INCH
from service.planner.records import record

Form = Literal["older", "newer"]

ZINC_THICKNESS: Final = 0.0037 * MM_PER_INCH
"""Zinc on galvanised sheet, which counts for no strength: what the galvanised gauge adds (secondary) [mm]"""
LEAST_DIAMETER: Final = 2.03
"""Least screw diameter the clauses cover, 0.08 in. AISI S100 E4 / J4 [mm]"""
GREATEST_DIAMETER: Final = 6.35
"""Greatest screw diameter the clauses cover, 0.25 in (from memory) [mm]"""
SPACING_DIAMETERS: Final = 3.0
"""Least distance between screw centres, in diameters. AISI S100 E4.1 / J4.1 [-]"""
EDGE_DIAMETERS: Final = 1.5
"""Least distance from a screw's centre to any edge, in diameters. AISI S100-12 E4.2 (from memory) [-]"""
LEAST_HEAD_DIAMETER: Final = 5 / 16 * MM_PER_INCH
"""Least diameter of head or washer where the screw pulls. AISI S100 E4.4 / J4.4, secondary [mm]"""
GREATEST_HEAD_DIAMETER_OLDER: Final = 0.5 * MM_PER_INCH
"""Head or washer diameter beyond which the older pull-over form counts no more (from memory) [mm]"""

ALLOWABLE_FACTORS: Final[dict[tuple[str, Form], float]] = {
    # AISI S100-12 E4: 3.0 throughout. Newer: S100-16 with supplement 3, chapter J4, secondary.
    ("pull_out", "older"): 3.0,
    ("pull_out", "newer"): 2.80,
    ("pull_over", "older"): 3.0,
    ("pull_over", "newer"): 2.90,
}
"""Safety factors, allowable strength design [-]"""


@record
class ThreadInSteel:
    """A screw in the last metal it reaches."""

    diameter: float
    """Nominal screw diameter [mm]"""
    steel_thickness: float
    """Thickness of the steel that holds the thread, without coating [mm]"""
    steel_strength: float
    """Tensile strength of that steel, Fu [MPa]"""


@record
class HeadOnSteel:
    """A screw's head, or its washer, on the first metal."""

    bearing_diameter: float
    """Diameter of head, integral washer or loose steel washer on the metal [mm]"""
    steel_thickness: float
    """Thickness of the steel under the head, without coating [mm]"""
    steel_strength: float
    """Tensile strength of that steel, Fu [MPa]"""


@record
class Allowable:
    """The smaller of two editions' allowable strengths."""

    force: float
    """Allowable strength of one screw, allowable strength design [N]"""
    form: Form
    """The form that governs [-]"""


def covers(diameter: float) -> bool:
    """Whether the clauses cover a screw of this diameter.

    Parameters
    ----------
    diameter
        Nominal screw diameter [mm]

    Returns
    -------
        True from 0.08 to 0.25 in.
    """
    return LEAST_DIAMETER <= diameter <= GREATEST_DIAMETER


def pull_out_older(thread: ThreadInSteel) -> float:
    """Nominal pull-out strength, form of 1996 to 2016.

    Parameters
    ----------
    thread
        The screw and the steel that holds it.

    Returns
    -------
        Nominal strength of one screw [N]

    Notes
    -----
    Diameters of 2.03 to 6.35 mm. The whole thickness counts: a self-drilling screw passes through it.

    References
    ----------
    AISI S100-12, equation E4.4.1-1; S100-16, equation J4.4.1-1: Pnot = 0.85 tc d Fu2.
    """
    return 0.85 * thread.steel_thickness * thread.diameter * thread.steel_strength


def pull_out_newer(thread: ThreadInSteel) -> float:
    """Nominal pull-out strength with the thickness adjustment.

    Parameters
    ----------
    thread
        The screw and the steel that holds it.

    Returns
    -------
        Nominal strength of one screw [N]

    Notes
    -----
    Below the older form for steel thinner than 0.066 in (1.68 mm), above it for thicker steel.

    References
    ----------
    AISI S100-16 with supplement 3, equation J4.4.1-1 (secondary): Pnot = 0.85 tc d Fu2 x 1.63 (a tc)^0.18,
    a = 1 for inches, 0.0394 for millimetres; after AISI report RP19-1.
    """
    return pull_out_older(thread) * 1.63 * math.pow(0.0394 * thread.steel_thickness, 0.18)


def pull_over_older(head: HeadOnSteel) -> float:
    """Nominal pull-over strength, older form.

    Parameters
    ----------
    head
        The head or washer and the steel under it.

    Returns
    -------
        Nominal strength of one screw [N]

    References
    ----------
    AISI S100-96 to S100-12, equation E4.4.2-1: Pnov = 1.5 t1 d'w Fu1, d'w not above 1/2 in here; later
    editions allow 3/4 in (both limits from memory).
    """
    width = min(head.bearing_diameter, GREATEST_HEAD_DIAMETER_OLDER)
    return 1.5 * head.steel_thickness * width * head.steel_strength


def pull_over_newer(head: HeadOnSteel) -> float:
    """Nominal pull-over strength, newer form.

    Parameters
    ----------
    head
        The head or washer and the steel under it.

    Returns
    -------
        Nominal strength of one screw [N]

    Notes
    -----
    After the safety factors 38 per cent below the older form.

    References
    ----------
    AISI S100-16 with supplement 3, equation J4.4.2-1 (secondary): Pnov = 0.90 t1 d'w Fu1.
    """
    return 0.90 * head.steel_thickness * head.bearing_diameter * head.steel_strength


def allowable_pull_out(thread: ThreadInSteel) -> Allowable:
    """Return the allowable pull-out of one screw: the smaller of the two forms, each with its own factor.

    Parameters
    ----------
    thread
        The screw and the steel that holds it.

    Returns
    -------
        Strength and the form that governs.

    Raises
    ------
    ValueError
        When the screw's diameter is outside what the clauses cover.
    """
    if not covers(thread.diameter):
        raise ValueError(f"screw diameter {thread.diameter} mm is outside 2.03 to 6.35 mm (AISI S100, J4)")
    return _smaller("pull_out", pull_out_older(thread), pull_out_newer(thread))


def allowable_pull_over(head: HeadOnSteel) -> Allowable:
    """Return the allowable pull-over of one screw: the smaller of the two forms, each with its own factor.

    Parameters
    ----------
    head
        The head or washer and the steel under it.

    Returns
    -------
        Strength and the form that governs.

    Raises
    ------
    ValueError
        When the head is smaller than the 5/16 in the clause asks for.
    """
    if head.bearing_diameter < LEAST_HEAD_DIAMETER:
        raise ValueError(f"head diameter {head.bearing_diameter} mm is under 5/16 in (AISI S100, J4.4)")
    return _smaller("pull_over", pull_over_older(head), pull_over_newer(head))


def _smaller(mode: str, older: float, newer: float) -> Allowable:
    options: tuple[tuple[float, Form], ...] = (
        (older / ALLOWABLE_FACTORS[mode, "older"], "older"),
        (newer / ALLOWABLE_FACTORS[mode, "newer"], "newer"),
    )
    force, form = min(options)
    return Allowable(force=force, form=form)
