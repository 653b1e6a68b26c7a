"""What a catalog must satisfy as a whole, beyond each field being right: what belongs to what.

Rules of this file
------------------
- A rule is a small function from the catalog to complaints; ``RULES`` is the one place where the next one goes.
- A rule refuses only what can serve nobody: what is merely unusual is the dealer's business.
- A rule is judged only where the fields it needs are sound, so that no problem is told that is not there.
- Rules about sizes stand in ``catalog_sizes.py``.
"""

from collections.abc import Hashable, Iterable, Iterator
from datetime import date
from difflib import get_close_matches
from typing import Any, Final

from service.planner.asked.catalog import Catalog, CatalogDocument, FasteningChange, index
from service.planner.asked.catalog_fields import Reading, read_fields, write_pointer
from service.planner.asked.catalog_sizes import SIZE_RULES
from service.planner.asked.catalog_view import Complaint, Rule, Steps, View
from service.planner.asked.parts import Screw, Sheet
from service.planner.asked.roles import CATALOG_ROLES, HOOK_SET, ROLES
from service.planner.errors import CatalogInvalid, FieldProblem
from service.planner.fields import money_text
from service.planner.rules import FASTENING, LIMIT_NAMES, FasteningRule, Place
from service.planner.units import to_millimetres


def read_catalog(document: object) -> Catalog:
    """Read a catalog document, or say everything that is wrong with it.

    Parameters
    ----------
    document
        The decoded document, or its JSON text.

    Returns
    -------
        The catalog, ready to plan from.

    Raises
    ------
    CatalogInvalid
        When a field is wrong or a rule is broken; it carries every problem, in document order.
    """
    reading = read_fields(document)
    problems = [*reading.problems, *broken_rules(reading)]
    if reading.document is None or problems:
        raise CatalogInvalid("The catalog cannot be used.", sorted(problems, key=_document_order))
    return index(reading.document)


def broken_rules(reading: Reading) -> Iterator[FieldProblem]:
    """Judge every rule whose fields are sound."""
    if reading.document is None:
        return
    view = View.of(reading.document)
    for rule in (*RULES, *SIZE_RULES):
        if reading.unsound.isdisjoint(rule.needs):
            for complaint in rule.judge(view):
                yield FieldProblem(
                    pointer=write_pointer(_as_sent(complaint.steps, reading)),
                    detail=complaint.detail,
                    suggestion=complaint.suggestion,
                )


def _as_sent(steps: Steps, reading: Reading) -> Steps:
    """Turn the place of a sound entry into its place in the document that was sent."""
    if len(steps) > 1 and isinstance(steps[1], int) and steps[0] in reading.kept:
        return (steps[0], reading.kept[str(steps[0])][steps[1]], *steps[2:])
    return steps


_FIELDS: Final = tuple(CatalogDocument.__dataclass_fields__)


def _document_order(problem: FieldProblem) -> tuple[int, int]:
    """Order by the fields of the contract, then by the entry."""
    _, field, entry, *_ = (*problem.pointer.split("/"), "", "")
    return (
        _FIELDS.index(field) if field in _FIELDS else len(_FIELDS),
        int(entry) if entry.isdecimal() else -1,
    )


def _repeated(keys: Iterable[Hashable]) -> Iterator[int]:
    """Give the places of keys that stood before."""
    seen: set[Hashable] = set()
    for place, key in enumerate(keys):
        if key in seen:
            yield place
        seen.add(key)


def one_item_per_sku(view: View) -> Iterator[Complaint]:
    """Refuse a sku that names two items."""
    for place in _repeated(item.sku for item in view.document.items):
        yield Complaint(("items", place, "sku"), "is the sku of an earlier item too")


def one_currency(view: View) -> Iterator[Complaint]:
    """Refuse prices in another currency than the catalog's."""
    wanted = view.document.currency
    for place, item in enumerate(view.document.items):
        if item.currency not in {None, wanted}:
            yield Complaint(("items", place, "currency"), f"must be {wanted}, the catalog's currency", wanted)


def breaks_go_down(view: View) -> Iterator[Complaint]:
    """Refuse price breaks that do not grow in packs and fall in price."""
    for place, item in enumerate(view.document.items):
        packs, price = 1, item.price
        for step, offer in enumerate(item.breaks):
            if offer.packs <= packs:
                yield Complaint(("items", place, "breaks", step, "packs"), f"must be more than {packs}")
            if offer.price >= price:
                detail = f"must be less than {money_text(price)}, the price for fewer packs"
                yield Complaint(("items", place, "breaks", step, "price"), detail)
            packs, price = offer.packs, offer.price


def gtin_checks(view: View) -> Iterator[Complaint]:
    """Refuse a trade item number whose last digit does not check (GS1 General Specifications, section 7.9)."""
    for place, item in enumerate(view.document.items):
        if item.gtin is not None and (digit := check_digit(item.gtin[:-1])) != item.gtin[-1]:
            corrected = item.gtin[:-1] + digit
            yield Complaint(("items", place, "gtin"), f"its check digit must be {digit}", corrected)


def check_digit(digits: str) -> str:
    """Give the modulo 10 check digit of a number: weights 3 and 1 in turn, from the right."""
    weighted = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(digits)))
    return str(-weighted % 10)


def needed_roles(view: View) -> Iterator[Complaint]:
    """Refuse a catalog without what every plan needs."""
    for name in CATALOG_ROLES:
        if ROLES[name].needed == "always" and not view.roles[name]:
            yield Complaint(("items",), f"have no {name}, which every plan needs")


