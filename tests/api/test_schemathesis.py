"""The contract against the service, case by case: every check that Schemathesis has, over a loopback socket.

It runs short and repeatable here; `SCHEMATHESIS_EXAMPLES=200` makes it longer.
"""

import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import anyio
import httpx2
import hypothesis
import orjson
import pytest
import schemathesis
import uvicorn
from schemathesis.config import SchemathesisConfig

from service.api.state import Service
from service.app import build, create_app
from service.settings import Settings
from service.store.contract import KeyRecord, RateLimit, Scope
from tests.api.live import free_port

CONFIG = SchemathesisConfig.from_path(Path(__file__).with_name("schemathesis.toml"))
KEY = "shin_contract-run"
EXAMPLES = int(os.environ.get("SCHEMATHESIS_EXAMPLES", "5"))
for lines in ("application/jsonl", "application/x-ndjson", "text/csv"):
    schemathesis.serializer.alias(lines, "text/plain")


@schemathesis.check
def problem_document(ctx: Any, response: Any, case: Any) -> None:  # noqa: ARG001  # the library's own types
    """Every refusal is an RFC 9457 document that agrees with its status."""
    if response.status_code >= 400 and case.method.upper() != "HEAD":
        assert response.headers["content-type"] == ["application/problem+json"]
        document = response.json()
        assert document["status"] == response.status_code
        assert document["title"]
        assert document["type"].startswith("/problems/")


@schemathesis.check
def nothing_of_the_inside(ctx: Any, response: Any, case: Any) -> None:  # noqa: ARG001  # see above
    """No trace of code or files, and no number that is not JSON."""
    shown = response.content[:20_000].lower()
    for trace in (b"traceback", b"site-packages", b"nan,", b":nan", b"infinity,"):
        assert trace not in shown


async def _issue(settings: Settings) -> None:
    """Make the run's key known in the folder that the service will read."""
    service: Service = build(settings)
    await service.store.start()
    record = KeyRecord(
        dealer="contract",
        digest=service.digest(KEY),
        scopes=frozenset(Scope),
        rate=RateLimit(units=10_000_000, window_s=60),
    )
    await service.store.put_key(record)
    document = service.store.active("open", "demo")
    assert document is not None
    await service.store.publish(
        "contract", "demo", orjson.loads(document.document), if_match=None, activate=True
    )
    await service.store.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the application from a thread of this process, so that its coverage is measured."""
    settings = Settings(
        log_level="ERROR", open_mode=False, catalog_folder=tmp_path_factory.mktemp("catalogs")
    )
    anyio.run(_issue, settings)
    app, port = create_app(settings), free_port()
    server = uvicorn.Server(uvicorn.Config(app, port=port, log_level="error", server_header=False))
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(timeout=30)


schema = schemathesis.openapi.from_dict(create_app(Settings(log_level="ERROR")).openapi(), config=CONFIG)
schema.config.generation.update(deterministic=True, max_examples=EXAMPLES)


@schema.parametrize()
def test_the_service_keeps_its_contract(case: Any, address: str) -> None:  # the library's own type
    """Generated requests, right and wrong, with a key that may do everything; no check finds anything."""
    case.call_and_validate(base_url=address, headers={"Authorization": f"Bearer {KEY}"}, timeout=30)


def test_chains_of_requests_keep_the_contract(address: str) -> None:
    """Stateful: what one answer gives is used in the next request, along the contract's links."""

    class Chain(schema.as_state_machine()):  # type: ignore[misc]  # the library makes the base at run time
        """A client that follows links with a key."""

        def get_call_kwargs(self, case: Any) -> dict[str, Any]:  # noqa: ARG002  # the library's signature
            """What every request carries."""
            return {"headers": {"Authorization": f"Bearer {KEY}"}, "base_url": address, "timeout": 30}

    Chain.run(
        settings=hypothesis.settings(
            max_examples=EXAMPLES,
            stateful_step_count=6,
            deadline=None,
            derandomize=True,
            database=None,
            suppress_health_check=list(hypothesis.HealthCheck),
        )
    )


def test_without_a_key_every_operation_with_a_scope_refuses(address: str) -> None:
    """The same service in the open: 401 for whatever is asked, documented so."""
    for result in schema.get_all_operations():
        operation: Any = result.ok()  # type: ignore[union-attr]  # the contract is valid, see test_contract
        if operation.definition.raw["security"]:
            path = operation.path.format(catalog_id="demo", job="A" * 22, sku="S-1")
            answer = httpx2.request(operation.method, address + path, content=b"{}")
            assert (answer.status_code, "401" in operation.definition.raw["responses"]) == (401, True)
