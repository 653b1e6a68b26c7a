"""Like materials of an order cut together: the pieces of every layout as they are, from less stock.

The path of the data::

    (id, Worked) of each structure -> lots: demands of one material, alike in stock, kerf and units
      -> cut list solver, bounded effort -> Recut: stock opened, patterns whose pieces carry their structure's id

Rules of this file
------------------
- Layouts are kept: a piece keeps its length, its ripped height and its id, and only the stock that it comes from changes.
- What is cut from the customer's own stock stays where it is.
- Effort is bounded by counts: a lot holds so many kinds of piece and gets a short search, and an order has so many lots;
  what is beyond them keeps the cutting that it has alone.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from service.planner.asked.catalog import Item
from service.planner.asked.settle import Job
from service.planner.plan import Worked
from service.planner.records import record
from service.planner.solver.cuts.cut_lists import solve_cut_list
from service.planner.solver.cuts.problem import CutDemand, CutListProblem, CutStock, Pattern
from service.planner.solver.effort import Effort
from service.planner.solver.kept import Kept
from service.planner.wall.courses import StockPiece, sheet_stock, stick_stock
from service.planner.wall.layout import CutPattern, Cutting, Strip

MOST_KINDS: Final = 24
"""Kinds of piece, by length and height, that one lot holds; a structure with more is a lot of its own [-]"""
MOST_LOTS: Final = 40
"""Lots of one order that are cut together [-]"""
_UNITS: Final = 100_000
"""What the search for one lot may do: 0.1 to 0.3 s, and nine tenths of what a long one saves"""
_Size = tuple[int, int | None]
"""Length and height of a piece [nm]; no height for sticks"""
_solved = Kept(
    solve_cut_list,
    lambda problem, answer: 400 * (len(problem.stock) + len(problem.demand) * (1 + len(answer.patterns))),
)
"""The same order is asked for as JSON, as a table and as a document"""


@record
class Material:
    """What decides whether pieces may come from one piece of stock."""

    role: str
    """Catalog role"""
    stock: tuple[StockPiece, ...]
    """Stock that is bought, at its prices"""
    kerf: int
    """Width of a cut [nm]"""
    drawn: tuple[str, bool]
    """Display units, and whether sheets are cut along their width"""


@record
class Share:
    """The pieces of one structure that are cut from one material."""

    structure: str
    """Its id on the order"""
    job: Job
    """Its job, whose units its texts are in"""
    pieces: tuple[tuple[_Size, str], ...]
    """Size and id of every piece that is cut from bought stock"""


@record
class Recut:
    """A material of several structures, cut together."""

    material: Material
    """The material"""
    structures: tuple[str, ...]
    """Whose pieces they are"""
    job: Job
    """A job whose units the texts are in"""
    cutting: Cutting
    """Patterns; their objective is the price of the stock opened and nothing else"""

    def opened(self) -> dict[Item, tuple[int, list[str]]]:
        """Count the stock opened, with the pieces that are cut from it."""
        found: dict[Item, tuple[int, list[str]]] = {}
        for pattern in self.cutting.patterns:
            assert pattern.item is not None  # noqa: S101  # bought stock is an item
            count, names = found.get(pattern.item, (0, []))
            named = [name for strip in pattern.strips for pieces in strip.pieces for name in pieces]
            found[pattern.item] = (count + pattern.repeat, names + named)
        return found


def materials(structures: Iterable[tuple[str, Worked]]) -> dict[Material, list[Share]]:
    """Sort the bought stock of structures by material.

    Parameters
    ----------
    structures
        Id and result of each.
    """
    found: dict[Material, list[Share]] = defaultdict(list)
    for structure, worked in structures:
        job = worked.facts.job
        for cutting in worked.facts.layout.cuttings:
            pieces = tuple(_pieces(structure, cutting))
            if pieces:
                share = Share(structure=structure, job=job, pieces=pieces)
                found[_material(job, cutting)].append(share)
    return found


def _material(job: Job, cutting: Cutting) -> Material:
    sheet = cutting.role == "sheet"
    stock = (
        sheet_stock(job, job.spec.wall.panel_thickness)
        if sheet
        else stick_stock(job, job.sections[cutting.role])
    )
    bought = tuple(piece for piece in stock if piece.count is None)
    return Material(
        role=cutting.role, stock=bought, kerf=cutting.kerf, drawn=(job.units, sheet and job.upright_flutes)
    )


def _pieces(structure: str, cutting: Cutting) -> Iterator[tuple[_Size, str]]:
    """Walk the pieces that are cut from bought stock, longest first within a strip."""
    for pattern in cutting.patterns:
        if pattern.from_on_hand:
            continue
        for strip in pattern.strips:
            lengths = [length for length, count in strip.cuts for _ in range(count)]
            for named in strip.pieces:
                for length, name in zip(lengths, named, strict=True):
                    yield (length, strip.height), f"{structure}/{name}"


def recut(material: Material, shares: Sequence[Share]) -> Iterator[Recut]:
    """Cut the pieces of several structures together, lot by lot.

    Parameters
    ----------
    material
        The material.
    shares
        The structures' pieces.
    """
    for lot in _lots(shares):
        if len(lot) > 1:
            yield _cut(material, lot)


def _lots(shares: Sequence[Share]) -> Iterator[list[Share]]:
    """Fill lots in the order given, as long as a lot's kinds of piece are few enough."""
    lot: list[Share] = []
    kinds: set[_Size] = set()
    for share in shares:
        own = {size for size, _ in share.pieces}
        if lot and len(kinds | own) > MOST_KINDS:
            yield lot
            lot, kinds = [], set()
        lot.append(share)
        kinds |= own
    yield lot


