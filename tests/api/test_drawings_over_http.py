"""Drawings over HTTP: as JSON, as SVG and as a picture; what is asked wrongly is refused with what would work."""

from typing import Any

import pytest
from fastapi.testclient import TestClient
from lxml import etree

SPEC: dict[str, Any] = {
    "reference": "<script>alert(1)</script>",
    "structure": {"bays": 2, "bay_spacing": "5 ft", "sides": ["left"]},
    "wall": {"panel_thickness": "8 mm"},
}


def test_drawings_come_with_the_id_of_the_plan(client: TestClient) -> None:
    """The default is the shopper's view and the elevations; each is a whole SVG document."""
    answer = client.post("/v1/drawings", json=SPEC)
    plan = client.post("/v1/plans", json=SPEC).json()
    assert answer.json()["plan_id"] == plan["plan_id"]
    assert [drawing["kind"] for drawing in answer.json()["drawings"]] == ["tunnel", "elevation"]
    for drawing in answer.json()["drawings"]:
        root = etree.fromstring(drawing["svg"].encode())
        assert float(root.attrib["viewBox"].split()[2]) == drawing["width_mm"]
        assert "script" not in drawing["svg"]


def test_a_plan_carries_its_drawings_where_they_are_asked_for(client: TestClient) -> None:
    """Beside other parts or alone; never without being asked."""
    drawn = client.post("/v1/drawings", json=SPEC).json()["drawings"]
    both = client.post("/v1/plans?parts=summary,drawings", json=SPEC).json()
    alone = client.post("/v1/plans?parts=drawings", json=SPEC).json()
    assert both["drawings"] == alone["drawings"] == drawn
    assert set(both) - set(alone) == {"summary"}
    assert "layout" not in both
    assert "drawings" not in client.post("/v1/plans", json=SPEC).json()


def test_one_drawing_comes_as_svg_or_png(client: TestClient) -> None:
    """The picture is as wide as asked for; the SVG is what the JSON carries."""
    listed = client.post("/v1/drawings?kinds=cutting", json=SPEC).json()["drawings"]
    address = f"/v1/drawings?kinds=cutting&drawing={listed[1]['id']}&pixels=640"
    svg = client.post(address, json=SPEC, headers={"accept": "image/svg+xml"})
    assert (svg.headers["content-type"].split(";")[0], svg.text) == ("image/svg+xml", listed[1]["svg"])
    png = client.post(address, json=SPEC, headers={"accept": "image/png"})
    # RFC 2083 section 3.2 and 4.1.1: signature, then the header chunk with its width
    assert png.content[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(png.content[16:20]) == 640
    assert svg.headers["etag"] != png.headers["etag"]


@pytest.mark.parametrize(
    ("query", "accept", "status", "slug"),
    [
        ("kinds=photograph", "*/*", 422, "invalid-parameters"),
        ("kinds=", "*/*", 422, "invalid-parameters"),
        ("paper=20", "*/*", 422, "invalid-parameters"),
        ("pixels=100000", "image/png", 422, "invalid-parameters"),
        ("kinds=detail&drawing=elevation-1", "image/png", 422, "no-such-drawing"),
        ("kinds=detail", "image/gif", 406, "not-acceptable"),
    ],
)
def test_what_cannot_be_drawn_is_refused(
    client: TestClient, query: str, accept: str, status: int, slug: str
) -> None:
    answer = client.post(f"/v1/drawings?{query}", json=SPEC, headers={"accept": accept})
    assert (answer.status_code, answer.json()["type"].rpartition("/")[2]) == (status, slug)
