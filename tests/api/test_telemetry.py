"""Traces by OpenTelemetry, when configured: sent to a receiver on loopback, continued from the caller, without bodies."""

import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import httpx2
import pytest

from tests.api.live import serving

TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"
SPEC = {
    "reference": "canary-text",
    "structure": {"bays": 2, "bay_spacing": "5 ft"},
    "wall": {"panel_thickness": "8 mm"},
}


class _Receiver(ThreadingHTTPServer):
    """Takes what an exporter sends."""

    received: list[tuple[str, bytes]]


class _Handler(BaseHTTPRequestHandler):
    server: _Receiver

    def do_POST(self) -> None:
        """Take one export."""
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.received.append((self.path, body))
        self.send_response(200)
        self.end_headers()

    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture
def receiver() -> Iterator[_Receiver]:
    """Run a receiver on a free port."""
    running = _Receiver(("127.0.0.1", 0), _Handler)
    running.received = []
    thread = threading.Thread(target=running.serve_forever)
    thread.start()
    yield running
    running.shutdown()
    thread.join()
    running.server_close()


def _settings(receiver: _Receiver, *, on: bool) -> dict[str, str]:
    return {
        "SHIN_WALL_TELEMETRY": str(on).lower(),
        "OTEL_EXPORTER_OTLP_ENDPOINT": f"http://127.0.0.1:{receiver.server_port}",
        "OTEL_EXPORTER_OTLP_PROTOCOL": "http/protobuf",
        "OTEL_BSP_SCHEDULE_DELAY": "100",
        "OTEL_SERVICE_NAME": "shin-wall",
    }


def _planned(address: str) -> None:
    headers = {"traceparent": f"00-{TRACE}-00f067aa0ba902b7-01"}
    assert httpx2.post(f"{address}/v1/plans", json=SPEC, headers=headers, timeout=30).status_code == 200


def test_a_trace_goes_on_from_the_caller_and_holds_no_body(
    receiver: _Receiver, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """W3C Trace Context: the caller's trace id stands in the exported spans; nothing of the spec does, and no token."""
    with serving(tmp_path_factory.mktemp("traced") / "log", _settings(receiver, on=True)) as live:
        _planned(live.url)
        token = httpx2.post(f"{live.url}/v1/quotes", json=SPEC, timeout=30).json()["token"]
        assert httpx2.get(f"{live.url}/v1/quotes/{token}", timeout=30).status_code == 200
        until = time.monotonic() + 10
        while not _spans(receiver) and time.monotonic() < until:
            time.sleep(0.1)
    assert bytes.fromhex(TRACE) in _spans(receiver)
    assert b"/v1/plans" in _spans(receiver)
    assert b"canary" not in _spans(receiver)
    assert token[:40].encode() not in b"".join(body for _, body in receiver.received)


def test_nothing_is_sent_unless_asked(receiver: _Receiver, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Telemetry is off by default, whatever else the environment says."""
    with serving(tmp_path_factory.mktemp("untraced") / "log", _settings(receiver, on=False)) as live:
        _planned(live.url)
        time.sleep(0.5)
    assert receiver.received == []


def _spans(receiver: _Receiver) -> bytes:
    return b"".join(
        body for path, body in receiver.received if path == "/v1/traces" and bytes.fromhex(TRACE) in body
    )
