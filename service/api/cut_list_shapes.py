"""The shapes of a cut list on the wire.

Rules of this file
------------------
- Lengths are numbers in millimetres, money is decimal text, everything has bounds.
"""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Final, NotRequired

from pydantic import ConfigDict, Field, TypeAdapter
from typing_extensions import TypedDict

from service.api.models import documented
from service.planner.fields import CLOSED, NumberField, Price, WholeField

_Length = Annotated[float, NumberField(1, 1_000_000)]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutListStock:
    """One kind of stock: a stick, or a sheet with a width."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    length_mm: _Length
    """Length, along the strips of a sheet [mm]"""
    width_mm: _Length | None = None
    """Width across the strips; none for a stick [mm]"""
    price: Price | None = None
    """Price of one; the length in millimetres where no stock has a price"""
    count: Annotated[int, WholeField(1, 100_000)] | None = None
    """How many there are; null for no limit"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutListDemand:
    """Equal pieces that are wanted."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    length_mm: _Length
    """Length [mm]"""
    width_mm: _Length | None = None
    """Width; none for a piece of stick [mm]"""
    count: Annotated[int, WholeField(1, 100_000)]
    """How many"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutListRequest:
    """Stock and demand, all with widths or all without."""

    __pydantic_config__: ClassVar[ConfigDict] = CLOSED

    kerf_mm: Annotated[float, NumberField(0, 50)] = 3.0
    """Width of the saw cut. Default 3 [mm]"""
    trim_to_width: Annotated[bool, Field(strict=True)] = False
    """Whether a strip may also hold narrower pieces, trimmed to width"""
    stock: Annotated[tuple[CutListStock, ...], Field(min_length=1, max_length=100)]
    """What may be cut"""
    demand: Annotated[tuple[CutListDemand, ...], Field(min_length=1, max_length=1000)]
    """What is wanted"""


@documented
class CutsRow(TypedDict):
    """Equal pieces cut one after the other."""

    length_mm: float
    """Length [mm]"""
    count: int
    """How many"""


@documented
class StripRow(TypedDict):
    """A strip ripped from a sheet."""

    width_mm: float
    """Width [mm]"""
    cuts: list[CutsRow]
    """What is crosscut from it"""


@documented
class PatternRow(TypedDict):
    """How one piece of stock is cut."""

    stock_length_mm: float
    """Length of the stock [mm]"""
    stock_width_mm: NotRequired[float]
    """Width of a sheet [mm]"""
    cuts: NotRequired[list[CutsRow]]
    """What is cut from a stick"""
    strips: NotRequired[list[StripRow]]
    """What is ripped from a sheet, widest first"""
    repeat: int
    """How many are cut this way"""


@documented
class StockRow(TypedDict):
    """Stock that is opened."""

    length_mm: float
    """Length [mm]"""
    width_mm: NotRequired[float]
    """Width of a sheet [mm]"""
    count: int
    """How many"""


@documented
class CutListAnswer(TypedDict):
    """A cutting and how good it must be."""

    objective: str
    """Price of the stock opened"""
    lower_bound: str
    """No cutting costs less; proved in exact arithmetic"""
    proven_optimal: bool
    """Whether the two are equal"""
    stock_used: list[StockRow]
    """In the order of the request, without stock that stays closed"""
    patterns: list[PatternRow]
    """How each opened piece is cut; every piece wanted is in exactly one"""


CUT_LIST: Final = TypeAdapter(CutListRequest)