def hook_set_whole(view: View) -> Iterator[Complaint]:
    """Refuse rope hooks without what fits them."""
    stocked = [role for role in HOOK_SET if view.roles[role]]
    for role in HOOK_SET:
        if stocked and role not in stocked:
            yield Complaint(("items",), f"have {stocked[0]} but no {role}: a hook set is sold whole")


def _profiles() -> Iterator[tuple[str, type[Any]]]:
    """List the roles that take one thickness of sheet, with the class of their parts."""
    for role in ROLES.values():
        if role.takes_a_sheet and role.dimensions:
            yield role.name, role.dimensions


def thickness_complete(view: View) -> Iterator[Complaint]:
    """Refuse a sheet without profiles of its thickness, end caps where any are sold."""
    for role, kind in _profiles():
        taken = {part.thickness for _, part in view.parts(kind)}
        for place, thickness in view.first_of_thickness():
            if taken and thickness not in taken:
                detail = f"has no {role}: none of the catalog takes {to_millimetres(thickness):g} mm"
                yield Complaint(("items", place, "part", "thickness"), detail)


def profile_fits_a_sheet(view: View) -> Iterator[Complaint]:
    """Refuse a profile that takes no sheet of the catalog."""
    thicknesses = {sheet.thickness for _, sheet in view.parts(Sheet)}
    for _, kind in _profiles():
        for place, part in view.parts(kind):
            if thicknesses and part.thickness not in thicknesses:
                detail = f"fits no sheet: the catalog has no sheet of {to_millimetres(part.thickness):g} mm"
                yield Complaint(("items", place, "part", "thickness"), detail)


def _kind_of_screw(rule: FasteningRule | FasteningChange | Screw) -> tuple[int, str, str]:
    return rule.number, rule.head, rule.drive


def screw_for_every_place(view: View) -> Iterator[Complaint]:
    """Refuse a place in the fastening rules table for which there is no screw of any length."""
    stocked = {_kind_of_screw(screw) for _, screw in view.parts(Screw)}
    changed: set[Place] = set()
    for row, change in enumerate(view.document.fastening):
        changed.add(change.place)
        if _kind_of_screw(change) not in stocked:
            yield Complaint(("fastening", row), f"wants {_screw_text(change)}, which no item is")
    missing: dict[str, list[str]] = {}
    for place, rule in FASTENING.items():
        if place not in changed and _kind_of_screw(rule) not in stocked:
            missing.setdefault(_screw_text(rule), []).append(place)
    for screw, places in missing.items():
        yield Complaint(("items",), f"have no {screw}, needed for {', '.join(places)}")


def _screw_text(rule: FasteningRule | FasteningChange) -> str:
    return f"screw of number {rule.number}, head {rule.head}, drive {rule.drive}"


def one_row_per_place(view: View) -> Iterator[Complaint]:
    """Refuse two rows for one place in the fastening rules table."""
    for row in _repeated(change.place for change in view.document.fastening):
        yield Complaint(("fastening", row, "place"), "has an earlier row too")


def known_limits(view: View) -> Iterator[Complaint]:
    """Refuse a limit that does not exist or is set twice."""
    for row, change in enumerate(view.document.limits):
        if change.name not in LIMIT_NAMES:
            nearest = get_close_matches(change.name, LIMIT_NAMES, n=1)
            yield Complaint(("limits", row, "name"), "is not a limit", nearest[0] if nearest else None)
    for row in _repeated(change.name for change in view.document.limits):
        yield Complaint(("limits", row, "name"), "is set by an earlier row too")


def one_tier_per_name(view: View) -> Iterator[Complaint]:
    """Refuse two tiers of one name, and two prices of one item in a tier."""
    for place in _repeated(tier.name for tier in view.document.tiers):
        yield Complaint(("tiers", place, "name"), "is the name of an earlier tier too")
    for place, tier in enumerate(view.document.tiers):
        for row in _repeated(price.sku for price in tier.prices):
            yield Complaint(("tiers", place, "prices", row, "sku"), "has an earlier price in this tier too")


def tier_dates(view: View) -> Iterator[Complaint]:
    """Refuse days that no calendar has, and a last day before the first."""
    for place, tier in enumerate(view.document.tiers):
        days = [_day(tier.valid_from), _day(tier.valid_until)]
        for field, day in zip(("valid_from", "valid_until"), days, strict=True):
            if day is None:
                yield Complaint(("tiers", place, field), "is not a day of the calendar")
        first, last = days
        if first and last and last < first:
            yield Complaint(("tiers", place, "valid_until"), f"is before {tier.valid_from}, the first day")


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def tier_prices_an_item(view: View) -> Iterator[Complaint]:
    """Refuse a contract price of an item that is not in the catalog."""
    skus = {item.sku for item in view.document.items}
    for place, tier in enumerate(view.document.tiers):
        for row, price in enumerate(tier.prices):
            if price.sku not in skus:
                yield Complaint(("tiers", place, "prices", row, "sku"), "is not the sku of an item")


RULES: Final = (
    # rule, then the fields that must be sound before it can be judged
    Rule(one_item_per_sku),
    Rule(one_currency, "currency"),
    Rule(breaks_go_down),
    Rule(gtin_checks),
    Rule(needed_roles, "items"),
    Rule(hook_set_whole, "items"),
    Rule(thickness_complete, "items"),
    Rule(profile_fits_a_sheet, "items"),
    Rule(screw_for_every_place, "items", "fastening"),
    Rule(one_row_per_place),
    Rule(known_limits),
    Rule(one_tier_per_name),
    Rule(tier_dates),
    Rule(tier_prices_an_item, "items"),
)
"""What belongs to what, in the order of the document"""
