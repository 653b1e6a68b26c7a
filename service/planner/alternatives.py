"""Alternatives: what else the catalog allows, kept where nothing else is better in every respect.

Rules of this file
------------------
- A candidate is the request with a few changes; each is planned in full, none is guessed.
- Four measures count: total, panel joints, sheet wasted, longest piece to ship. What is worse in one and better in
  none is left out.
- Another height is asked for by the fields that set it, where one height serves all sides.
- The number of candidates is bounded, so that effort is.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from itertools import product
from typing import Final

from typing_extensions import TypedDict

from service.planner.answer.layout_shapes import DOCUMENTED
from service.planner.answer.shapes import Change
from service.planner.asked.catalog import Catalog
from service.planner.asked.changes import Changes, changed
from service.planner.asked.parts import Sheet
from service.planner.asked.roles import ROLES
from service.planner.asked.settle import Job, settle
from service.planner.asked.spec import Spec
from service.planner.bill.pricing import PricedBill, price
from service.planner.bill.takeoff import take_off
from service.planner.errors import SpecError
from service.planner.fastening.schedule import schedule
from service.planner.fields import money_text
from service.planner.messages import Counted, Length, Message, Money, Number, say
from service.planner.nouns import JOINT
from service.planner.records import record
from service.planner.rules import LIMITS
from service.planner.solver.effort import Effort
from service.planner.units import as_asked, cut_step, round_down, to_millimetres
from service.planner.wall.assembly import lay_out
from service.planner.wall.layout import Layout
from service.planner.wall.runs import lay_runs
from service.planner.writing import ENGLISH, Language, Told, Writer

UNITS: Final = 6_000_000
"""What all candidates together may take where nothing else is said [units]"""
SHARE: Final = 0.25
"""What one candidate may take of them [-]"""
MOST_LENGTHS: Final = 4
"""Lengths of stock tried as the longest [-]"""
MOST_HEIGHTS: Final = 3
"""Heights tried besides the one asked for [-]"""
HEIGHT_SHARE: Final = 6
"""Heights within one part in this many of the one asked for are tried; judgement [-]"""
FLUTES: Final = {
    "along": say("alternative.flutes_along", "flutes along"),
    "upright": say("alternative.flutes_upright", "flutes upright"),
}
"""How flutes may run"""


@DOCUMENTED
class Alternative(Told):
    """One way to build the wall; its text tells a customer the difference to the wall as asked."""

    changes: list[Change]
    """Changes to the request that give it; none for the wall as asked"""
    panel_thickness_mm: float
    height_mm: float
    """Nominal height of the wall"""
    total: str
    """Total of the bill"""
    currency: str
    panel_joints: int
    sheets: int
    """Sheets to buy"""
    waste_m2: float
    """Sheet bought that does not end on the wall"""
    longest_mm: float
    """Longest piece to ship"""
    more_than_cheapest: str
    """What it costs more than the cheapest in the list"""


@DOCUMENTED
class Alternatives(TypedDict):
    """The wall as asked, and what else is worth a look."""

    asked: Alternative | None
    """The wall as asked; none where it cannot be built"""
    alternatives: list[Alternative]
    """Cheapest first, none worse than another in every respect"""


@record
class _Candidate:
    """A request with its changes."""

    spec: Spec
    changes: Changes


@record
class _Result:
    """A candidate as planned."""

    candidate: _Candidate
    job: Job
    total: int
    joints: int
    sheets: int
    waste: int
    longest: int

    @property
    def measures(self) -> tuple[int, int, int, int]:
        """What it is judged by: less is better in each."""
        return self.total, self.joints, self.waste, self.longest


def find_alternatives(
    spec: Spec, catalog: Catalog, effort: Effort | None = None, language: Language = ENGLISH
) -> Alternatives:
    """Plan what else the catalog allows.

    Parameters
    ----------
    spec
        The structure spec as asked.
    catalog
        The dealer's catalog.
    effort
        Counter of units; candidates for which none are left are not looked at.
    language
        The language of its texts.

    Raises
    ------
    SpecError
        When neither the spec as asked nor any candidate can be built; the error of the spec as asked.
    """
    asked_error: SpecError | None = None
    results: list[_Result] = []
    effort = effort or Effort(UNITS)
    for candidate in _candidates(spec, catalog):
        if candidate.changes and effort.ended:
            break
        try:
            with effort.share(SHARE):
                results.append(_planned(candidate, catalog, effort))
        except SpecError as error:
            asked_error = asked_error or (None if candidate.changes else error)
    if not results and asked_error:
        raise asked_error
    asked = next((result for result in results if not result.candidate.changes), None)
    best = sorted(_not_dominated(results), key=lambda result: result.measures)
    cheapest = best[0]
    return Alternatives(
        asked=None if asked is None else _rendered(asked, asked, cheapest, language),
        alternatives=[_rendered(result, asked, cheapest, language) for result in best],
    )


def _candidates(spec: Spec, catalog: Catalog) -> Iterator[_Candidate]:
    """List the request as asked and its variations, each once."""
    units, thickness = spec.display_units, spec.wall.panel_thickness
    sheets = [item.part for item in catalog.by_role["sheet"] if isinstance(item.part, Sheet)]
    own = [sheet for sheet in sheets if sheet.thickness == thickness]
    lengths: list[Changes] = [
        (("/options/longest_stock", as_asked(length, units)),) for length in _lengths(own)
    ]
    heights = _heights(spec, catalog, own)
    for longest, height in product(((), *lengths), ((), *heights)):
        yield from _changed(spec, (*height, *longest))
    for other in sorted({sheet.thickness for sheet in sheets} - {thickness}):
        yield from _changed(spec, (("/wall/panel_thickness", to_millimetres(other)),))
    yield from _changed(spec, (("/wall/flutes", "along" if spec.wall.flutes == "upright" else "upright"),))


def _lengths(sheets: Iterable[Sheet]) -> list[int]:
    """The lengths that may be the longest bought, but for the longest of all."""
    return sorted({sheet.length for sheet in sheets}, reverse=True)[1 : MOST_LENGTHS + 1]


def _heights(spec: Spec, catalog: Catalog, sheets: Iterable[Sheet]) -> list[Changes]:
    """Changes to heights near the one asked for that use the width of a sheet up."""
    try:
        sides = list(settle(spec, catalog).sides.values())
    except SpecError:
        return []
    asked, by = sides[0].height, sides[0].asked
    if any((side.height, side.asked.at) != (asked, by.at) for side in sides):
        return []
    step, kerf = cut_step(spec.display_units), LIMITS[spec.display_units].kerf
    found = {
        round_down((width - (count - 1) * kerf) // count, step)
        for width in {sheet.length if spec.wall.flutes == "upright" else sheet.width for sheet in sheets}
        for count in range(1, width // max(asked // 2, 1) + 1)
    }
    near = [height for height in found if height != asked and abs(height - asked) * HEIGHT_SHARE <= asked]
    nearest = sorted(near, key=lambda height: (abs(height - asked), height))[:MOST_HEIGHTS]
    return [by.changes(asked, height, spec.display_units) for height in nearest]


def _changed(spec: Spec, changes: Changes) -> Iterator[_Candidate]:
    """Apply changes to a request and note them; none where a value lies outside its field's bounds."""
    with suppress(ValueError):
        yield _Candidate(spec=changed(spec, changes), changes=changes)


