"""The problem of one material's courses and the plan that answers it.

One problem holds all runs of one material, since both sides share the stock. The cost, in minor units of
money, is the price of every piece of stock opened, plus the joint allowance for every piece beyond one a
run, plus the cut allowance for every crosscut. A strip takes pieces while the sum of (length + kerf) is at
most stock length + kerf; it needs one crosscut a piece, one less when the pieces and the kerfs between them
fill it exactly. A sheet takes strips while the sum of (height + kerf) is at most its width + kerf.
"""

from service.planner.records import record
from service.planner.solver.courses.runs import CourseRun


@record
class Stock:
    """One kind of stock that may be opened.

    Parameters
    ----------
    key
        Name of the stock, unique in a problem.
    length
        Length [nm].
    width
        Width of a sheet, the height of an on-hand strip, None for linear stock [nm].
    price
        Price of one, 0 for stock on hand [minor units of money].
    count
        How many there are, None when unlimited [-].
    """

    key: str
    length: int
    width: int | None = None
    price: int = 0
    count: int | None = None


@record
class CourseProblem:
    """All runs of one material and the stock they share.

    Parameters
    ----------
    runs
        The runs, in the order of the answer's paths.
    heights
        What a strip of each height class takes of a sheet's width, before the kerf: the nominal height
        less the rip tolerance; empty for linear stock [nm].
    stock
        The stock that may be opened.
    kerf
        Width of a cut [nm].
    grid
        Step that cut lengths are rounded down to [nm].
    max_span
        Longest span of a piece from support centre to support centre, None for no limit [nm].
    joint_cost
        Allowance for a joint [minor units of money].
    cut_cost
        Allowance for a crosscut [minor units of money].
    """

    runs: tuple[CourseRun, ...]
    heights: tuple[int, ...] = ()
    stock: tuple[Stock, ...]
    kerf: int
    grid: int
    max_span: int | None = None
    joint_cost: int
    cut_cost: int


@record
class CutPiece:
    """A piece of a run, as it is cut.

    Parameters
    ----------
    run
        Index of the run [-].
    start
        Support where the piece starts [-].
    end
        Support where the piece ends [-].
    length
        Cut length [nm].
    """

    run: int
    start: int
    end: int
    length: int


@record
class CutStrip:
    """A strip or stick and the pieces cut from it, longest first.

    Parameters
    ----------
    height_class
        Index into the heights of the problem; 0 for linear stock [-].
    pieces
        The pieces.
    crosscuts
        Cuts across the strip: one a piece, one less when the strip is used up exactly [-].
    """

    height_class: int
    pieces: tuple[CutPiece, ...]
    crosscuts: int


@record
class OpenedStock:
    """One piece of stock and the strips that are used of it.

    Parameters
    ----------
    key
        Name of the stock.
    strips
        The strips used; one for linear stock.
    """

    key: str
    strips: tuple[CutStrip, ...]


@record
class Answer:
    """Pieces and cutting of a material.

    Parameters
    ----------
    paths
        For every run the supports where its pieces end, from the first support to the last [-].
    opened
        Every piece of stock opened; each piece of the paths is in exactly one strip.
    objective
        Stock, joint and cut cost together [minor units of money].
    lower_bound
        No plan costs less than this [minor units of money].
    """

    paths: tuple[tuple[int, ...], ...]
    opened: tuple[OpenedStock, ...]
    objective: int
    lower_bound: int

    @property
    def proven_optimal(self) -> bool:
        """Whether the objective meets the lower bound."""
        return self.objective == self.lower_bound


class SpanTooLongError(ValueError):
    """A run has no path: some stretch between supports is longer than any piece may be.

    Parameters
    ----------
    run
        Index of the run [-].
    start
        Support where the shortest piece that is missing would start [-].
    end
        Support where it would end [-].
    length
        Its cut length [nm].
    longest
        Longest piece that stock and reach allow [nm].
    """

    def __init__(self, *, run: int, start: int, end: int, length: int, longest: int) -> None:
        self.run, self.start, self.end = run, start, end
        self.length, self.longest = length, longest
        super().__init__(f"run {run}: no piece reaches from support {start} to {end}")


class TooManyPiecesError(ValueError):
    """There are more possible pieces than fit the memory and the time of a question.

    Parameters
    ----------
    pieces
        How many there are [-].
    most
        How many may be looked at [-].
    """

    def __init__(self, *, pieces: int, most: int) -> None:
        self.pieces, self.most = pieces, most
        super().__init__(f"{pieces} possible pieces, {most} may be looked at")


class StockShortageError(ValueError):
    """All stock is limited and there is not enough of it, or none is wide enough for a height class.

    Parameters
    ----------
    height_class
        Height class that lacks stock [-].
    """

    def __init__(self, *, height_class: int) -> None:
        self.height_class = height_class
        super().__init__(f"not enough stock for height class {height_class}")
