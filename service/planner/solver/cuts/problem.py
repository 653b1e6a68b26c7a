"""A cut list as asked for and as answered: stock and demand in, patterns out, and what can go wrong.

Rules of this file
------------------
- Question and answer only; how it is solved lives elsewhere.
- Lengths are whole nanometres, prices whole minor units (any integers will do).
- Pieces and stock either all have a width (sheets) or none has one (sticks).
"""

from service.planner.errors import FieldProblem, PlanError
from service.planner.messages import say
from service.planner.records import record


@record
class CutStock:
    """One kind of stock."""

    length: int
    """Length [nm]"""
    width: int | None = None
    """Width; None for sticks [nm]"""
    price: int
    """Price of one [minor units]"""
    count: int | None = None
    """How many there are; None when there is no limit [-]"""


@record
class CutDemand:
    """Pieces wanted."""

    length: int
    """Length [nm]"""
    width: int | None = None
    """Width; None for sticks [nm]"""
    count: int
    """How many [-]"""


@record
class CutListProblem:
    """What is to be cut from what."""

    stock: tuple[CutStock, ...]
    """Stock, all with a width or all without"""
    demand: tuple[CutDemand, ...]
    """Pieces, with a width where the stock has one"""
    kerf: int = 0
    """Width of the saw cut [nm]"""
    trim: bool = False
    """Whether a strip may also hold narrower pieces, trimmed"""


@record
class Cut:
    """Equal pieces of one strip."""

    demand: int
    """Index of the demand they meet [-]"""
    count: int
    """How many [-]"""


@record
class Strip:
    """One strip of a sheet, or a whole stick."""

    width: int | None
    """Width ripped; None for a stick [nm]"""
    cuts: tuple[Cut, ...]
    """What is crosscut from it"""


@record
class Pattern:
    """How one piece of stock is cut."""

    stock: int
    """Index of the stock [-]"""
    strips: tuple[Strip, ...]
    """Its strips, widest first; one for a stick"""
    repeat: int
    """How many are cut this way [-]"""


@record
class CutList:
    """The cutting found and how good it must be."""

    objective: int
    """Price of the stock opened [minor units]"""
    lower_bound: int
    """No cutting costs less than this; proved in exact arithmetic [minor units]"""
    proven_optimal: bool
    """Whether the two are equal"""
    patterns: tuple[Pattern, ...]
    """How the stock is cut"""
    stock_used: tuple[int, ...]
    """How many of each stock are opened [-]"""


class CutListError(PlanError):
    """A demand that cannot be cut."""


class PieceFitsNoStock(CutListError):
    """Pieces that no stock on the list can hold.

    Parameters
    ----------
    pieces
        Indices of the demands concerned.
    """

    def __init__(self, pieces: tuple[int, ...]) -> None:
        super().__init__(
            say("cutting.too_large", "Some pieces are larger than every stock on the list."),
            [
                FieldProblem(pointer=f"/demand/{piece}", detail=say("cutting.fits_none", "fits no stock"))
                for piece in pieces
            ],
        )
        self.pieces = pieces


class StockRunsOut(CutListError):
    """Limited stock that does not cover the demand.

    Parameters
    ----------
    missing
        Pieces left over by the best cutting found, by index of the demand.
    proven
        Whether no cutting covers the demand; otherwise none was found within the effort.
    """

    def __init__(self, missing: dict[int, int], *, proven: bool) -> None:
        super().__init__(
            say("cutting.runs_out", "The stock does not cover the demand.")
            if proven
            else say("cutting.none_found", "No cutting that covers the demand was found."),
            [
                FieldProblem(
                    pointer=f"/demand/{piece}/count",
                    detail=say("cutting.left_over", "{count} left over", count=count),
                )
                for piece, count in missing.items()
            ],
        )
        self.missing = missing
        self.proven = proven