def _cut(material: Material, lot: Sequence[Share]) -> Recut:
    """Solve one lot and name its pieces."""
    ids: dict[_Size, list[str]] = defaultdict(list)
    for share in lot:
        for size, name in share.pieces:
            ids[size].append(name)
    sizes = sorted(ids, key=lambda size: (size[1] or 0, size[0]), reverse=True)
    problem = CutListProblem(
        stock=tuple(CutStock(length=s.length, width=s.width, price=s.item.price) for s in material.stock),
        demand=tuple(
            CutDemand(length=length, width=height, count=len(ids[length, height])) for length, height in sizes
        ),
        kerf=material.kerf,
    )
    found = _solved(problem, Effort(_UNITS))
    patterns = tuple(_pattern(material, pattern, sizes, ids) for pattern in found.patterns)
    cutting = Cutting(
        role=material.role,
        patterns=patterns,
        kerf=material.kerf,
        objective=found.objective,
        lower_bound=found.lower_bound,
    )
    names = tuple(dict.fromkeys(share.structure for share in lot))
    return Recut(material=material, structures=names, job=lot[0].job, cutting=cutting)


def _pattern(
    material: Material, pattern: Pattern, sizes: Sequence[_Size], ids: dict[_Size, list[str]]
) -> CutPattern:
    """Name the pieces of one pattern, taking ids off the lists in order."""
    stock = material.stock[pattern.stock]
    strips = []
    for strip in pattern.strips:
        cuts: Counter[_Size] = Counter()
        for cut in strip.cuts:
            cuts[sizes[cut.demand]] += cut.count
        named = tuple(
            tuple(ids[size].pop(0) for size, count in cuts.items() for _ in range(count))
            for _ in range(pattern.repeat)
        )
        number = cuts.total()
        used = sum(length * count for (length, _), count in cuts.items()) + material.kerf * (number - 1)
        strips.append(
            Strip(
                height=strip.width,
                cuts=tuple((length, count) for (length, _), count in cuts.items()),
                pieces=named,
                crosscuts=number - (used == stock.length),
                offcut=max(0, stock.length - used - material.kerf),
            )
        )
    return CutPattern(
        item=stock.item,
        sku=stock.item.sku,
        length=stock.length,
        width=stock.width,
        from_on_hand=False,
        repeat=pattern.repeat,
        strips=tuple(strips),
    )
