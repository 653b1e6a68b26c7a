"""Published cutting problems through the HTTP resource: the optimum is reached and proven there too.

Sources and data: tests/validation/test_cutting_published.py; lengths are sent a hundred times as long, in millimetres.
"""

from decimal import Decimal
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.validation.test_cutting_published import PUBLISHED

SCALE = 100
"""A kerf-free problem has the same optimum at any scale [-]"""


def solved(client: TestClient, stock: list[dict[str, Any]], pieces: list[tuple[int, int]], scale: int) -> Any:
    """Send a list of sticks and give the answer."""
    demand = [{"length_mm": length * scale, "count": count} for length, count in pieces]
    answer = client.post("/v1/cut-lists", json={"kerf_mm": 0, "stock": stock, "demand": demand})
    assert answer.status_code == 200, answer.text
    return answer.json()


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_sticks_are_proven_over_http(client: TestClient, name: str) -> None:
    """Rows P1 to P7: every stick costs 1.00, so the objective counts them."""
    length, pieces, optimum = PUBLISHED[name]
    scale = SCALE if length < 200 else 1
    answer = solved(client, [{"length_mm": length * scale, "price": "1.00"}], pieces, scale)
    assert (Decimal(answer["objective"]), answer["proven_optimal"]) == (Decimal(optimum), True)
    assert sum(used["count"] for used in answer["stock_used"]) == optimum


def test_several_stock_lengths_are_proven_over_http(client: TestClient) -> None:
    """M1, MO-Book: 5, 6 and 9 at 6, 7 and 10 cost 170 for 20 x 4, 10 x 3 and 20 x 2."""
    stock = [
        {"length_mm": length * SCALE, "price": f"{price}.00"} for length, price in ((5, 6), (6, 7), (9, 10))
    ]
    answer = solved(client, stock, [(4, 20), (3, 10), (2, 20)], SCALE)
    assert (answer["objective"], answer["proven_optimal"]) == ("170.00", True)


def test_limited_stock_is_proven_over_http(client: TestClient) -> None:
    """M2, CBE40455: three each of 15 and 10 at their length hold 3 x 7, 2 x 6, 6 x 4 and 1 x 3 without waste: 60."""
    stock = [{"length_mm": n * SCALE, "price": f"{n}.00", "count": 3} for n in (15, 10)]
    answer = solved(client, stock, [(7, 3), (6, 2), (4, 6), (3, 1)], SCALE)
    assert (answer["objective"], answer["proven_optimal"]) == ("60.00", True)
