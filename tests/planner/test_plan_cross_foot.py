"""Every plan adds up: layout, cutting, schedule, bill and steps tell of the same parts, over the whole spec space."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from service.planner.errors import SpecError
from tests.planner.asking import plan_of
from tests.planner.requests import requests
from tests.planner.scenarios import demo_catalog

Plan = Any
NEAR = 1e-6
"""Sums of millimetres with nanometre grain are compared to a nanometre [mm]"""


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Draw a request that can be planned, and plan it."""
    body = draw(requests())
    try:
        return plan_of(body, demo_catalog())
    except SpecError as error:
        refused = error
    # a refusal always names a field of the request
    assert refused.errors
    assert all(problem.pointer.startswith("/") and problem.detail for problem in refused.errors)
    return reject()


def pieces(plan: Plan) -> Iterator[Any]:
    """Give everything on the wall that is cut."""
    for run in plan["layout"]["runs"]:
        for course in ("panels", "baseboards", "top_channels", "joint_profiles", "end_battens", "uprights"):
            yield from run[course]


def strips(plan: Plan) -> Iterator[tuple[Any, Any, Any]]:
    """Give material, stock and pattern with each strip or stick of it."""
    for material in plan["cutting"]["materials"]:
        for stock in material["stock"]:
            for pattern in stock["patterns"]:
                for strip in pattern.get("strips", [pattern]):
                    yield (material, stock, pattern), strip, pattern["repeat"]


def pieces_are_cut_once(plan: Plan) -> None:
    """Every piece of the layout stands in the cutting once, with its length."""
    cut = Counter(
        (piece, cut["length_mm"])
        for _, strip, _ in strips(plan)
        for cut in strip["cuts"]
        for piece in cut["pieces"]
    )
    assert cut == Counter((piece["id"], piece["length_mm"]) for piece in pieces(plan))
    for _, strip, repeat in strips(plan):
        assert all(len(cut["pieces"]) == cut["count"] * repeat for cut in strip["cuts"])


def stock_is_used_up(plan: Plan) -> None:
    """Pieces, kerfs and offcuts make the stock; what is left under a kerf is kerf loss."""
    for (material, stock, pattern), strip, _ in strips(plan):
        kerf, count = material["kerf_mm"], sum(cut["count"] for cut in strip["cuts"])
        used = sum(cut["length_mm"] * cut["count"] for cut in strip["cuts"]) + kerf * (count - 1)
        offcut = (
            strip["offcut_mm"] if "offcut_mm" in strip else sum(o["length_mm"] for o in pattern["offcuts"])
        )
        turned = stock.get("cut_along") == "width"
        along, across = ("width_mm", "length_mm") if turned else ("length_mm", "width_mm")
        rest = stock[along] - used
        assert rest >= -NEAR
        assert offcut == pytest.approx(max(0, rest - kerf), abs=NEAR)
        whole = rest <= NEAR
        assert strip["crosscuts"] == count - whole
        if "strips" in pattern:
            heights = [s["height_mm"] + kerf for s in pattern["strips"]]
            assert sum(heights) - kerf <= stock[across] + NEAR


def schedule_is_in_the_bill(plan: Plan) -> None:
    """Every screw and washer is bought, and none is bought that is not used."""
    counts: Counter[str] = Counter()
    for row in plan["fastener_schedule"]["rows"]:
        counts[row["sku"]] += row["count"]
        if "washer_sku" in row:
            counts[row["washer_sku"]] += row["count"]
        assert row["count"] % len(row["supports"]) == 0
    assert counts == {total["sku"]: total["count"] for total in plan["fastener_schedule"]["totals"]}
    bill = plan["bill_of_materials"]["lines"]
    assert counts == {line["sku"]: line["required"] for line in bill if line["role"] in ("screw", "washer")}


def bill_adds_up(plan: Plan) -> None:
    """Packs hold what is needed, amounts are packs times price, and the total is their sum."""
    total = Decimal(0)
    for line in plan["bill_of_materials"]["lines"]:
        assert line["quantity"] == pytest.approx(line["packs"] * line["pack_size"])
        assert line["quantity"] + NEAR >= line["required"] + line["spare"]
        assert (line["packs"] - 1) * line["pack_size"] < line["required"] + line["spare"]
        assert Decimal(line["amount"]) == line["packs"] * Decimal(line["pack_price"])
        total += Decimal(line["amount"])
        assert line["needed_by"]
    assert Decimal(plan["bill_of_materials"]["total"]) == total == Decimal(plan["summary"]["total"])


