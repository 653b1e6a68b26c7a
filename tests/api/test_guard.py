"""What holds for every answer: request id, security headers, HEAD, Allow, faults."""

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.api.conftest import LOOPBACK

ANYWHERE = ["/livez", "/problems", "/nowhere", "/v1/sources", "/openapi.json"]


@pytest.mark.parametrize("path", ANYWHERE)
def test_every_answer_has_a_request_id_and_the_security_headers(client: TestClient, path: str) -> None:
    """OWASP API8: an answer cannot be framed, sniffed or leak its address, whatever its status."""
    headers = client.get(path).headers
    assert headers["x-request-id"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["content-security-policy"] == "default-src 'none'; frame-ancestors 'none'"
    assert headers["referrer-policy"] == "no-referrer"
    assert "cache-control" in headers
    assert "server" not in headers


def test_a_well_formed_request_id_is_kept(client: TestClient) -> None:
    """The caller's id stands in the answer, so that both sides' logs meet."""
    assert (
        client.get("/livez", headers={"x-request-id": "order-4711.a"}).headers["x-request-id"]
        == "order-4711.a"
    )


@pytest.mark.parametrize("sent", ["short", "has space in it", "a" * 65, 'quo"te-quote', "-leading-dash"])
def test_any_other_request_id_is_replaced(client: TestClient, sent: str) -> None:
    """An id that could break a log line or a header is not repeated."""
    assert client.get("/livez", headers={"x-request-id": sent}).headers["x-request-id"] != sent


@pytest.mark.parametrize("path", ["/livez", "/problems", "/v1/sources", "/openapi.json"])
def test_head_is_get_without_a_body(client: TestClient, path: str) -> None:
    """RFC 9110 section 9.3.2: the same header fields as GET, no content."""
    got, head = client.get(path), client.head(path)
    assert (head.status_code, head.content) == (200, b"")
    assert head.headers["content-length"] == got.headers["content-length"]
    assert head.headers.get("etag") == got.headers.get("etag")


@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "TRACE", "QUERY"])
def test_a_method_that_is_not_offered_is_405_with_allow(client: TestClient, method: str) -> None:
    """RFC 9110 section 15.5.6: 405 names the methods that are offered."""
    answer = client.request(method, "/livez")
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD, OPTIONS"
    assert answer.headers["content-type"] == "application/problem+json"


def test_options_tells_the_methods(client: TestClient) -> None:
    """RFC 9110 section 9.3.7."""
    answer = client.options("/livez")
    assert (answer.status_code, answer.headers["allow"]) == (204, "GET, HEAD, OPTIONS")


def test_a_closing_slash_is_another_address(client: TestClient) -> None:
    """No redirect that would lose a body: 404."""
    assert client.get("/livez/").status_code == 404


def _with_fault(app: FastAPI) -> FastAPI:
    async def fault() -> None:
        raise RuntimeError("secret detail of the inside")

    app.add_api_route("/fault", fault)
    return app


def test_a_fault_is_a_500_problem_that_says_nothing_of_the_inside() -> None:
    """The caller gets a problem with the request id; the detail stays in the log."""
    with TestClient(_with_fault(create_app(Settings(log_level="ERROR"))), base_url=LOOPBACK) as client:
        answer = client.get("/fault")
    assert answer.status_code == 500
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["instance"] == f"/requests/{answer.headers['x-request-id']}"
    assert "secret detail" not in answer.text
    assert "Traceback" not in answer.text


def test_a_fault_can_be_read_by_a_listed_page() -> None:
    """The CORS headers stand on a 500 too; without them the page would see a network error."""
    app = _with_fault(create_app(Settings(log_level="ERROR", open_origins=("https://shop.example",))))
    with TestClient(app, base_url=LOOPBACK) as client:
        answer = client.get("/fault", headers={"origin": "https://shop.example"})
    assert (answer.status_code, answer.headers["access-control-allow-origin"]) == (
        500,
        "https://shop.example",
    )


def test_strict_transport_security_is_sent_over_https_only(client: TestClient) -> None:
    """RFC 6797 section 7.2: the field must not be sent over plain http."""
    assert "strict-transport-security" not in client.get("/livez").headers
    app = create_app(Settings(log_level="ERROR", public_url="https://plans.example"))
    with TestClient(app, base_url=LOOPBACK) as secure:
        assert secure.get("/livez").headers["strict-transport-security"] == "max-age=31536000"
