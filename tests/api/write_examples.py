"""Write the contract's examples: real requests, and what the service answers to them.

Run `python -m tests.api.write_examples` after a change that changes answers; a test holds the files to the service.
"""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import orjson
from fastapi.testclient import TestClient

from service.app import create_app
from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import CatalogInvalid
from service.settings import Settings

FOLDER = Path(__file__).parents[2] / "service" / "api" / "examples"
REQUEST_ID = "6f1d2c0b9a8e4d75"
MOMENT = datetime(2027, 3, 1, 12, tzinfo=UTC)
KEYS = '{"keys": [{"kty": "OKP", "crv": "Ed25519", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo", "d": "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"}]}'
"""The key of RFC 8037, appendix A.1, which everybody knows: good for examples alone"""

PLAN: dict[str, Any] = {
    "reference": "Two bays of a demo tunnel",
    "structure": {"bays": 2, "bay_spacing": "5 ft", "sides": ["left"], "width": "20 ft"},
    "wall": {"panel_thickness": "8 mm", "height": "23 in"},
}
CUTS: dict[str, Any] = {
    "kerf_mm": 3,
    "stock": [{"length_mm": 3000, "price": "21.50", "count": None}],
    "demand": [{"length_mm": 735, "count": 12}],
}


def _with(base: dict[str, Any], part: str, **changes: object) -> dict[str, Any]:
    return {**base, part: {**base[part], **changes}}


def small_catalog(document: dict[str, Any]) -> dict[str, Any]:
    """Leave out every item of a catalog that it can be published without."""
    kept = dict(document, title="A small stock list")
    for item in document["items"]:
        tried = dict(kept, items=[other for other in kept["items"] if other is not item])
        try:
            read_catalog(tried)
        except CatalogInvalid:
            continue
        kept = tried
    return kept


# What is refused, by the problem that it shows: operation, body.
REFUSED: dict[str, tuple[str, object]] = {
    "invalid-fields": ("/v1/plans", {"structure": {"bays": 0, "bay_spacin": "5 ft"}, "wall": {"panel_thickness": "8 mm"}}),
    "fields-disagree": ("/v1/plans", _with(PLAN, "structure", stations=[0, 1500])),
    "opening-unbuildable": ("/v1/plans", _with(PLAN, "structure", openings=[{"side": "left", "offset": "4 ft", "width": "5 ft"}])),
    "height-unbuildable": ("/v1/plans", _with(PLAN, "wall", height="4 in")),
    "no-piece-fits": ("/v1/plans", _with(_with(PLAN, "structure", bay_spacing="12 ft"), "wall", flutes="upright")),
    "no-such-item": ("/v1/plans", _with(PLAN, "wall", panel_thickness="7 mm")),
    "no-such-catalog": ("/v1/plans", {**PLAN, "catalog": "winter"}),
    "piece-fits-no-stock": ("/v1/cut-lists", {**CUTS, "demand": [{"length_mm": 3100, "count": 1}]}),
    "stock-runs-out": ("/v1/cut-lists", {**CUTS, "stock": [{"length_mm": 3000, "count": 2}]}),
}  # fmt: skip