def _planned(candidate: _Candidate, catalog: Catalog, effort: Effort) -> _Result:
    """Plan one candidate as far as its measures need."""
    job = settle(candidate.spec, catalog)
    runs, _ = lay_runs(job)
    layout = lay_out(job, runs, effort)
    bill = price(take_off(job, layout, schedule(job, layout)))
    return _Result(
        candidate=candidate,
        job=job,
        total=bill.total,
        joints=sum(len(wall.joints) for wall in layout.walls),
        sheets=_sheets(bill),
        waste=_waste(layout),
        longest=bill.longest,
    )


def _sheets(bill: PricedBill) -> int:
    """Count the sheets to buy."""
    return sum(line.required for line in bill.lines if line.item.part.role == "sheet")


def _waste(layout: Layout) -> int:
    """The area of sheet bought that does not end on the wall [nm2]."""
    waste = 0
    for pattern in layout.cutting("sheet").patterns:
        if not pattern.from_on_hand:
            used = sum((s.height or 0) * length * count for s in pattern.strips for length, count in s.cuts)
            waste += pattern.repeat * (pattern.length * (pattern.width or 0) - used)
    return waste


def _not_dominated(results: Sequence[_Result]) -> list[_Result]:
    """Keep what no other result beats: one of equals, the one asked for or with the fewest changes."""
    kept: list[_Result] = []
    for result in sorted(results, key=lambda r: (r.measures, len(r.candidate.changes))):
        worse = any(all(a <= b for a, b in zip(k.measures, result.measures, strict=True)) for k in kept)
        if not worse:
            kept.append(result)
    return kept


