"""Health and metrics."""

from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.api.conftest import LOOPBACK


def test_the_process_lives_without_any_work(client: TestClient) -> None:
    """Liveness asks nothing of the store."""
    assert client.get("/livez").json() == {"status": "pass"}


def test_the_service_is_ready_with_the_embedded_catalogs(client: TestClient) -> None:
    """Readiness means that a plan could be answered."""
    assert client.get("/readyz").json() == {"status": "pass", "store": "folder", "breaker": "closed"}


def test_metrics_count_answers_by_route_template(client: TestClient) -> None:
    """Labels stay few whatever addresses are asked for."""
    for slug in ("busy", "not-found", "no-such-kind"):
        client.get(f"/problems/{slug}")
    client.get("/anything/at/all")
    text = client.get("/metrics").text
    assert 'shin_wall_answers_total{method="GET",route="/problems/{slug}",status="200"} 2.0' in text
    assert 'shin_wall_answers_total{method="GET",route="none",status="404"} 1.0' in text
    assert "anything" not in text


def test_metrics_ask_for_the_scrapers_key_where_one_is_set() -> None:
    """OWASP API8: not even loopback reads them without it."""
    app = create_app(Settings(log_level="ERROR", metrics_key="scraper"))
    with TestClient(app, base_url=LOOPBACK) as client:
        assert client.get("/metrics").status_code == 401
        assert client.get("/metrics", headers={"authorization": "Bearer other"}).status_code == 401
        assert client.get("/metrics", headers={"authorization": "Bearer scraper"}).status_code == 200


def test_metrics_are_for_loopback_alone_without_a_key(client: TestClient) -> None:
    """A caller from elsewhere, or a page that points its own name here, is refused."""
    assert client.get("http://plans.example/metrics").status_code == 401
    assert client.get("/metrics", headers={"host": "rebound.example"}).status_code == 401


def test_metrics_tell_stages_cache_proofs_queue_and_breaker(client: TestClient) -> None:
    """What an operator watches: where time goes, what is reused, how much waits, how the store is."""
    body = {"stock": [{"length_mm": 3000}], "demand": [{"length_mm": 735, "count": 12}]}
    assert [client.post("/v1/cut-lists", json=body).status_code for _ in range(2)] == [200, 200]
    text = client.get("/metrics").text
    assert 'shin_wall_stage_seconds_count{stage="solve"} 1.0' in text
    assert 'shin_wall_cache_total{level="answer",outcome="hit"} 1.0' in text
    assert 'shin_wall_solved_total{proven="yes"} 1.0' in text
    assert "shin_wall_work_accepted 0.0" in text
    assert "shin_wall_store_breaker 0.0" in text
