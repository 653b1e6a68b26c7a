"""Kinds of field that specs and catalogs are made of, with their bounds and their published schema.

Rules of this file
------------------
- Every number that comes in has a least and a greatest value, and the schema says both.
- A kind reads exactly what its schema allows: what JSON Schema calls an integer is one here.
- Nothing here knows a rule of the trade.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Final

from pydantic import ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler, Strict, StringConstraints
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from service.planner.units import LENGTH_PATTERN, from_millimetres, parse_length, to_millimetres

TEXT_CHARACTERS: Final = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]*$"
"""Text without control characters, so that it is safe in a log line and on a label."""
SKU_PATTERN: Final = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$"
MONEY_PATTERN: Final = r"^[0-9]{1,7}(\.[0-9]{1,2})?$"
_MONEY: Final = re.compile(MONEY_PATTERN)

Sku = Annotated[str, StringConstraints(strict=True, pattern=SKU_PATTERN)]
Identifier = Annotated[str, StringConstraints(strict=True, pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Day = Annotated[
    str, StringConstraints(strict=True, pattern=r"^20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")
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
            try:
                size = parse_length(value)
            except ValueError:
                raise PydanticCustomError(
                    "length_text",
                    'a length is a number in millimetres or a text with its unit, such as "24 in", "12\' 6 1/2\\"" or "1.83 m"',
                ) from None
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
                {"least": self.minimum, "greatest": self.maximum},
            )
        return size

    def __get_pydantic_core_schema__(self, source: type[Any], handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self._read)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        bounds = {"minimum": to_millimetres(self.minimum), "maximum": to_millimetres(self.maximum)}
        return {
            "anyOf": [
                {"type": "number", **bounds},
                {"type": "string", "pattern": LENGTH_PATTERN, "maxLength": 60},
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
