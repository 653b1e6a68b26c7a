"""The table of roles: what it says is what the rooms do, and a new row reaches all of them."""

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Any, get_args

import pytest

from service.planner.asked.catalog import Catalog, Item, index
from service.planner.asked.parts import Part
from service.planner.asked.roles import CATALOG_ROLES, ROLES, Role
from service.planner.asked.settle import Job
from service.planner.bill.pricing import price
from service.planner.errors import NoSuchItem
from service.planner.messages import Noun
from service.planner.sequencing.run_steps import ALONG
from service.planner.sequencing.steps import AFTER, BEFORE
from service.planner.wall import details
from service.planner.wall.layout import Part as WallPart
from service.planner.wall.layout import RunWall
from tests.planner.asking import english
from tests.planner.plan_cases import plan, tunnel
from tests.planner.scenarios import demo_catalog


def test_table_and_dimensions_name_the_same_roles() -> None:
    """A catalog item's class takes exactly the roles whose rows name it."""
    taken = {
        (role, kind)
        for kind in get_args(Part)
        for role in get_args(next(each.type for each in fields(kind) if each.name == "role"))
    }
    assert taken == {(role.name, role.dimensions) for role in ROLES.values() if role.dimensions}


def test_rows_name_what_there_is() -> None:
    """Stock that is cut from, dimensions that are chosen by or passed, and steps that take stock exist."""
    steps = {row.id for row in (*BEFORE, *ALONG, *AFTER)}
    for role in ROLES.values():
        assert role.material in CATALOG_ROLES, role.name
        assert role.step is None or role.step in steps, role.name
        own = {each.name for each in fields(role.dimensions)} if role.dimensions else set()
        assert {*role.chosen_by, *filter(None, (role.layer,))} <= own, role.name


@dataclass(frozen=True, slots=True, kw_only=True)
class KickStrip:
    """Dimensions of a role that does not exist."""

    role: str = "kick_strip"
    length: int
    width: int


_ROW = Role(
    name="kick_strip", noun=Noun(code="role.kick_strip", one="kick strip", many="kick strips"), dimensions=KickStrip, form="stick", needed="asked", spares=0, step="metal",
    pointer="", goes_up="joints", word="kick",
)  # fmt: skip
_STRIP = 500_000_000


def _with_strips(length: int = 3 * _STRIP + 10_000_000) -> Catalog:
    whole = demo_catalog().document
    made_up: Any = KickStrip(length=length, width=40_000_000)
    item = Item(sku="KICK-1", description="kick strip", part=made_up, price=700, mass_kg=1.5)
    return index(replace(whole, items=(*whole.items, item)))


def _at_joints(job: Job, wall: RunWall) -> Iterable[WallPart]:
    del job
    run = wall.run
    for number, joint in enumerate(wall.joints, start=1):
        yield WallPart(
            id=f"{run.id}-{_ROW.word}-{number}",
            role=_ROW.name,
            run=run.index,
            support=joint.support,
            end=None,
            x=joint.x,
            bottom=0,
            length=_STRIP,
        )


def test_a_new_row_with_geometry_and_item_reaches_cutting_bill_and_steps(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A role that does not exist is cut, bought, taken out of its pack and put up with nothing else changed."""
    monkeypatch.setitem(ROLES, _ROW.name, _ROW)
    monkeypatch.setattr(details, "GEOMETRY", (*details.GEOMETRY, _at_joints))
    planned = plan(tunnel(9), _with_strips())

    joints = sum(len(wall.joints) for wall in planned.layout.walls)
    cutting = next(cutting for cutting in planned.layout.cuttings if cutting.role == _ROW.name)
    named = [name for p in cutting.patterns for strip in p.strips for each in strip.pieces for name in each]
    assert joints > 3
    assert len(set(named)) == len(named) == joints
    assert cutting.objective == cutting.lower_bound == 700 * -(-joints // 3), (
        "three strips to a stick, kerfs too"
    )

    bill = price(planned.needs)
    line = next(line for line in bill.lines if line.item.sku == "KICK-1")
    assert (line.required, line.spare, set(line.needed_by)) == (-(-joints // 3), 0, set(named))
    assert bill.longest >= 3 * _STRIP

    used = {part.ref: step.id for step in planned.steps for part in step.parts}
    assert used["KICK-1"] == "metal"
    assert {used[name].split("-", 2)[2] for name in named} == {"profile"}


def test_stock_no_longer_than_asked_counts_for_a_new_row_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """The longest stock asked for leaves out sticks of a new role, and where none is left the role is named."""
    monkeypatch.setitem(ROLES, _ROW.name, _ROW)
    with pytest.raises(NoSuchItem) as refused:
        plan(tunnel(9, options={"longest_stock": "4 m"}), _with_strips(9_000_000_000))
    assert english(refused.value.errors[0].detail) == "leaves no kick strip to buy"
