"""The service over a shared store that fails: plans go on and say so, changes are refused, recovery is by itself."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import orjson
import pytest
from fastapi.testclient import TestClient
from pydantic import TypeAdapter

from service.app import create_app
from service.planner.answer.once_shapes import PlanOnce
from service.settings import Settings
from tests.api.conftest import LOOPBACK, PLAINLY, Keys
from tests.store.support import RealServer

DEMO = Path(__file__).parents[2] / "service" / "store" / "catalogs" / "demo.json"
SPEC = {"structure": {"bays": 4, "bay_spacing": "5 ft"}, "wall": {"panel_thickness": "8 mm"}}
BOUND = 15.0
"""What has not happened by then does not happen [s]"""


@pytest.fixture(scope="module")
def server() -> Iterator[RealServer]:
    """Run a server that may be killed."""
    running = RealServer()
    running.start()
    try:
        yield running
    finally:
        running.close()


@pytest.fixture(scope="module")
def client(server: RealServer) -> Iterator[TestClient]:
    """Connect a client to a service over that server."""
    settings = Settings(log_level="ERROR", redis_url=server.address.url)
    with TestClient(create_app(settings), base_url=LOOPBACK, headers=PLAINLY) as connected:
        yield connected


@pytest.fixture(scope="module")
def key(client: TestClient) -> dict[str, str]:
    """Make a dealer with a catalog, and give its key."""
    headers = Keys(client).issue("dealer")
    published = client.put(
        "/v1/catalogs/demo", json=orjson.loads(DEMO.read_bytes()), headers=headers | {"if-none-match": "*"}
    )
    assert published.status_code == 201, published.text
    return headers


def _await(happened: Callable[[], bool]) -> None:
    until = time.monotonic() + BOUND
    while not happened():
        assert time.monotonic() < until
        time.sleep(0.05)


def test_a_plan_over_the_shared_store_is_as_the_contract_says(
    client: TestClient, key: dict[str, str]
) -> None:
    """Nothing is said of the store while it is well."""
    answer = client.post("/v1/plans", json=SPEC, headers=key)
    assert answer.status_code == 200
    assert "catalog-freshness" not in answer.headers
    TypeAdapter(PlanOnce).validate_python(answer.json(), strict=True)


def test_plans_go_on_without_the_server_and_say_so(
    client: TestClient, key: dict[str, str], server: RealServer
) -> None:
    """A header and a notice, the same plan otherwise; publishing is 503 with Retry-After; all well again afterwards."""
    well = client.post("/v1/plans", json=SPEC, headers=key)
    etag = client.get("/v1/catalogs/demo", headers=key).headers["etag"]
    server.kill()
    _await(lambda: client.get("/readyz").json()["status"] == "warn")
    for spec in (SPEC, SPEC | {"reference": "asked while it was away"}):
        began = time.monotonic()
        away = client.post("/v1/plans", json=spec, headers=key)
        assert time.monotonic() - began < 2.0
        assert away.status_code == 200
        assert away.headers["catalog-freshness"].startswith('degraded;trouble="')
        assert away.json()["notices"][-1]["id"] == "catalog_server_away"
        assert away.headers["etag"] != well.headers["etag"]
        TypeAdapter(PlanOnce).validate_python(away.json(), strict=True)
    document = client.get("/v1/catalogs/demo", headers=key).json() | {"title": "changed"}
    refused = client.put("/v1/catalogs/demo", json=document, headers=key | {"if-match": etag})
    assert (refused.status_code, refused.json()["type"]) == (503, "/problems/store-away")
    assert int(refused.headers["retry-after"]) >= 1
    assert client.get("/livez").status_code == 200
    server.start()
    _await(lambda: client.get("/readyz").json()["status"] == "pass")
    again = client.post("/v1/plans", json=SPEC, headers=key)
    assert (again.content, "catalog-freshness" in again.headers) == (well.content, False)


def test_without_any_catalog_the_service_is_not_ready() -> None:
    """Started without the server and without a state file it knows nothing: 503 at readiness, alive all the same."""
    nowhere = Settings(log_level="ERROR", redis_url="redis://127.0.0.1:1/0")
    with TestClient(create_app(nowhere), base_url=LOOPBACK) as client:
        ready = client.get("/readyz")
        assert (ready.status_code, ready.json()["type"]) == (503, "/problems/not-ready")
        assert client.get("/livez").status_code == 200
