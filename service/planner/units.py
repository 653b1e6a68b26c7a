"""Lengths as exact integers: parsing and writing of trade lengths.

Rules of this file
------------------
- A length inside the planner is a whole number of nanometres: 1/64 in and 0.1 mm are both exact.
- Text comes in with its unit and goes out in the display units that the customer asked for.
- No other quantity lives here.
"""

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Final, Literal

from service.planner.keeping import remembered

DisplayUnits = Literal["imperial", "metric"]

MILLIMETRE: Final = 1_000_000
"""One millimetre [nm]"""
INCH: Final = 25_400_000
"""One inch, exact since the international yard of 1959 [nm]"""
FOOT: Final = 12 * INCH
"""One foot [nm]"""
METRE: Final = 1000 * MILLIMETRE
"""One metre [nm]"""
SIXTEENTH: Final = INCH // 16
"""The step of an imperial cut length, 1/16 in [nm]"""

_VULGAR: Final = {
    "½": Fraction(1, 2), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3), "¼": Fraction(1, 4), "¾": Fraction(3, 4),
    "⅛": Fraction(1, 8), "⅜": Fraction(3, 8), "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip
_UNITS: Final = {
    "mm": MILLIMETRE, "cm": 10 * MILLIMETRE, "m": METRE,
    "in": INCH, "inch": INCH, "inches": INCH, '"': INCH, "″": INCH, "”": INCH,
    "ft": FOOT, "foot": FOOT, "feet": FOOT, "'": FOOT, "′": FOOT, "’": FOOT,
}  # fmt: skip

_SIXTEENTHS: Final = tuple(str(Fraction(part, 16)) for part in range(16))
"""Sixteenths of an inch as they are written"""

_FRACTION: Final = r"[0-9]{1,3}/[1-9][0-9]{0,2}"
# a decimal comma is read but where three digits follow it, which could as well be thousands
_DECIMALS: Final = r"(?:\.[0-9]{1,6}|,[0-9]{1,2}|,[0-9]{4,6})?"
_AMOUNT: Final = rf"(?:[0-9]{{1,7}}[ \-]{_FRACTION}|[0-9]{{1,7}} ?[½⅓⅔¼¾⅛⅜⅝⅞]|{_FRACTION}|[½⅓⅔¼¾⅛⅜⅝⅞]|[0-9]{{1,7}}{_DECIMALS})"


def any_case(*words: str) -> str:
    """Write a pattern for words in small and capital letters; flags would not reach the published contract."""
    return "|".join(
        "".join(f"[{letter}{letter.upper()}]" if letter.isalpha() else letter for letter in word)
        for word in words
    )


_FEET: Final = f"""(?:{any_case("feet", "foot", "ft")}|['′’])"""
_INCHES: Final = f"""(?:{any_case("inches", "inch", "in")}|["″”])"""
_METRIC: Final = f"(?:{any_case('mm', 'cm', 'm')})"
_TWO: Final = rf"{_AMOUNT} ?{_FEET} ?-? ?{_AMOUNT} ?{_INCHES}?"
LENGTH_PATTERN: Final = rf"^ *(?:0|-?{_TWO}|-?{_AMOUNT} ?(?:{_METRIC}|{_FEET}|{_INCHES})) *$"
"""What a length written as text looks like; the same pattern stands in the published contract, where it means the same in
Python, JavaScript (flags u and v) and Rust."""

_LENGTH: Final = re.compile(LENGTH_PATTERN)
_FEET_FIRST: Final = re.compile(rf"({_AMOUNT}) ?{_FEET} ?-? ?({_AMOUNT}) ?{_INCHES}?")
_TERM: Final = re.compile(rf"({_AMOUNT}) ?({_METRIC}|{_FEET}|{_INCHES})")
_BARE: Final = re.compile(rf" *({_AMOUNT}) *")


def _amount(text: str) -> Fraction:
    """Read a whole, decimal, fractional or mixed number."""
    if text[-1] in _VULGAR:
        whole = text[:-1].strip()
        return _VULGAR[text[-1]] + (int(whole) if whole else 0)
    return sum((Fraction(part) for part in text.replace("-", " ").replace(",", ".").split()), Fraction(0))