def _told(said: Message, writer: Writer) -> Told:
    """Write a sentence that may begin with what changes."""
    told = writer.told(said)
    told["text"] = told["text"][:1].upper() + told["text"][1:]
    return told


def _rendered(result: _Result, asked: _Result | None, cheapest: _Result, language: Language) -> Alternative:
    """Turn a result into plain values."""
    writer = Writer(language, result.job.units)
    return Alternative(
        changes=[Change(pointer=pointer, value=value) for pointer, value in result.candidate.changes],
        panel_thickness_mm=to_millimetres(result.candidate.spec.wall.panel_thickness),
        height_mm=to_millimetres(max(result.job.heights)),
        total=money_text(result.total),
        currency=result.job.catalog.document.currency,
        panel_joints=result.joints,
        sheets=result.sheets,
        waste_m2=round(result.waste / 1e18, 3),
        longest_mm=to_millimetres(result.longest),
        more_than_cheapest=money_text(result.total - cheapest.total),
        **_told(_words(result, asked), writer),
    )


def _words(result: _Result, asked: _Result | None) -> Message:
    """Say the difference to the wall as asked in words that a customer understands."""
    if asked is None:
        return say("alternative.only", "Can be built; the wall as asked cannot.")
    if result is asked:
        return say("alternative.as_asked", "As asked.")
    return say(
        "alternative.differs",
        "{changes}: {effects}.",
        changes=tuple(_what(result, asked)),
        effects=tuple(_effects(result, asked)) or (say("alternative.same_cost", "costs the same"),),
    )


def _effects(result: _Result, asked: _Result) -> Iterator[Message]:
    """Say what is saved or taken more, and how the longest piece differs."""
    saved = asked.total - result.total
    for less, thing in (
        (saved, Money(abs(saved), result.job.catalog.document.currency)),
        (asked.sheets - result.sheets, Counted(abs(asked.sheets - result.sheets), ROLES["sheet"].noun)),
        (asked.joints - result.joints, Counted(abs(asked.joints - result.joints), JOINT)),
    ):
        if less > 0:
            yield say("alternative.saves", "saves {thing}", thing=thing)
        elif less < 0:
            yield say("alternative.takes", "takes {thing} more", thing=thing)
    ship = asked.longest - result.longest
    if ship > 0:
        yield say("alternative.shorter", "longest piece {by} shorter", by=Length(ship))
    elif ship < 0:
        yield say("alternative.longer", "longest piece {by} longer", by=Length(-ship))


def _what(result: _Result, asked: _Result) -> Iterator[Message]:
    """Say what is changed."""
    spec, before = result.candidate.spec, asked.candidate.spec
    higher = max(result.job.heights) - max(asked.job.heights)
    if higher > 0:
        yield say("alternative.higher", "{by} higher", by=Length(higher))
    elif higher < 0:
        yield say("alternative.lower", "{by} lower", by=Length(-higher))
    if spec.wall.panel_thickness != before.wall.panel_thickness:
        thickness = Number(to_millimetres(spec.wall.panel_thickness))
        yield say("alternative.thickness", "{thickness_mm} mm sheet", thickness_mm=thickness)
    if spec.wall.flutes != before.wall.flutes:
        yield FLUTES[spec.wall.flutes]
    longest = spec.options.longest_stock
    if longest is not None and longest != before.options.longest_stock:
        yield say("alternative.longest_stock", "no stock longer than {longest}", longest=Length(longest))
