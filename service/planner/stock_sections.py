"""Sections of stock: items that share a cross-section and differ only in length.

Rules of this file
------------------
- Where several sections would serve, the first that the catalog lists is taken.
- What a customer cannot have brought is left out before anything is chosen.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from operator import attrgetter
from typing import Final, Generic, TypeVar, get_args

from service.planner.catalog import Catalog, Item, Part
from service.planner.errors import FieldProblem, NoSuchItem
from service.planner.units import to_millimetres

P = TypeVar("P", bound=Part)


@dataclass(frozen=True, slots=True)
class Section(Generic[P]):
    """Items of one cross-section, sold in one or more lengths."""

    part: P
    """Its dimensions, from the first item listed"""
    items: tuple[Item, ...]
    """The items, in the order listed"""


def section(catalog: Catalog, role: str, kind: type[P], wanted: Callable[[P], bool]) -> Section[P] | None:
    """Find the first section of a role that is wanted, with all its stock lengths.

    Parameters
    ----------
    catalog
        The catalog.
    role
        The role.
    kind
        Class of the role's parts.
    wanted
        Whether a part would serve, whatever its length.
    """
    items = catalog.by_role[role]
    first = next((i.part for i in items if isinstance(i.part, kind) and wanted(i.part)), None)
    if first is None:
        return None
    shape = cross_section(first)
    return Section(first, tuple([item for item in items if cross_section(item.part) == shape]))


def cross_section(part: Part) -> tuple[object, ...]:
    """Give everything that tells one cross-section from another: all but the stock length."""
    return _READERS[type(part)](part)


_READERS: Final[Mapping[type, Callable[[Part], tuple[object, ...]]]] = {
    kind: attrgetter(*(each.name for each in fields(kind) if each.name != "length"))
    for kind in get_args(Part)
}
"""What reads the cross-section of each kind of part"""


_LONG_ROLES: Final = (
    "sheet", "joint_profile", "baseboard", "top_channel", "film_channel", "corner_cap", "end_cap",
)  # fmt: skip


def short_enough(catalog: Catalog, longest: int | None) -> Catalog:
    """Leave out stock that is longer than may be bought."""
    if longest is None:
        return catalog
    by_role = dict(catalog.by_role)
    for role in _LONG_ROLES:
        by_role[role] = tuple(item for item in by_role[role] if getattr(item.part, "length", 0) <= longest)
    missing = [role for role in _LONG_ROLES if catalog.by_role[role] and not by_role[role]]
    if missing:
        shortest = min(getattr(item.part, "length", 0) for item in catalog.by_role[missing[0]])
        detail = f"leaves no {missing[0].replace('_', ' ')} to buy"
        problem = FieldProblem(
            pointer="/options/longest_stock", detail=detail, suggestion=to_millimetres(shortest)
        )
        raise NoSuchItem("No stock is that short.", [problem])
    return replace(catalog, by_role=by_role)


def found(sought: Section[P] | None, role: str, pointer: str) -> Section[P]:
    """Insist on a section."""
    if sought is None:
        words = role.replace("_", " ")
        raise NoSuchItem(f"The catalog has no {words} that would serve.", [FieldProblem(pointer=pointer, detail=f"no {words} in this catalog serves this value")])  # fmt: skip
    return sought
