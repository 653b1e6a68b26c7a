"""Kinds of field that specs and catalogs are made of, with their bounds and their published schema.

Rules of this file
------------------
- Every number that comes in has a least and a greatest value, and the schema says both.
- A kind reads exactly what its schema allows: what JSON Schema calls an integer is one here.
- Nothing here knows a rule of the trade.
"""

import re
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import inf, isfinite
from typing import Annotated, Any, Final

from pydantic import (
    AfterValidator,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    Strict,
    StringConstraints,
)
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from service.planner.units import (
    LENGTH_PATTERN,
    DisplayUnits,
    any_case,
    from_millimetres,
    parse_length,
    to_millimetres,
    without_unit,
)

TEXT_CHARACTERS: Final = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]*$"
"""Text without control characters, so that it is safe in a log line and on a label."""
SKU_PATTERN: Final = r"^[A-Za-z0-9][A-Za-z0-9._\-]{0,39}$"
MONEY_PATTERN: Final = r"^[0-9]{1,7}(\.[0-9]{1,2})?$"
_MONEY: Final = re.compile(MONEY_PATTERN)

Sku = Annotated[str, StringConstraints(strict=True, pattern=SKU_PATTERN)]
Identifier = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z0-9][a-z0-9\-]{0,39}$")]


def _real_day(value: str) -> str:
    """Refuse a day that no calendar has, such as 2026-02-30."""
    try:
        date.fromisoformat(value)
    except ValueError:
        raise PydanticCustomError("no_such_day", "is no day of the calendar") from None
    return value


Day = Annotated[
    str,
    StringConstraints(strict=True, pattern=r"^20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$"),
    AfterValidator(_real_day),
]
"""A day, ISO 8601."""
Flag = Annotated[bool, Strict()]
"""True or false, nothing else."""
ShortText = Annotated[str, StringConstraints(strict=True, max_length=200, pattern=TEXT_CHARACTERS)]


