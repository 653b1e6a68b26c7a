"""Cut lists over HTTP."""

from typing import Any

import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from service.api.cut_list_shapes import CutListAnswer

URL = "/v1/cut-lists"
STICKS = {
    "kerf_mm": 3,
    "stock": [{"length_mm": 3000, "price": "21.50", "count": None}],
    "demand": [{"length_mm": 735, "count": 12}],
}


def _solved(client: TestClient, body: object) -> dict[str, Any]:
    answer = client.post(URL, json=body)
    assert answer.status_code == 200, answer.text
    TypeAdapter(CutListAnswer).validate_python(answer.json(), strict=True)
    found: dict[str, Any] = answer.json()
    return found


def test_sticks_are_cut_at_the_least_price(client: TestClient) -> None:
    """4 x 735 + 3 x 3 = 2949 mm fits 3000 mm and 5 do not, so 12 pieces need 3 sticks: 3 x 21.50 = 64.50."""
    assert _solved(client, STICKS) == {
        "objective": "64.50",
        "lower_bound": "64.50",
        "proven_optimal": True,
        "stock_used": [{"length_mm": 3000, "count": 3}],
        "patterns": [{"stock_length_mm": 3000, "cuts": [{"length_mm": 735, "count": 4}], "repeat": 3}],
    }


def test_sheets_are_ripped_then_crosscut(client: TestClient) -> None:
    """1220 x 2440 takes 4 strips of 300 (1209 with three kerfs of 3) and 3 pieces of 735 a strip: 12; 17 pieces need 2."""
    body = {
        "stock": [{"length_mm": 2440, "width_mm": 1220}],
        "demand": [{"length_mm": 735, "width_mm": 300, "count": 17}],
    }
    found = _solved(client, body)
    assert found["stock_used"] == [{"length_mm": 2440, "width_mm": 1220, "count": 2}]
    pieces = [
        pattern["repeat"] * cut["count"]
        for pattern in found["patterns"]
        for strip in pattern["strips"]
        for cut in strip["cuts"]
    ]
    assert sum(pieces) == 17


def test_stock_without_a_price_costs_its_length(client: TestClient) -> None:
    """Two sticks of 2500 waste less than two of 3000: the objective is 2 x 2500."""
    body = {
        "kerf_mm": 0,
        "stock": [{"length_mm": 3000}, {"length_mm": 2500}],
        "demand": [{"length_mm": 1250, "count": 4}],
    }
    assert _solved(client, body)["objective"] == "5000.00"


def test_prices_or_widths_for_a_part_of_the_list_are_refused(client: TestClient) -> None:
    """Both fields are named."""
    body = {
        "stock": [{"length_mm": 3000, "price": "1"}, {"length_mm": 2500, "width_mm": 100}],
        "demand": [{"length_mm": 1250, "count": 4}],
    }
    answer = client.post(URL, json=body)
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/fields-disagree")
    assert {error["pointer"] for error in answer.json()["errors"]} == {"/stock/1/width_mm", "/stock/1/price"}


def test_a_piece_that_fits_no_stock_is_named(client: TestClient) -> None:
    """422 with the pointer of the piece."""
    answer = client.post(
        URL, json=STICKS | {"demand": [{"length_mm": 700, "count": 1}, {"length_mm": 3001, "count": 1}]}
    )
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/piece-fits-no-stock")
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/demand/1"]


def test_stock_that_runs_out_is_told(client: TestClient) -> None:
    """422 with what was left over."""
    answer = client.post(URL, json=STICKS | {"stock": [{"length_mm": 3000, "count": 2}]})
    assert (answer.status_code, answer.json()["type"]) == (422, "/problems/stock-runs-out")
    assert [error["pointer"] for error in answer.json()["errors"]] == ["/demand/0/count"]


@pytest.mark.parametrize("spelled", [{}, {"trim_to_width": False}, {"kerf_mm": 3.0}])
def test_the_same_question_has_the_same_bytes(client: TestClient, spelled: dict[str, Any]) -> None:
    """Defaults written out or left out; the validator is the same too."""
    first, again = client.post(URL, json=STICKS), client.post(URL, json=STICKS | spelled)
    assert (again.content, again.headers["etag"]) == (first.content, first.headers["etag"])
