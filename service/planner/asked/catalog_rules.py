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
from service.planner.asked.catalog_fields import Reading, read_fields
from service.planner.asked.catalog_sizes import SIZE_RULES
from service.planner.asked.catalog_view import CatalogView, Complaint, Rule, Steps
from service.planner.asked.parts import Screw, Sheet
from service.planner.asked.roles import CATALOG_ROLES, HOOK_SET, ROLES
from service.planner.errors import CatalogInvalid, FieldProblem
from service.planner.messages import Length, Message, Money, filled, say
from service.planner.pointers import write_pointer
from service.planner.rules import FASTENING, LIMIT_NAMES, FasteningRule, Place


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
        raise CatalogInvalid(
            say("catalog.unusable", "The catalog cannot be used."), sorted(problems, key=_document_order)
        )
    return index(reading.document)


def broken_rules(reading: Reading) -> Iterator[FieldProblem]:
    """Judge every rule whose fields are sound."""
    if reading.document is None:
        return
    view = CatalogView.of(reading.document)
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
    """Return the places of keys that stood before."""
    seen: set[Hashable] = set()
    for place, key in enumerate(keys):
        if key in seen:
            yield place
        seen.add(key)


def one_item_per_sku(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a sku that names two items."""
    for place in _repeated(item.sku for item in view.document.items):
        yield Complaint(
            ("items", place, "sku"), say("catalog.sku_twice", "is the sku of an earlier item too")
        )


def one_currency(view: CatalogView) -> Iterator[Complaint]:
    """Refuse prices in another currency than the catalog's."""
    wanted = view.document.currency
    for place, item in enumerate(view.document.items):
        if item.currency not in {None, wanted}:
            yield Complaint(
                ("items", place, "currency"),
                say("catalog.currency", "must be {currency}, the catalog's currency", currency=wanted),
                wanted,
            )


def breaks_go_down(view: CatalogView) -> Iterator[Complaint]:
    """Refuse price breaks that do not grow in packs and fall in price."""
    for place, item in enumerate(view.document.items):
        packs, price = 1, item.price
        for step, offer in enumerate(item.breaks):
            if offer.packs <= packs:
                yield Complaint(
                    ("items", place, "breaks", step, "packs"),
                    say("catalog.break_packs", "must be more than {packs}", packs=packs),
                )
            if offer.price >= price:
                detail = say(
                    "catalog.break_price",
                    "must be less than {price}, the price for fewer packs",
                    price=Money(price, view.document.currency),
                )
                yield Complaint(("items", place, "breaks", step, "price"), detail)
            packs, price = offer.packs, offer.price


def gtin_checks(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a trade item number whose last digit does not check (GS1 General Specifications, section 7.9)."""
    for place, item in enumerate(view.document.items):
        if item.gtin is not None and (digit := check_digit(item.gtin[:-1])) != item.gtin[-1]:
            corrected = item.gtin[:-1] + digit
            yield Complaint(
                ("items", place, "gtin"),
                say("catalog.gtin", "its check digit must be {digit}", digit=digit),
                corrected,
            )


def check_digit(digits: str) -> str:
    """Return the modulo 10 check digit of a number: weights 3 and 1 in turn, from the right."""
    weighted = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(digits)))
    return str(-weighted % 10)


def needed_roles(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a catalog without what every plan needs."""
    for name in CATALOG_ROLES:
        if ROLES[name].needed == "always" and not view.roles[name]:
            yield Complaint(
                ("items",), say("catalog.role_needed", "have no {role}, which every plan needs", role=name)
            )


def hook_set_whole(view: CatalogView) -> Iterator[Complaint]:
    """Refuse rope hooks without what fits them."""
    stocked = [role for role in HOOK_SET if view.roles[role]]
    for role in HOOK_SET:
        if stocked and role not in stocked:
            yield Complaint(
                ("items",),
                say(
                    "catalog.hook_set",
                    "have {stocked} but no {role}: a hook set is sold whole",
                    stocked=stocked[0],
                    role=role,
                ),
            )


def _profiles() -> Iterator[tuple[str, type[Any]]]:
    """List the roles that take one thickness of sheet, with the class of their parts."""
    for role in ROLES.values():
        if role.takes_a_sheet and role.dimensions:
            yield role.name, role.dimensions


def thickness_complete(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a sheet without profiles of its thickness, end caps where any are sold."""
    for role, kind in _profiles():
        taken = {part.thickness for _, part in view.parts(kind)}
        for place, thickness in view.first_of_thickness():
            if taken and thickness not in taken:
                detail = say(
                    "catalog.no_profile",
                    "has no {role}: none of the catalog takes {thickness}",
                    role=role,
                    thickness=Length(thickness),
                )
                yield Complaint(("items", place, "part", "thickness"), detail)


def profile_fits_a_sheet(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a profile that takes no sheet of the catalog."""
    thicknesses = {sheet.thickness for _, sheet in view.parts(Sheet)}
    for _, kind in _profiles():
        for place, part in view.parts(kind):
            if thicknesses and part.thickness not in thicknesses:
                detail = say(
                    "catalog.no_sheet",
                    "fits no sheet: the catalog has no sheet of {thickness}",
                    thickness=Length(part.thickness),
                )
                yield Complaint(("items", place, "part", "thickness"), detail)


def _kind_of_screw(rule: FasteningRule | FasteningChange | Screw) -> tuple[int, str, str]:
    return rule.number, rule.head, rule.drive


def screw_for_every_place(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a place in the fastening rules table for which there is no screw of any length."""
    stocked = {_kind_of_screw(screw) for _, screw in view.parts(Screw)}
    changed: set[Place] = set()
    for row, change in enumerate(view.document.fastening):
        changed.add(change.place)
        if _kind_of_screw(change) not in stocked:
            yield Complaint(
                ("fastening", row),
                say("catalog.screw_wanted", "wants a {screw}, which no item is", screw=_screw_said(change)),
            )
    missing: dict[tuple[int, str, str], list[str]] = {}
    for place, rule in FASTENING.items():
        if place not in changed and _kind_of_screw(rule) not in stocked:
            missing.setdefault(_kind_of_screw(rule), []).append(place)
    for (number, head, drive), places in missing.items():
        screw = filled(_SCREW, {"number": number, "head": head, "drive": drive})
        yield Complaint(
            ("items",),
            say(
                "catalog.screw_missing",
                "have no {screw}, needed for {places}",
                screw=screw,
                places=tuple(places),
            ),
        )


_SCREW: Final = say("catalog.screw", "screw of number {number}, head {head}, drive {drive}")


def _screw_said(rule: FasteningChange) -> Message:
    return filled(_SCREW, {"number": rule.number, "head": rule.head, "drive": rule.drive})


def one_row_per_place(view: CatalogView) -> Iterator[Complaint]:
    """Refuse two rows for one place in the fastening rules table."""
    for row in _repeated(change.place for change in view.document.fastening):
        yield Complaint(("fastening", row, "place"), say("catalog.place_twice", "has an earlier row too"))


def known_limits(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a limit that does not exist or is set twice."""
    for row, change in enumerate(view.document.limits):
        if change.name not in LIMIT_NAMES:
            nearest = get_close_matches(change.name, LIMIT_NAMES, n=1)
            yield Complaint(
                ("limits", row, "name"),
                say("catalog.limit_unknown", "is not a limit"),
                nearest[0] if nearest else None,
            )
    for row in _repeated(change.name for change in view.document.limits):
        yield Complaint(("limits", row, "name"), say("catalog.limit_twice", "is set by an earlier row too"))


def one_tier_per_name(view: CatalogView) -> Iterator[Complaint]:
    """Refuse two tiers of one name, and two prices of one item in a tier."""
    for place in _repeated(tier.name for tier in view.document.tiers):
        yield Complaint(
            ("tiers", place, "name"), say("catalog.tier_twice", "is the name of an earlier tier too")
        )
    for place, tier in enumerate(view.document.tiers):
        for row in _repeated(price.sku for price in tier.prices):
            yield Complaint(
                ("tiers", place, "prices", row, "sku"),
                say("catalog.tier_price_twice", "has an earlier price in this tier too"),
            )


def tier_dates(view: CatalogView) -> Iterator[Complaint]:
    """Refuse days that no calendar has, and a last day before the first."""
    for place, tier in enumerate(view.document.tiers):
        days = [_day(tier.valid_from), _day(tier.valid_until)]
        for field, day in zip(("valid_from", "valid_until"), days, strict=True):
            if day is None:
                yield Complaint(
                    ("tiers", place, field), say("catalog.no_day", "is not a day of the calendar")
                )
        first, last = days
        if first and last and last < first:
            yield Complaint(
                ("tiers", place, "valid_until"),
                say("catalog.before_first", "is before {first}, the first day", first=tier.valid_from),
            )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def tier_prices_an_item(view: CatalogView) -> Iterator[Complaint]:
    """Refuse a contract price of an item that is not in the catalog."""
    skus = {item.sku for item in view.document.items}
    for place, tier in enumerate(view.document.tiers):
        for row, price in enumerate(tier.prices):
            if price.sku not in skus:
                yield Complaint(
                    ("tiers", place, "prices", row, "sku"),
                    say("catalog.tier_sku", "is not the sku of an item"),
                )


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