@remembered("readings")
def parse_length(text: str) -> int:
    """Read a length written the way the trade writes it.

    Parameters
    ----------
    text
        Such as ``24 in``, ``12' 6 1/2"``, ``2 ft 6``, ``2'-0"``, ``1.83 m``, ``1,2 m`` or ``1830 MM``; zero needs no unit.

    Returns
    -------
        The length [nm], rounded to the nearest nanometre where the text is finer than that.

    Raises
    ------
    ValueError
        When the text is not a length with its unit.
    """
    if not _LENGTH.fullmatch(text):
        raise ValueError("a length is a number with its unit")
    plain = text.strip().lower()
    size, unsigned = Fraction(0), plain.removeprefix("-")
    if both := _FEET_FIRST.fullmatch(unsigned):
        size = _amount(both[1]) * FOOT + _amount(both[2]) * INCH
    elif one := _TERM.fullmatch(unsigned):
        size = _amount(one[1]) * _UNITS[one[2]]
    return -round(size) if plain.startswith("-") else round(size)


def without_unit(text: str) -> str | None:
    """The number of a text that is a number without its unit, such as 24; none of any other text."""
    bare = _BARE.fullmatch(text)
    return bare[1] if bare else None


def from_millimetres(value: float) -> int:
    """Turn millimetres [mm] into whole nanometres [nm], to the nearest one."""
    if isinstance(value, int):
        return value * MILLIMETRE
    # exact, and much quicker than fractions: a ratio's last half goes to the even number
    above, below = value.as_integer_ratio()
    whole, rest = divmod(above * MILLIMETRE, below)
    return whole + (2 * rest > below or (2 * rest == below and whole % 2))


def to_millimetres(length: int) -> float:
    """Turn nanometres [nm] into millimetres [mm], whole where they are."""
    return length / MILLIMETRE if length % MILLIMETRE else length // MILLIMETRE


def as_asked(length: int, units: DisplayUnits) -> str | float:
    """Write a length [nm] as a request in these units would: exact inches as text, else a number of millimetres."""
    if units == "metric" or length % SIXTEENTH:
        return to_millimetres(length)
    sign, size = ("-", -length) if length < 0 else ("", length)
    return f"{sign}{_inches_text(size // SIXTEENTH)[:-1]} in"


def round_down(length: int, step: int) -> int:
    """Round a length down to a whole number of steps, both [nm]."""
    return length // step * step


def round_up(length: int, step: int) -> int:
    """Round a length up to a whole number of steps, both [nm]."""
    return -(-length // step) * step


def cut_step(units: DisplayUnits) -> int:
    """The step that cut lengths are rounded down to: 1/16 in or 1 mm [nm]."""
    return SIXTEENTH if units == "imperial" else MILLIMETRE


def length_text(length: int, units: DisplayUnits) -> str:
    """Write a length [nm] for people in their units."""
    return WRITE_LENGTH[units](length)


@remembered("lengths")
def _metric_text(length: int) -> str:
    """Write a length [nm] to the nearest millimetre, such as ``3651 mm``."""
    sign, size = ("-", -length) if length < 0 else ("", length)
    return f"{sign}{(size + MILLIMETRE // 2) // MILLIMETRE} mm"


@remembered("lengths")
def _imperial_text(length: int) -> str:
    """Write a length [nm] to the nearest 1/16 in, such as ``11' 11 5/8"``."""
    sign, size = ("-", -length) if length < 0 else ("", length)
    sixteenths = (size + SIXTEENTH // 2) // SIXTEENTH
    feet, rest = divmod(sixteenths, 192)
    return sign + (f"{feet}' {_inches_text(rest)}" if feet else _inches_text(rest))


WRITE_LENGTH: Final[Mapping[DisplayUnits, Callable[[int], str]]] = {
    "metric": _metric_text,
    "imperial": _imperial_text,
}
"""What writes a length [nm] for people"""


def counted(number: int, noun: str) -> str:
    """Write how many there are of a thing: 1 sheet, 2 sheets."""
    if number == 1:
        return f"1 {noun}"
    return f"{number} {noun}s"


def sixty_fourths(size: int) -> str:
    """Write the size of a drill in 64ths of an inch [nm]."""
    whole, part = divmod(round(64 * Fraction(size, INCH)), 64)
    fraction = str(Fraction(part, 64)) if part else ""
    return " ".join(filter(None, (str(whole) if whole else "", fraction, "in")))


def _inches_text(sixteenths: int) -> str:
    """Write inches with their fraction in lowest terms."""
    whole, part = divmod(sixteenths, 16)
    if not part:
        return f'{whole}"'
    fraction = _SIXTEENTHS[part]
    return f'{whole} {fraction}"' if whole else f'{fraction}"'
