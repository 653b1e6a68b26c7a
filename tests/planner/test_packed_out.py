"""What fills the room between wall and bow: one distance, in the schedule, the bill and the steps."""

import pytest

from tests.planner.asking import inches, plan_of, request
from tests.planner.scenarios import demo_catalog


def test_stand_off_and_set_back_are_one_distance() -> None:
    """Post 1.9, bow 1.66: 0.12 in; R 15 ft at the flange line 4.4375 in above the post: 0.0547 in; together 0.1747 in.

    Neither alone passes 1/8 in, together they want a shim (judgement).
    """
    bow = {"width": "1.66 in", "profile": "curved", "radius": "15 ft"}
    plan = plan_of(request(structure={"bays": 6, "bow": bow}), demo_catalog())
    rows = [row for row in plan["fastener_schedule"]["rows"] if "packed_out_mm" in row]
    flange = [row for row in rows if row["role"] == "top_channel"]
    assert {round(inches(row["packed_out_mm"]), 4) for row in flange} == {0.1747}
    assert {row["packed_out_with"] for row in rows} == {"shim"}
    shims = [other for other in plan["bill_of_materials"]["by_others"] if other["id"].startswith("shims")]
    assert sum(other["count"] or 0 for other in shims) == sum(row["count"] for row in rows)
    step = next(s for s in plan["install_sequence"]["steps"] if s["id"] == "left-1-channel")
    assert "shims between wall and bow at screws where the bow stands back: 3/16" in " ".join(
        told["text"] for told in step["detail"]
    )


def test_a_straight_bow_of_the_usual_width_wants_none() -> None:
    """0.12 in is less than 1/8 in and ignored (judgement)."""
    plan = plan_of(request(structure={"bays": 6}), demo_catalog())
    assert all("packed_out_mm" not in row for row in plan["fastener_schedule"]["rows"])
    assert all(not other["id"].startswith("shims") for other in plan["bill_of_materials"]["by_others"])


def test_shims_in_the_bill_provide_for_the_step_and_the_set_back_together() -> None:
    """0.12 in of step and 0.0547 in of set-back: together past 1/8 in, and the plan has the shims."""
    bow = {"width": "1.66 in", "profile": "curved", "radius": "15 ft"}
    plan = plan_of(request(structure={"bays": 6, "bow": bow}), demo_catalog())
    check = next(check for check in plan["checks"] if check["id"] == "bow_set_back")
    assert check["outcome"] == "provided"
    assert inches(check["demand"] or 0) == pytest.approx(0.1747, abs=0.0001)
    assert check["advice"]["text"].endswith("the bill counts them, the steps place them.")
