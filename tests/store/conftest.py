"""One server for the tests that do not break it, emptied before each test, and both stores by name."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from pathlib import Path

import pytest

from service.store.contract import Store
from service.store.folder import FolderSettings, FolderStore
from tests.store.support import Items, RealServer, read_items, redis_store

FIGURES = pytest.StashKey[list[str]]()


@pytest.fixture
def figures(request: pytest.FixtureRequest) -> list[str]:
    """The list of measured figures that is printed when the run ends."""
    return request.config.stash.setdefault(FIGURES, [])


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Print what was measured."""
    if lines := config.stash.get(FIGURES, []):
        terminalreporter.section("store: measured here")
        for line in lines:
            terminalreporter.write_line(line)


@pytest.fixture
def anyio_backend() -> str:
    """Run asynchronous tests on the event loop that the service runs on."""
    return "asyncio"


@pytest.fixture(scope="session")
def common_server() -> Iterator[RealServer]:
    """A server for the whole run."""
    server = RealServer()
    server.start()
    yield server
    server.close()


@pytest.fixture
def server(common_server: RealServer) -> RealServer:
    """An empty server that is to be left alive."""
    with common_server.client() as client:
        client.flushall()
    return common_server


@pytest.fixture
def own_server() -> Iterator[RealServer]:
    """A server that the test may break."""
    server = RealServer()
    server.start()
    yield server
    server.close()


@pytest.fixture(params=["folder", "redis"])
async def store(request: pytest.FixtureRequest, tmp_path: Path) -> AsyncIterator[Store[Items]]:
    """An empty store of each kind."""
    empty: Store[Items]
    if request.param == "folder":
        empty = FolderStore(FolderSettings(shipped=None, folder=tmp_path), read_items)
    else:
        empty = redis_store(request.getfixturevalue("server").address)
    await empty.start()
    yield empty
    await empty.close()
