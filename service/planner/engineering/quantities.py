"""Factors between the trade's units and SI.

Rules of this file
------------------
- Factors and temperature scales only; lengths as people write them are read elsewhere.
- Every factor is exact by definition, or the product of exact ones (NIST SP 811, appendix B).
- The engineering modules work in SI (N, Pa, mm, m, kg, W, K); these factors stand at their edges.
"""

from typing import Final

MM_PER_INCH: Final = 25.4
"""One inch [mm]"""
M_PER_FOOT: Final = 0.3048
"""One foot [m]"""
SQUARE_FOOT: Final = M_PER_FOOT**2
"""One square foot [m2]"""
MILE_PER_HOUR: Final = 0.44704
"""One mile per hour [m/s]"""
POUND: Final = 0.45359237
"""One avoirdupois pound [kg]"""
STANDARD_GRAVITY: Final = 9.80665
"""Standard acceleration of free fall [m/s2]"""
POUND_FORCE: Final = POUND * STANDARD_GRAVITY
"""One pound-force [N]"""
POUND_PER_SQUARE_FOOT: Final = POUND_FORCE / SQUARE_FOOT
"""One pound-force per square foot [Pa]"""
KSI: Final = 1000 * POUND_FORCE / MM_PER_INCH**2
"""One thousand pounds-force per square inch [MPa]"""
BTU_PER_HOUR: Final = 1055.05585262 / 3600
"""One British thermal unit, International Table, per hour [W]"""
FAHRENHEIT_DEGREE: Final = 5 / 9
"""A difference of one degree Fahrenheit [K]"""
BTU_TRANSMITTANCE: Final = BTU_PER_HOUR / (SQUARE_FOOT * FAHRENHEIT_DEGREE)
"""One Btu/(h ft2 degF) [W/m2K]"""


def celsius(fahrenheit: float) -> float:
    """Temperature in degrees Celsius.

    Parameters
    ----------
    fahrenheit
        Temperature, not a difference [degF]

    Returns
    -------
        The same temperature [degC]
    """
    return (fahrenheit - 32) * FAHRENHEIT_DEGREE