def _integral(value: object) -> object:
    """Let 18.0 pass as the integer that JSON Schema says it is; refuse true and "18"."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return value


@dataclass(frozen=True, slots=True)
class WholeField:
    """An integer between two bounds, both included."""

    minimum: int
    maximum: int

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        bounded = core_schema.int_schema(ge=self.minimum, le=self.maximum, strict=True)
        return core_schema.no_info_before_validator_function(_integral, bounded)


@dataclass(frozen=True, slots=True)
class NumberField:
    """A number between two bounds, both included."""

    minimum: float
    maximum: float

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.float_schema(ge=self.minimum, le=self.maximum, strict=True, allow_inf_nan=False)


LONGEST_LENGTH: Final = 60
"""Characters of a length written as text at most [-]"""
LIKELY_UNITS: Final[Mapping[DisplayUnits, tuple[str, ...]]] = {
    "imperial": ("in", "ft", "mm", "m"),
    "metric": ("mm", "cm", "m", "in", "ft"),
}
"""Units that a length may lack, the likeliest first"""
LONGEST_MEASURE: Final = 30
"""Characters of a measure written as text at most [-]"""


@dataclass(frozen=True, slots=True, eq=False)  # told apart by identity, since its tables have no hash
class MeasureField:
    """A number in its usual unit, or a text with one of the units that people write.

    Parameters
    ----------
    minimum, maximum
        The bounds in the usual unit, both included.
    units
        What each unit is in the usual one: factor and what is added to the number before.
    plausible
        The most that a number without a unit may be; beyond it the unit is asked for.
    asks
        The unit that is asked for then, by the units asked in.
    """

    minimum: float
    maximum: float
    units: Mapping[str, tuple[Fraction, Fraction]]
    plausible: float = inf
    asks: Mapping[DisplayUnits, str] = field(default_factory=dict)

    @property
    def pattern(self) -> str:
        """What such a text looks like."""
        units = "|".join(any_case(unit) for unit in sorted(self.units, key=len, reverse=True))
        return rf"^ *-?[0-9]{{1,4}}(?:[.,][0-9]{{1,4}})? ?(?:{units}) *$"

    def _read(self, value: object) -> float:
        if isinstance(value, str):
            number = self._worth(value)
        elif isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value):
            number = float(value)
        else:
            raise PydanticCustomError("measure_type", "is a number or a text with its unit")
        if not self.minimum <= number <= self.maximum:
            raise PydanticCustomError(
                "measure_range",
                "must lie between {least} and {greatest}",
                {"least": float(self.minimum), "greatest": float(self.maximum)},
            )
        if not isinstance(value, str) and number > self.plausible:
            asked = {units: f"{number:g} {unit}" for units, unit in self.asks.items()}
            raise PydanticCustomError(
                "measure_unit", "is more than is plausible without its unit", {"suggestion": asked}
            )
        return number

    def _worth(self, text: str) -> float:
        """What a text is in the usual unit."""
        if len(text) > LONGEST_MEASURE or not re.fullmatch(self.pattern, text):
            raise PydanticCustomError("measure_type", "is a number or a text with its unit")
        plain = text.strip().lower()
        unit = max((unit for unit in self.units if plain.endswith(unit)), key=len)
        factor, added = self.units[unit]
        number = Fraction(plain.removesuffix(unit).strip().replace(",", "."))
        return round(float((number + added) * factor), 6)

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        most = min(self.maximum, self.plausible)
        return {
            "anyOf": [
                {"type": "number", "minimum": self.minimum, "maximum": most},
                {"type": "string", "pattern": self.pattern, "maxLength": LONGEST_MEASURE},
            ]
        }


def _speeds() -> Mapping[str, tuple[Fraction, Fraction]]:
    """List the units of speed, in metres a second; mile and nautical mile after NIST SP 811, 2008, B.8."""
    hour, none = Fraction(1, 3600), Fraction(0)
    return {
        "m/s": (Fraction(1), none),
        "km/h": (1000 * hour, none),
        "mph": (Fraction("1609.344") * hour, none),
        "kn": (1852 * hour, none),
        "knots": (1852 * hour, none),
    }


SPEEDS: Final = _speeds()
"""Units of speed [m/s]"""
TEMPERATURES: Final[Mapping[str, tuple[Fraction, Fraction]]] = {
    "degf": (Fraction(5, 9), Fraction(-32)), "°f": (Fraction(5, 9), Fraction(-32)), "f": (Fraction(5, 9), Fraction(-32)),
    "degc": (Fraction(1), Fraction(0)), "°c": (Fraction(1), Fraction(0)), "c": (Fraction(1), Fraction(0)),
}  # fmt: skip
"""Units of temperature, NIST SP 811, 2008, B.8 [degC]"""
DIFFERENCES: Final[Mapping[str, tuple[Fraction, Fraction]]] = {
    unit: (factor, Fraction(0)) for unit, (factor, _) in TEMPERATURES.items()
} | {"k": (Fraction(1), Fraction(0))}
"""Units of a difference of temperatures, NIST SP 811, 2008, B.8 [K]"""


@dataclass(frozen=True, slots=True)
class LengthField:
    """A length: a number in millimetres or a text with its unit; kept as whole nanometres.

    Parameters
    ----------
    minimum, maximum
        The bounds, both included [nm].
    """

    minimum: int
    maximum: int

    def _read(self, value: object) -> int:
        if isinstance(value, str):
            if len(value) > LONGEST_LENGTH:
                raise self._not_a_length("")
            try:
                size = parse_length(value)
            except ValueError:
                raise self._not_a_length(value) from None
        elif isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e9:
            size = from_millimetres(value)
        else:
            raise PydanticCustomError(
                "length_type", "a length is a number in millimetres or a text with its unit"
            )
        if not self.minimum <= size <= self.maximum:
            raise PydanticCustomError(
                "length_range",
                "must lie between {least} and {greatest} nm",
                {
                    "least": self.minimum,
                    "greatest": self.maximum,
                    "suggestion": None if isinstance(value, str) else self._asked(f"{value:g}"),
                },
            )
        return size

    def _not_a_length(self, text: str) -> PydanticCustomError:
        """Refuse a text, and ask for the unit where only that is missing."""
        number = without_unit(text)
        return PydanticCustomError(
            "length_text",
            "a length is a number in millimetres or a text with its unit",
            {"suggestion": self._asked(number) if number else None},
        )

    def _asked(self, number: str) -> Mapping[DisplayUnits, str | None]:
        """A number that lacks its unit with the one that is likely, by the units asked in."""
        return {units: self._asks(number, likely) for units, likely in LIKELY_UNITS.items()}

    def _asks(self, number: str, likely: Iterable[str]) -> str | None:
        """A number with the first of some units that puts it within the bounds."""
        for unit in likely:
            asked = f"{number} {unit}"
            with suppress(ValueError):
                if self.minimum <= parse_length(asked) <= self.maximum:
                    return asked
        return None

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        bounds = {"minimum": to_millimetres(self.minimum), "maximum": to_millimetres(self.maximum)}
        return {
            "anyOf": [
                {"type": "number", **bounds},
                {"type": "string", "pattern": LENGTH_PATTERN, "maxLength": LONGEST_LENGTH},
            ],
            "x-unit": "MMT",
        }


@dataclass(frozen=True, slots=True)
class MoneyField:
    """An amount of money: a decimal text such as "48.00"; kept in hundredths."""

    allow_zero: bool = True

    def _read(self, value: object) -> int:
        if not isinstance(value, str) or not _MONEY.fullmatch(value):
            raise PydanticCustomError("money", 'money is a text such as "48.00", up to 9999999.99')
        amount = hundredths(value)
        if not amount and not self.allow_zero:
            raise PydanticCustomError("money_zero", "must be more than zero")
        return amount

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        return {"type": "string", "pattern": MONEY_PATTERN, "examples": ["48.00"]}


Amount = Annotated[int, MoneyField()]
Price = Annotated[int, MoneyField(allow_zero=False)]


def _defaults_as_sent(schema: dict[str, Any]) -> None:
    """Publish default lengths in millimetres and default amounts as texts, as they would be sent."""
    for published in schema.get("properties", {}).values():
        if published.get("x-unit") == "MMT" and isinstance(published.get("default"), int):
            published["default"] = to_millimetres(published["default"])
        if published.get("pattern") == MONEY_PATTERN and isinstance(published.get("default"), int):
            published["default"] = money_text(published["default"])


CLOSED: Final = ConfigDict(extra="forbid", use_attribute_docstrings=True, json_schema_extra=_defaults_as_sent)
"""Unknown fields are refused; the docstring under a field is its published description."""


def hundredths(text: str) -> int:
    """Read money as it was written by `money_text` [hundredths]."""
    return int(Decimal(text) * 100)


def money_text(amount: int) -> str:
    """Write money held in hundredths as a decimal text."""
    units, rest = divmod(amount, 100)
    return f"{units}.{rest:02d}"