def steps_use_every_part(plan: Plan) -> None:
    """Match what the steps use with what stands on the wall and in the schedule."""
    used: Counter[str] = Counter()
    for step in plan["install_sequence"]["steps"]:
        for part in step["parts"]:
            used[part["id"]] += part["count"]
    for piece in pieces(plan):
        assert used[piece["id"]] == 1
    for line in plan["bill_of_materials"]["lines"]:
        if line["role"] in (
            "screw",
            "washer",
            "splice_plate",
            "rope_hook",
            "hook_bolt",
            "lock_nut",
            "flute_plug",
        ):
            assert used[line["sku"]] == line["required"]


def stock_opened_is_bought(plan: Plan) -> None:
    """Stock that is cut is on the bill, unless the customer has it."""
    opened: Counter[str] = Counter()
    for material in plan["cutting"]["materials"]:
        for stock in material["stock"]:
            if not stock["from_on_hand"]:
                opened[stock["sku"]] += stock["count"]
    for run in plan["layout"]["runs"]:
        for strip in run["packing_strips"]:
            if strip.get("opens_sheet"):
                opened[strip["bought_sku"]] += 1
    roles = ("sheet", "baseboard", "top_channel", "joint_profile", "film_channel", "corner_cap", "end_cap")
    assert opened == {
        line["sku"]: line["required"] for line in plan["bill_of_materials"]["lines"] if line["role"] in roles
    }


def objective_is_what_it_costs(plan: Plan) -> None:
    """Stock, joints and crosscuts, counted from the answer, are the stated objective; the bound is not above it."""
    allowances = {"sheet": Decimal(18), "baseboard": Decimal(2), "top_channel": Decimal(2)}
    document = demo_catalog().document
    prices = {item.sku: Decimal(item.price) / 100 for item in document.items}
    allowances["sheet"] = Decimal(document.allowances.joint) / 100
    allowances["baseboard"] = allowances["top_channel"] = Decimal(document.allowances.metal_joint) / 100
    runs = plan["layout"]["runs"]
    courses = {"sheet": "panels", "baseboard": "baseboards", "top_channel": "top_channels"}
    for material in plan["cutting"]["materials"]:
        assert Decimal(material["lower_bound"]) <= Decimal(material["objective"])
        if material["role"] not in courses:
            continue
        laid = [piece for run in runs for piece in run[courses[material["role"]]]]
        cost = allowances[material["role"]] * (len(laid) - len(runs))
        for stock in material["stock"]:
            cost += 0 if stock["from_on_hand"] else prices[stock["sku"]] * stock["count"]
        # a sheet left whole was paid a cut by the objective unless its panel fills it as laid
        most = sum(
            sum(cut["count"] for cut in s["cuts"]) * repeat
            for (m, _, _), s, repeat in strips(plan)
            if m is material
        )
        least = sum(s["crosscuts"] * repeat for (m, _, _), s, repeat in strips(plan) if m is material)
        each = Decimal(document.allowances.cut) / 100
        assert cost + each * least <= Decimal(material["objective"]) <= cost + each * most
        if material["role"] != "sheet":
            assert cost + each * least == Decimal(material["objective"])


def panels_cover_their_runs(plan: Plan) -> None:
    """Panels follow each other with the plan's gap, and every joint stays on its post."""
    movement = plan["layout"]["movement"]
    step = 25.4 / 16 if plan["display_units"] == "imperial" else 1
    for run in plan["layout"]["runs"]:
        laid = run["panels"]
        assert (laid[0]["from_support"], laid[-1]["to_support"]) == (0, len(run["supports"]) - 1)
        for before, after in pairwise(laid):
            assert before["to_support"] == after["from_support"]
            gap = after["x_start_mm"] - before["x_end_mm"]
            assert movement["joint_gap_mm"] - NEAR <= gap < movement["joint_gap_mm"] + step + NEAR
        for joint in run["panel_joints"]:
            assert abs(joint["drift_mm"]) <= movement["bearing_tolerance_mm"] + NEAR
        upright = {part["support"] for part in run["uprights"]}
        assert not upright & {joint["support"] for joint in run["panel_joints"]}


@settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
@given(plans())
def test_every_plan_adds_up(plan: Plan) -> None:
    """All cross-foot rules hold at once."""
    pieces_are_cut_once(plan)
    stock_is_used_up(plan)
    schedule_is_in_the_bill(plan)
    bill_adds_up(plan)
    steps_use_every_part(plan)
    stock_opened_is_bought(plan)
    objective_is_what_it_costs(plan)
    panels_cover_their_runs(plan)
