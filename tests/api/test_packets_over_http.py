"""Packets and labels over HTTP."""

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.paper import packet

SPEC: dict[str, Any] = {
    "structure": {"bays": 2, "bay_spacing": "5 ft", "sides": ["left"]},
    "wall": {"panel_thickness": "8 mm"},
}


@pytest.mark.parametrize(
    ("path", "name"), [("/v1/packets?paper=us-letter", "packet"), ("/v1/labels", "labels")]
)
def test_a_pdf_comes_named_for_the_plan_and_the_same_again(client: TestClient, path: str, name: str) -> None:
    first, again = (client.post(path, json=SPEC, headers={"accept-language": "es"}) for _ in range(2))
    plan = client.post("/v1/plans", json=SPEC).json()
    assert first.headers["content-type"] == "application/pdf"
    assert first.content.startswith(b"%PDF-")
    assert f"{name}-{plan['plan_id']}.pdf" in first.headers["content-disposition"]
    assert (first.content, first.headers["etag"]) == (again.content, again.headers["etag"])
    assert first.headers["content-language"] == "es"


@pytest.mark.parametrize(
    ("path", "accept", "status", "slug"),
    [
        ("/v1/packets?paper=a3", "*/*", 422, "invalid-parameters"),
        ("/v1/packets", "application/json", 406, "not-acceptable"),
        ("/v1/labels?width=210&left=10", "*/*", 422, "invalid-parameters"),
    ],
)
def test_what_cannot_be_typeset_is_refused(
    client: TestClient, path: str, accept: str, status: int, slug: str
) -> None:
    answer = client.post(path, json=SPEC, headers={"accept": accept})
    assert (answer.status_code, answer.json()["type"].rpartition("/")[2]) == (status, slug)


def test_a_packet_past_the_limit_is_refused(client: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(packet, "MOST_MARKS", 1)
    spec = {**SPEC, "structure": {**SPEC["structure"], "bays": 3}}
    answer = client.post("/v1/packets", json=spec)
    assert (answer.status_code, answer.json()["type"].rpartition("/")[2]) == (422, "packet-too-long")
