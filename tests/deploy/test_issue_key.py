"""Keys made by the operator: bound to tiers, or to a shop's page."""

import subprocess
import sys

import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.settings import Settings
from tests.api.conftest import LOOPBACK, PLAINLY
from tests.api.test_plans import DEMO
from tests.load.outage import issue_key
from tests.load.running import ROOT
from tests.store.support import RealServer

SHOP = "https://shop.example"


def test_keys_are_bound_as_the_operator_says() -> None:
    """A key of one tier hears of no other; a shop page's plans on its own pages alone; quotes hold on every worker."""
    server = RealServer()
    server.start()
    try:
        settings = {"REDIS_URL": server.address.url, "KEY_PEPPER": "of this test"}
        full = issue_key(settings, "dealer", "plan", "publish", "read_catalog")
        bound = issue_key(settings, "dealer", "plan", "read_catalog", "--tier", "growers-group")
        page = issue_key(
            settings, "dealer", "plan", "--storefront", "stock", "--origin", SHOP, "--tier", "schools"
        )
        shared = Settings(log_level="ERROR", redis_url=server.address.url, key_pepper="of this test")
        plain = TestClient(create_app(Settings(log_level="ERROR")), base_url=LOOPBACK, headers=PLAINLY)
        with plain as embedded:
            document = embedded.get("/v1/catalogs/demo").json()
        with (
            TestClient(create_app(shared), base_url=LOOPBACK, headers=PLAINLY) as one,
            TestClient(create_app(shared), base_url=LOOPBACK, headers=PLAINLY) as two,
        ):
            put = one.put("/v1/catalogs/stock", json=document, headers=_bearer(full) | {"if-none-match": "*"})
            assert put.status_code == 201, put.text
            read = one.get("/v1/catalogs/stock", headers=_bearer(bound))
            assert [tier["name"] for tier in read.json()["tiers"]] == ["growers-group"]
            assert one.post("/v1/plans", json=DEMO, headers=_bearer(page)).status_code == 403
            priced = DEMO | {"catalog": "stock", "pricing": {"tier": "growers-group"}}
            quote = one.post("/v1/quotes", json=priced, headers=_bearer(bound)).json()
            assert two.get(f"/v1/quotes/{quote['token']}", headers=_bearer(full)).json() == quote
    finally:
        server.close()


@pytest.mark.parametrize("words", [["plan"], ["plan", "order", "--origin", SHOP]])
def test_the_key_of_a_shops_page_is_no_more_than_that(words: list[str]) -> None:
    """Without an origin, or with another scope, none is made."""
    line = [sys.executable, str(ROOT / "deploy" / "issue_key.py"), "dealer", *words, "--storefront", "stock"]
    done = subprocess.run(line, env={"PYTHONPATH": str(ROOT)}, capture_output=True, check=False, text=True)
    assert done.returncode == 2
    assert "a shop's page" in done.stderr


def _bearer(key: str) -> dict[str, str]:
    return {"authorization": f"Bearer {key}"}
