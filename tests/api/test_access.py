"""Who may do what: every operation against every kind of caller, and two dealers against each other."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from fastapi.routing import iter_route_contexts
from fastapi.testclient import TestClient

from service.api.contract import scope_of
from service.app import create_app
from service.settings import Settings
from service.store.contract import RateLimit, Scope, Storefront
from tests.api.conftest import LOOPBACK, Keys

# Every operation and the scope that it asks for; None is open to everyone. A new route fails here until it is listed.
MATRIX: dict[tuple[str, str], Scope | None] = {
    ("GET", "/livez"): None,
    ("GET", "/readyz"): None,
    ("GET", "/metrics"): None,  # by the scraper's key, see test_health
    ("GET", "/openapi.json"): None,
    ("GET", "/problems"): None,
    ("GET", "/problems/{slug}"): None,
    ("GET", "/v1/sources"): None,
    ("POST", "/v1/plans"): Scope.PLAN,
    ("GET", "/.well-known/jwks.json"): None,
    ("POST", "/v1/quotes"): Scope.PLAN,
    ("POST", "/v1/quotes/read"): None,  # by the token
    ("GET", "/v1/quotes/{token}"): None,  # by the token
    ("GET", "/v1/quotes/{token}/plan"): None,  # by the token
    ("GET", "/v1/quotes/{token}/drawings"): None,  # by the token
    ("GET", "/v1/quotes/{token}/elevation.svg"): None,  # by the token
    ("GET", "/v1/quotes/{token}/packet.pdf"): None,  # by the token
    ("GET", "/v1/quotes/{token}/order.xml"): None,  # by the token
    ("GET", "/v1/quotes/{token}/order.csv"): None,  # by the token
    ("POST", "/v1/orders"): Scope.ORDER,
    ("POST", "/v1/alternatives"): Scope.PLAN,
    ("POST", "/v1/cut-lists"): Scope.PLAN,
    ("POST", "/v1/batches"): Scope.PLAN,
    ("GET", "/v1/batches/template.csv"): None,
    ("POST", "/v1/drawings"): Scope.PLAN,
    ("POST", "/v1/jobs"): Scope.PLAN,
    ("GET", "/v1/jobs/{job}"): Scope.PLAN,
    ("GET", "/v1/jobs/{job}/results"): Scope.PLAN,
    ("DELETE", "/v1/jobs/{job}"): Scope.PLAN,
    ("POST", "/v1/packets"): Scope.PLAN,
    ("POST", "/v1/labels"): Scope.PLAN,
    ("GET", "/v1/form"): Scope.PLAN,
    ("GET", "/form"): None,
    ("GET", "/form/page.css"): None,
    ("GET", "/form/element.js"): None,
    ("GET", "/form/element-{digest}.js"): None,
    ("GET", "/v1/catalogs"): Scope.READ_CATALOG,
    ("GET", "/v1/catalogs/{catalog_id}"): Scope.READ_CATALOG,
    ("PUT", "/v1/catalogs/{catalog_id}"): Scope.PUBLISH,
    ("GET", "/v1/catalogs/{catalog_id}/items"): Scope.READ_CATALOG,
    ("GET", "/v1/catalogs/{catalog_id}/revisions"): Scope.READ_CATALOG,
    ("POST", "/v1/catalogs/{catalog_id}/activation"): Scope.PUBLISH,
    ("POST", "/v1/catalogs/{catalog_id}/prices"): Scope.PUBLISH,
    ("PUT", "/v1/catalogs/{catalog_id}/items/{sku}"): Scope.PUBLISH,
    ("POST", "/v1/catalogs/{catalog_id}/comparisons"): Scope.READ_CATALOG,
}
KEYED = [row for row, scope in MATRIX.items() if scope]
# What the key of a shop's page may call of that: the form, a plan, its picture, its price, what would be cheaper.
SHOPPER = {
    ("GET", "/v1/form"),
    ("POST", "/v1/plans"),
    ("POST", "/v1/quotes"),
    ("POST", "/v1/alternatives"),
    ("POST", "/v1/drawings"),
}


def _call(client: TestClient, row: tuple[str, str], headers: dict[str, str]) -> int:
    """Call an operation with a body that is refused only after the key was looked at."""
    method, path = row
    url = path.format(catalog_id="demo", slug="busy", job="j-0", sku="S-1", digest="0" * 16)
    return client.request(
        method, url, headers={"content-type": "application/json"} | headers, content=b"{}"
    ).status_code


def test_the_matrix_lists_every_operation_with_its_scope(client: TestClient) -> None:
    """OWASP API5 and API9: no operation is left out of the decision who may call it."""
    routes = iter_route_contexts(client.app.routes)  # type: ignore[attr-defined]  # the client's type is any ASGI app
    found = {
        (method, route.path): scope_of(route.dependant) for route in routes for method in route.methods or ()
    }
    assert found == MATRIX


@pytest.mark.parametrize("row", MATRIX, ids=" ".join)
def test_operations_are_documented(client: TestClient, row: tuple[str, str]) -> None:
    """OWASP API9: nothing answers that is not in the contract."""
    assert row[0].lower() in client.get("/openapi.json").json()["paths"][row[1]]


@pytest.mark.parametrize("row", KEYED, ids=" ".join)
@pytest.mark.parametrize("scope", Scope)
def test_only_the_scope_that_is_asked_for_lets_in(
    client: TestClient, keys: Keys, row: tuple[str, str], scope: Scope
) -> None:
    """OWASP API5: each operation with a key of each single scope."""
    status = _call(client, row, keys.issue("matrix", scope))
    assert (status == 403) == (scope is not MATRIX[row])
    assert status not in {401, 500}


@pytest.mark.parametrize("row", KEYED, ids=" ".join)
def test_a_shop_pages_key_calls_what_a_shopper_needs(
    client: TestClient, keys: Keys, row: tuple[str, str]
) -> None:
    """OWASP API5: with every scope there is, the key that stands in a page opens its few operations and no other."""
    origin = "https://shop.example"
    page = keys.issue("matrix", origins=(origin,), storefront=Storefront(catalog="demo"))
    assert (_call(client, row, page | {"origin": origin}) == 403) == (row not in SHOPPER)


@pytest.mark.parametrize("row", KEYED, ids=" ".join)
def test_unknown_revoked_expired_and_misplaced_keys_are_refused(
    client: TestClient, keys: Keys, row: tuple[str, str]
) -> None:
    """OWASP API2: 401 with a challenge, also in open mode, whichever header carries the key."""
    yesterday = datetime.now(UTC) - timedelta(days=1)
    good = keys.issue("someone")["authorization"].removeprefix("Bearer ")
    for headers in (
        {"authorization": "Bearer unknown"},
        {"x-api-key": "unknown"},
        {"authorization": "Bearer " + "x" * 5000},
        {"x-api-key": good + "x"},
        keys.issue("someone", revoked=True),
        keys.issue("someone", not_after=yesterday),
    ):
        assert _call(client, row, headers) == 401
    assert _call(client, row, {"x-api-key": good}) != 401


@pytest.mark.parametrize("row", KEYED, ids=" ".join)
def test_without_a_key_only_loopback_is_answered(client: TestClient, row: tuple[str, str]) -> None:
    """Open mode holds for the embedded catalogs on a loopback address under a loopback name."""
    assert _call(client, row, {}) not in {401, 403}
    assert _call(client, row, {"host": "rebound.example"}) == 401
    answer = client.request(
        row[0], "http://192.0.2.1" + row[1].format(catalog_id="demo", job="j-0", sku="S-1")
    )
    assert (answer.status_code, answer.headers["www-authenticate"]) == (401, 'Bearer realm="shin-wall"')


@pytest.mark.parametrize("settings", [{"open_mode": False}, {"redis_url": "redis://127.0.0.1:1/0"}])
def test_open_mode_can_be_off_and_is_off_with_a_shared_store(settings: dict[str, Any]) -> None:
    """Whoever shares catalogs between dealers asks for keys, also on loopback."""
    with TestClient(create_app(Settings(log_level="ERROR", **settings)), base_url=LOOPBACK) as client:
        assert client.get("/v1/catalogs").status_code == 401


def test_a_key_in_the_address_is_not_read(client: TestClient, keys: Keys) -> None:
    """OWASP API2: addresses end up in logs and histories."""
    key = keys.issue("someone")["authorization"].removeprefix("Bearer ")
    answer = client.get(f"http://192.0.2.1/v1/catalogs?key={key}&access_token={key}&api_key={key}")
    assert answer.status_code == 401


def test_two_keys_of_a_dealer_overlap_while_it_changes_over(client: TestClient, keys: Keys) -> None:
    """Rotation: the old key goes on until its end while the new one works already."""
    tomorrow = datetime.now(UTC) + timedelta(days=1)
    for headers in (keys.issue("rotating", not_after=tomorrow), keys.issue("rotating")):
        assert client.get("/v1/catalogs", headers=headers).status_code == 200


def test_a_dealer_does_not_see_the_catalogs_of_another(client: TestClient, keys: Keys) -> None:
    """OWASP API1: what another dealer has does not exist, byte for byte."""
    mine, theirs = keys.issue("mine"), keys.issue("theirs")
    document = client.get("/v1/catalogs/demo").json()
    put = client.put("/v1/catalogs/stock", json=document, headers=mine | {"if-none-match": "*"})
    assert put.status_code == 201
    revision = put.json()["revision"]
    assert client.get("/v1/catalogs/stock", headers=mine).status_code == 200
    assert client.get("/v1/catalogs", headers=theirs).json() == {"catalogs": []}
    for path in ("", "/items", "/revisions", f"?revision={revision}"):
        foreign = client.get(f"/v1/catalogs/stock{path}", headers=theirs)
        unknown = client.get(f"/v1/catalogs/nosuch{path}", headers=theirs)
        assert foreign.status_code == 404
        said = unknown.text.replace("nosuch", "stock").replace(unknown.json()["instance"], "")
        assert foreign.text.replace(foreign.json()["instance"], "") == said


def test_a_quota_is_exact_and_told(client: TestClient, keys: Keys) -> None:
    """OWASP API4 and API6: so many requests in the window, then 429 with the time to wait."""
    headers = keys.issue("frugal", rate=RateLimit(units=3, window_s=600))
    answers = [client.get("/v1/catalogs", headers=headers) for _ in range(4)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 429]
    assert [answer.headers["ratelimit"].partition(";t=")[0] for answer in answers[:3]] == [
        '"key";r=2',
        '"key";r=1',
        '"key";r=0',
    ]
    assert answers[0].headers["ratelimit-policy"] == '"key";q=3;w=600'
    assert 1 <= int(answers[3].headers["retry-after"]) <= 200
    assert answers[3].json()["type"] == "/problems/rate-limited"


def test_one_dealers_quota_is_not_anothers(client: TestClient, keys: Keys) -> None:
    """OWASP API4: who has used up a quota hurts nobody else."""
    limit = RateLimit(units=1, window_s=600)
    spent, fresh = keys.issue("spent", rate=limit), keys.issue("fresh", rate=limit)
    assert [client.get("/v1/catalogs", headers=spent).status_code for _ in range(2)] == [200, 429]
    assert client.get("/v1/catalogs", headers=fresh).status_code == 200


def test_pages_of_listed_origins_may_call(client: TestClient, keys: Keys) -> None:
    """Fetch standard: the origin is named back, also on a refusal, and a preflight is answered."""
    origin = "https://shop.example"
    headers = keys.issue("shop", origins=(origin,)) | {"origin": origin}
    for answer in (client.get("/v1/catalogs", headers=headers), client.get("/nowhere", headers=headers)):
        assert answer.headers["access-control-allow-origin"] == origin
        assert "RateLimit" in answer.headers["access-control-expose-headers"]
    ask = {
        "origin": origin,
        "access-control-request-method": "POST",
        "access-control-request-headers": "content-type,authorization",
    }
    preflight = client.options("/v1/cut-lists", headers=ask)
    assert (preflight.status_code, preflight.headers["access-control-allow-origin"]) == (204, origin)
    assert preflight.headers["x-request-id"]


def test_pages_of_other_origins_may_not(client: TestClient, keys: Keys) -> None:
    """No dealer lists the origin: nothing is named back, not even with a good key."""
    keys.issue("shop", origins=("https://shop.example",))
    headers = keys.issue("someone") | {"origin": "https://evil.example"}
    answer = client.get("/v1/catalogs", headers=headers)
    assert answer.status_code == 403
    assert "access-control-allow-origin" not in answer.headers
    ask = {"origin": "https://evil.example", "access-control-request-method": "GET"}
    assert "access-control-allow-origin" not in client.options("/v1/catalogs", headers=ask).headers


def test_a_page_may_not_use_the_key_of_another_dealer(client: TestClient, keys: Keys) -> None:
    """An origin is good with the keys of the dealer that lists it, and with no other."""
    keys.issue("first", origins=("https://first.example",))
    second = keys.issue("second", origins=("https://second.example",))
    answer = client.get("/v1/catalogs", headers=second | {"origin": "https://first.example"})
    assert (answer.status_code, answer.json()["type"]) == (403, "/problems/origin-not-allowed")


def test_an_issued_key_works_at_once_and_a_revoked_one_no_longer(client: TestClient, keys: Keys) -> None:
    """Keys are looked up in the worker's memory; a change made here holds here at once."""
    headers = keys.issue("leaver")
    assert client.get("/v1/catalogs", headers=headers).status_code == 200
    digest = keys.service.digest(headers["authorization"].removeprefix("Bearer "))
    assert client.portal is not None
    client.portal.call(keys.service.store.revoke_key, "leaver", digest)
    assert client.get("/v1/catalogs", headers=headers).status_code == 401
