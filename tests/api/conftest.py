"""The service as its tests meet it: in process with the embedded catalogs, and live on a loopback socket."""

from collections.abc import Iterator
from datetime import datetime

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from service.api.state import Service
from service.app import create_app
from service.settings import Settings
from service.store.contract import KeyRecord, RateLimit, Scope, Storefront
from service.store.keys import mint_key

LOOPBACK = "http://127.0.0.1:8000"
"""Where a test's client says it has connected; open mode asks for a loopback address and name."""
PLAINLY = {"accept-encoding": "identity"}
"""What a test's client sends, so that it sees the bytes and validators that were made; `test_coding` asks for others."""


@pytest.fixture(scope="module")
def app() -> FastAPI:
    """Build the application with its default settings."""
    return create_app(Settings(log_level="ERROR"))


@pytest.fixture(scope="module")
def client(app: FastAPI) -> Iterator[TestClient]:
    """Connect a client in open mode."""
    with TestClient(app, base_url=LOOPBACK, headers=PLAINLY, raise_server_exceptions=False) as connected:
        yield connected


class Keys:
    """Makes keys known to a running application."""

    def __init__(self, client: TestClient) -> None:
        self._client = client
        self.service: Service = client.app_state["service"]

    def issue(
        self,
        dealer: str,
        *scopes: Scope,
        key: str | None = None,
        origins: tuple[str, ...] = (),
        not_after: datetime | None = None,
        revoked: bool = False,
        rate: RateLimit | None = None,
        structures: RateLimit | None = None,
        tiers: tuple[str, ...] | None = None,
        storefront: Storefront | None = None,
    ) -> dict[str, str]:
        """Make a key known and give the header that carries it."""
        key = key or mint_key()
        record = KeyRecord(
            dealer=dealer,
            digest=self.service.digest(key),
            scopes=frozenset(scopes or Scope),
            origins=origins,
            not_after=not_after,
            revoked=revoked,
            rate=rate,
            structures=structures,
            tiers=tiers,
            storefront=storefront,
        )
        assert self._client.portal is not None
        self._client.portal.call(self.service.store.put_key, record)
        return {"authorization": f"Bearer {key}"}


@pytest.fixture(scope="module")
def keys(client: TestClient) -> Keys:
    """The issuer of keys of the client's application."""
    return Keys(client)


@pytest.fixture
def shop() -> Iterator[TestClient]:
    """Connect a client to a service of its own, whose catalogs may be changed."""
    with TestClient(create_app(Settings(log_level="ERROR")), base_url=LOOPBACK, headers=PLAINLY) as client:
        yield client