def _asked(client: TestClient) -> Iterator[tuple[str, object, Any]]:
    """Ask every operation and give its name, what was sent, and what came back."""
    catalog = small_catalog(client.get("/v1/catalogs/demo").json())
    seen = client.get("/v1/catalogs/demo").headers["etag"]
    token = client.post("/v1/quotes", json=PLAN | {"valid_days": 14}).json()["token"]
    second = PLAN | {"reference": "Three bays of the same"}
    order = {
        "reference": "PO-17",
        "buyer": {"name": "Larkmeadow school garden"},
        "structures": [
            {"id": "bed-1", "spec": PLAN},
            {"id": "bed-2", "spec": _with(second, "structure", bays=3)},
        ],
    }
    calls: list[tuple[str, str, str, object, dict[str, str]]] = [
        ("makePlan", "POST", "/v1/plans", PLAN, {}),
        ("makeQuote", "POST", "/v1/quotes", PLAN | {"valid_days": 14}, {}),
        ("readLongQuote", "POST", "/v1/quotes/read", {"token": token}, {}),
        ("readQuote", "GET", f"/v1/quotes/{token}", None, {}),
        ("readQuotedPlan", "GET", f"/v1/quotes/{token}/plan?parts=summary,bill_of_materials", None, {}),
        ("readQuotedDrawings", "GET", f"/v1/quotes/{token}/drawings?kinds=detail", None, {}),
        ("makeOrder", "POST", "/v1/orders", order, {}),
        ("readKeys", "GET", "/.well-known/jwks.json", None, {}),
        ("findAlternatives", "POST", "/v1/alternatives", PLAN, {}),
        ("solveCutList", "POST", "/v1/cut-lists", CUTS, {}),
        ("makeDrawings", "POST", "/v1/drawings?kinds=detail", PLAN, {}),
        ("makePacket", "POST", "/v1/packets", PLAN, {}),
        ("makeLabels", "POST", "/v1/labels", PLAN, {}),
        ("readForm", "GET", "/v1/form", None, {}),
        ("listRevisions", "GET", "/v1/catalogs/demo/revisions", None, {}),
        (
            "updatePrices",
            "POST",
            "/v1/catalogs/demo/prices",
            f"sku,price\r\n{catalog['items'][0]['sku']},99.25\r\n",
            {"if-match": "*"},
        ),
        (
            "publishItem",
            "PUT",
            f"/v1/catalogs/demo/items/{catalog['items'][0]['sku']}",
            catalog["items"][0],
            {"if-match": "*"},
        ),
        ("compareRevisions", "POST", "/v1/catalogs/demo/comparisons", {"before": seen.strip('"')}, {}),
        ("publishCatalog", "PUT", "/v1/catalogs/demo", catalog, {"if-match": "*"}),
        ("listCatalogs", "GET", "/v1/catalogs", None, {}),
        ("readCatalog", "GET", "/v1/catalogs/demo", None, {}),
        ("listItems", "GET", "/v1/catalogs/demo/items?role=sheet", None, {}),
        (
            "activateRevision",
            "POST",
            "/v1/catalogs/demo/activation",
            {"revision": seen.strip('"')},
            {"if-match": "*"},
        ),
        ("listSources", "GET", "/v1/sources", None, {}),
        ("live", "GET", "/livez", None, {}),
        ("ready", "GET", "/readyz", None, {}),
        ("listProblems", "GET", "/problems", None, {}),
        ("explainProblem", "GET", "/problems/busy", None, {}),
    ]
    for name, method, path, body, headers in calls:
        sent: dict[str, Any] = {"content": body} if isinstance(body, str) else {"json": body} if body else {}
        kind = {"content-type": "text/csv"} if isinstance(body, str) else {}
        answer = client.request(method, path, headers=headers | kind, **sent)
        assert answer.is_success, (name, answer.text)
        yield name, body, answer.json() if "json" in answer.headers["content-type"] else None


def examples() -> Iterator[tuple[str, object]]:
    """Give every example with the name of its file."""
    app = create_app(Settings(log_level="ERROR", signing_keys=KEYS), lambda: MOMENT)
    with TestClient(
        app, base_url="http://127.0.0.1", headers={"x-request-id": REQUEST_ID, "accept-encoding": "identity"}
    ) as client:
        for slug, (path, body) in REFUSED.items():
            problem = client.post(path, json=body).json()
            assert problem["type"] == f"/problems/{slug}", (slug, problem)
            yield f"problem.{slug}", problem
        for name, body, answer in _asked(client):
            if body is not None:
                yield f"{name}.request", body
            if answer is not None:
                yield f"{name}.answer", answer


def main() -> None:
    """Write every file."""
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.json"):
        old.unlink()
    for name, example in examples():
        (FOLDER / f"{name}.json").write_bytes(
            orjson.dumps(example, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)
        )


if __name__ == "__main__":
    main()
