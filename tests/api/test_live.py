"""The service behind a real server: raw bytes, signals, a busy solver, the log."""

import signal
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import httpx2
import orjson
import pytest

from tests.api.live import Live, serving

LONG: dict[str, Any] = {
    "structure": {"bays": 5000, "bay_spacing": "5 ft"},
    "wall": {"panel_thickness": "8 mm", "height": "23 in"},
}
"""A plan that takes a while, most of it in laying out and writing"""
PLAN = {"structure": {"bays": 6, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """Run one service for this file."""
    with serving(tmp_path_factory.mktemp("live") / "log") as running:
        yield running


def _request(first: str, *headers: str, body: bytes = b"") -> bytes:
    lines = [first, "Host: 127.0.0.1", "Connection: close", *headers, "", ""]
    return "\r\n".join(lines).encode("latin-1") + body


# Bytes on the wire, each with the statuses that are right; an empty answer is a connection closed without one.
WIRE: list[tuple[str, bytes, set[int]]] = [
    ("length and chunks at once", _request("POST /v1/plans HTTP/1.1", "Content-Length: 4", "Transfer-Encoding: chunked", body=b"0\r\n\r\n"), {400}),
    ("two lengths", _request("POST /v1/plans HTTP/1.1", "Content-Length: 4", "Content-Length: 5", body=b"{}{}"), {400}),
    ("a negative length", _request("POST /v1/plans HTTP/1.1", "Content-Length: -1"), {400}),
    ("a length that is no number", _request("POST /v1/plans HTTP/1.1", "Content-Length: 1e3"), {400}),
    ("a chunk size that is no number", _request("POST /v1/plans HTTP/1.1", "Content-Type: application/json", "Transfer-Encoding: chunked", body=b"zz\r\n\r\n"), {400}),
    ("an unknown transfer coding", _request("POST /v1/plans HTTP/1.1", "Transfer-Encoding: rot13", body=b"{}"), {400, 415, 501}),
    ("no HTTP at all", b"\x00\x01\x02\x03\r\n\r\n", {400}),
    ("a TLS greeting", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + b"\x00" * 64, {400}),
    ("HTTP/9.9", _request("GET /livez HTTP/9.9"), {400, 505}),
    ("NUL in a header", _request("GET /livez HTTP/1.1", "X-Request-ID: a\x00b"), {400}),
    ("a header without a name", _request("GET /livez HTTP/1.1", ": value"), {400}),
    ("a space in a header's name", _request("GET /livez HTTP/1.1", "X Y: value"), {400}),
    ("a folded header", _request("GET /livez HTTP/1.1", "X-A: b\r\n c"), {200, 400}),
    ("an unknown method", _request("BREW /livez HTTP/1.1"), {400, 405, 501}),
    ("TRACE", _request("TRACE /livez HTTP/1.1"), {405}),
    ("CONNECT", _request("CONNECT 127.0.0.1:80 HTTP/1.1"), {400, 404, 405}),
    ("NUL in the address", _request("GET /livez%00 HTTP/1.1"), {404}),
    ("bytes that are no UTF-8 in the address", _request("GET /%ff%fe HTTP/1.1"), {404}),
    ("dots in the address", _request("GET /v1/catalogs/..%2f..%2fetc%2fpasswd HTTP/1.1"), {404}),
    ("a raw byte in the address", _request("GET /\xff HTTP/1.1"), {400, 404}),
    ("the absolute form", _request("GET http://127.0.0.1/livez HTTP/1.1"), {200, 404}),
    ("a long address", _request("GET /" + "a" * 60_000 + " HTTP/1.1"), {400, 404, 414}),
    ("many headers", _request("GET /livez HTTP/1.1", *(f"X-{number}: a" for number in range(2000))), {200, 400, 431}),
    ("two hosts", _request("GET /v1/catalogs HTTP/1.1", "Host: plans.example"), {400}),
    ("another host", _request("GET /v1/catalogs HTTP/1.1").replace(b"127.0.0.1", b"plans.example"), {401}),
    ("another host, forwarded from loopback", _request("GET /v1/catalogs HTTP/1.1", "X-Forwarded-For: 127.0.0.1", "X-Forwarded-Host: localhost").replace(b"Host: 127.0.0.1", b"Host: plans.example"), {401}),
]  # fmt: skip


@pytest.mark.parametrize(("sent", "statuses"), [row[1:] for row in WIRE], ids=[row[0] for row in WIRE])
def test_odd_bytes_on_the_wire_get_a_plain_refusal(live: Live, sent: bytes, statuses: set[int]) -> None:
    """Never a 5xx of the service, never a second answer to one request, and the service goes on."""
    received = live.exchange(sent)
    assert int(received.split(b" ", 2)[1]) in statuses, received[:300]
    assert received.count(b"HTTP/1.1 ") == 1
    assert b"Traceback" not in received
    assert httpx2.get(f"{live.url}/livez").status_code == 200


def test_no_server_header_is_sent(live: Live) -> None:
    """OWASP API8: nothing tells which server this is."""
    assert "server" not in httpx2.get(f"{live.url}/livez").headers


def test_a_body_that_never_ends_is_cut_off(live: Live) -> None:
    """OWASP API4: chunks beyond the limit are not read; the caller gets 413."""

    def endless() -> Iterator[bytes]:
        for _ in range(1024):
            yield b" " * 16_384

    headers = {"content-type": "application/json"}
    try:
        answer = httpx2.post(f"{live.url}/v1/plans", content=endless(), headers=headers, timeout=20)
    except httpx2.TransportError:  # the server may close before everything is sent (RFC 9110 section 15.5.14)
        return
    assert answer.status_code == 413


def test_the_loop_answers_while_a_long_plan_is_made(live: Live) -> None:
    """OWASP API4: one hostile spec does not stop the worker; health is answered within a bound while it works."""
    waits = []
    with ThreadPoolExecutor(1) as pool:
        working = pool.submit(httpx2.post, f"{live.url}/v1/plans", json=LONG, timeout=120)
        while not working.done():
            began = time.perf_counter()
            assert httpx2.get(f"{live.url}/livez", timeout=10).status_code == 200
            waits.append(time.perf_counter() - began)
            time.sleep(0.02)
    assert working.result().status_code == 200
    assert len(waits) > 3
    assert max(waits) < 1.0, f"longest wait {max(waits):.3f} s of {len(waits)}"


WORST: dict[str, bytes] = {
    "unknown names": orjson.dumps({f"bay_spacin{number}": 1 for number in range(10_000)}),
    "no lengths": orjson.dumps({"structure": {"stations": ["x"] * 5001}}),
    "empty lists": b'{"openings":[' + b"[]," * 80_000 + b"[]]}",
    "empty objects": b'{"openings":[' + b"{}," * 80_000 + b"{}]}",
    "numbers": b'{"openings":[' + b"1," * 120_000 + b"1]}",
    "wrong values": orjson.dumps({"on_hand": [{"sku": "x", "count": -1, "length": "far"}] * 3000}),
}
"""Bodies that cost most to read"""


@pytest.mark.parametrize("body", WORST.values(), ids=WORST)
def test_the_loop_answers_while_the_worst_bodies_are_read(live: Live, body: bytes) -> None:
    """OWASP API4: what is wrong with a body is looked for beside the event loop, and told within a bound."""
    waits = []
    headers = {"content-type": "application/json"}
    with ThreadPoolExecutor(1) as pool, httpx2.Client(base_url=live.url) as client:
        reading = pool.submit(httpx2.post, f"{live.url}/v1/plans", content=body, headers=headers, timeout=60)
        while not reading.done():
            began = time.perf_counter()
            assert client.get("/livez").status_code == 200
            waits.append(time.perf_counter() - began)
    assert reading.result().status_code == 422
    assert len(reading.result().json()["errors"]) <= 50
    assert max(waits) < 0.5, f"longest wait {max(waits):.3f} s of {len(waits)}"


def test_a_stopping_service_finishes_what_it_accepted(tmp_path_factory: pytest.TempPathFactory) -> None:
    """SIGTERM while a plan is made: the answer comes whole, new connections are refused, the process ends by itself."""
    with serving(tmp_path_factory.mktemp("stopping") / "log") as stopping, ThreadPoolExecutor(1) as pool:
        working = pool.submit(httpx2.post, f"{stopping.url}/v1/plans", json=LONG, timeout=120)
        time.sleep(0.3)
        assert not working.done()
        stopping.process.send_signal(signal.SIGTERM)
        answer = working.result()
        assert answer.status_code == 200
        assert orjson.loads(answer.content)["plan_id"]
        assert stopping.process.wait(timeout=20) in {0, -signal.SIGTERM}
        with pytest.raises(httpx2.TransportError):
            httpx2.get(f"{stopping.url}/livez")


def test_too_much_work_is_turned_away(tmp_path_factory: pytest.TempPathFactory) -> None:
    """OWASP API4: beyond the bounded queue 503 with Retry-After comes at once, and nothing else goes wrong."""
    settings = {"SHIN_WALL_SOLVER_QUEUE": "2", "SHIN_WALL_ANSWER_SECONDS": "300"}
    with serving(tmp_path_factory.mktemp("busy") / "log", settings) as busy, ThreadPoolExecutor(12) as pool:
        bodies = [LONG | {"reference": f"number {number}"} for number in range(8)]
        answers = list(
            pool.map(lambda body: httpx2.post(f"{busy.url}/v1/plans", json=body, timeout=300), bodies)
        )
    statuses = sorted(answer.status_code for answer in answers)
    assert set(statuses) == {200, 503}
    assert statuses.count(200) >= 3
    for answer in answers:
        if answer.status_code == 503:
            assert int(answer.headers["retry-after"]) >= 1
            assert answer.json()["type"] == "/problems/busy"


def test_the_log_is_json_lines_with_request_ids_and_without_secrets(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """One object a line whatever is sent; no key, no body, no address of a caller's making."""
    log = tmp_path_factory.mktemp("log") / "log"
    with serving(log) as running:
        headers = {
            "authorization": "Bearer canary-key",
            "x-api-key": "canary-key",
            "x-request-id": "seen-in-the-log",
        }
        httpx2.post(f"{running.url}/v1/plans", json=PLAN | {"reference": "canary-text"}, headers=headers)
        httpx2.get(f"{running.url}/canary-path%0Aforged?key=canary-key")
    lines = [orjson.loads(line) for line in log.read_bytes().splitlines()]
    answered = [line for line in lines if line["event"] == "answered"]
    assert "seen-in-the-log" in {line["request_id"] for line in answered}
    assert all(line["timestamp"].endswith("Z") for line in lines)
    assert b"canary" not in log.read_bytes()
    assert b"forged" not in log.read_bytes()


def test_many_callers_at_once_get_each_their_own_plan(live: Live) -> None:
    """Nothing is mixed up between requests in flight: each answer carries the reference of its own request."""
    with ThreadPoolExecutor(16) as pool:
        bodies = [PLAN | {"reference": f"caller {number}"} for number in range(48)]
        answers = list(
            pool.map(lambda body: httpx2.post(f"{live.url}/v1/plans", json=body, timeout=60), bodies)
        )
    assert [answer.json()["reference"] for answer in answers] == [body["reference"] for body in bodies]
