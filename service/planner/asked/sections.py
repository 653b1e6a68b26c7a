"""Sections of stock: items that share a cross-section and differ only in length.

Rules of this file
------------------
- Where several sections would serve, the first that the catalog lists is taken.
- What a customer cannot have brought is left out before anything is chosen.
"""

from dataclasses import dataclass, fields, replace
from typing import Any, Generic, TypeVar

from service.planner.asked.catalog import Catalog, Item
from service.planner.asked.parts import Part, Sheet
from service.planner.asked.roles import ROLES
from service.planner.errors import FieldProblem, NoSuchItem
from service.planner.keeping import kept_with_catalog
from service.planner.messages import say
from service.planner.units import to_millimetres

P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class Section(Generic[P]):
    """Items of one cross-section, sold in one or more lengths."""

    part: P
    """Its dimensions, from the first item listed"""
    items: tuple[Item, ...]
    """The items, in the order listed"""


def section(catalog: Catalog, role: str, kind: type[P], **sizes: int) -> Section[P] | None:
    """Find the first section of a role that has the sizes wanted, with all its stock lengths.

    Parameters
    ----------
    catalog
        The catalog.
    role
        The role.
    kind
        Class of the role's parts.
    **sizes
        Sizes by the names of the part's fields [nm].
    """
    found = _section(catalog, role, tuple(sizes.items()))
    return found if found is not None and isinstance(found.part, kind) else None


@kept_with_catalog("sections")
def _section(catalog: Catalog, role: str, sizes: tuple[tuple[str, int], ...]) -> Section[Any] | None:
    """Look a section up."""
    items = catalog.by_role[role]
    parts = (item.part for item in items)
    first = next((part for part in parts if all(getattr(part, name) == size for name, size in sizes)), None)
    if first is None:
        return None
    shape = cross_section(first)
    return Section(first, tuple([item for item in items if cross_section(item.part) == shape]))


def cross_section(part: Part) -> tuple[object, ...]:
    """Return everything that tells one cross-section from another: all but the stock length."""
    return tuple(getattr(part, each.name) for each in fields(part) if each.name != "length")


@kept_with_catalog("sections")
def section_like(catalog: Catalog, part: Part) -> Section[Any]:
    """Find the section that a part is of, with all its stock lengths."""
    shape = cross_section(part)
    items = [item for item in catalog.by_role[part.role] if cross_section(item.part) == shape]
    return Section(part, tuple(items))


@kept_with_catalog("sections")
def sheets_of(catalog: Catalog, thickness: int) -> tuple[Item, ...]:
    """List the sheets of a thickness [nm]."""
    items = catalog.by_role["sheet"]
    return tuple(
        [item for item in items if isinstance(item.part, Sheet) and item.part.thickness == thickness]
    )


@kept_with_catalog("sections")
def thicknesses(catalog: Catalog) -> tuple[int, ...]:
    """Return the thicknesses that a catalog has sheets in, thinnest first [nm]."""
    parts = [item.part for item in catalog.by_role["sheet"]]
    return tuple(sorted({part.thickness for part in parts if isinstance(part, Sheet)}))


def short_enough(catalog: Catalog, longest: int | None) -> Catalog:
    """Leave out stock that is longer than may be bought."""
    return catalog if longest is None else _short_enough(catalog, longest)


@kept_with_catalog("catalogs")
def _short_enough(catalog: Catalog, longest: int) -> Catalog:
    """Make the catalog without the stock that is longer."""
    by_role = dict(catalog.by_role)
    long = [role for role in by_role if ROLES[role].long]
    for role in long:
        by_role[role] = tuple(item for item in by_role[role] if getattr(item.part, "length", 0) <= longest)
    missing = [role for role in long if catalog.by_role[role] and not by_role[role]]
    if missing:
        shortest = max(min(getattr(i.part, "length", 0) for i in catalog.by_role[role]) for role in missing)
        detail = say("spec.none_to_buy", "leaves no {part} to buy", part=ROLES[missing[0]].noun)
        problem = FieldProblem(
            pointer="/options/longest_stock", detail=detail, suggestion=to_millimetres(shortest)
        )
        raise NoSuchItem(say("spec.no_short_stock", "No stock is that short."), [problem])
    return replace(catalog, by_role=by_role)


def found(sought: Section[P] | None, role: str, pointer: str) -> Section[P]:
    """Insist on a section."""
    if sought is None:
        noun = ROLES[role].noun
        detail = say("spec.none_serves", "no {part} in this catalog serves this value", part=noun)
        raise NoSuchItem(
            say("spec.no_part", "The catalog has no {part} that would serve.", part=noun),
            [FieldProblem(pointer=pointer, detail=detail)],
        )
    return sought
