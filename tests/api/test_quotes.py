"""Quotes over HTTP: made, read again anywhere, and refused in every way that they can be misused."""

import base64
import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import orjson
import pytest
import rfc8785
from fastapi.testclient import TestClient
from joserfc import jws
from joserfc.jwk import KeySet
from pydantic import TypeAdapter

from service.api import quoted
from service.app import create_app
from service.sales import quotes
from service.sales.keys import new_ring
from service.sales.shapes import QuoteOut
from service.settings import Settings
from tests.api.conftest import LOOPBACK, PLAINLY, Keys
from tests.api.test_plans import DEMO

URL = "/v1/quotes"
START = datetime(2027, 3, 1, 12, tzinfo=UTC)


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.at = START

    def __call__(self) -> datetime:
        """Tell the time."""
        return self.at


@pytest.fixture
def clock() -> Clock:
    """A clock that stands still."""
    return Clock()


@pytest.fixture
def dated(clock: Clock) -> Iterator[TestClient]:
    """Connect to a service whose clock the test sets."""
    with TestClient(
        create_app(Settings(log_level="ERROR"), clock), base_url=LOOPBACK, headers=PLAINLY
    ) as client:
        yield client


def make(client: TestClient, **more: Any) -> Any:
    """Ask for a quote."""
    answer = client.post(URL, json=DEMO | more)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_quote_is_as_the_contract_says(client: TestClient) -> None:
    """The bill is the plan's; what was taken for fields left out is told; the token of an ordinary wall is short."""
    answer = client.post(URL, json=DEMO | {"valid_days": 14, "reference": "Two beds"})
    assert answer.status_code == 200, answer.text
    quote = answer.json()
    TypeAdapter(QuoteOut).validate_python(quote, strict=True)
    plan = client.post("/v1/plans", json=DEMO | {"reference": "Two beds"}).json()
    assert quote["bill_of_materials"] == plan["bill_of_materials"]
    assert (quote["plan_id"], quote["total"]) == (plan["plan_id"], plan["summary"]["total"])
    filled = {entry["pointer"]: entry["value"] for entry in quote["filled_in"]}
    assert (filled["/wall/baseboard_face"], filled["/options/spares_percent"]) == (152.4, 10)
    assert not {"/wall/height", "/structure/bays"} & set(filled)
    issued, until = (datetime.fromisoformat(quote[name]) for name in ("issued", "valid_until"))
    assert until - issued == timedelta(days=14)
    assert (quote["expired"], quote["orderable"]) == (False, True)
    assert len(quote["token"]) < 1200
    assert answer.headers["location"] == f"{URL}/{quote['token']}"


def test_the_address_of_a_quote_gives_it_again(client: TestClient) -> None:
    """Byte for byte, with a validator; posted it is the same; its plan hangs under it."""
    made = client.post(URL, json=DEMO)
    token = made.json()["token"]
    read = client.get(f"{URL}/{token}")
    assert (read.status_code, read.content) == (200, made.content)
    assert client.post(f"{URL}/read", json={"token": token}).content == made.content
    held = client.get(f"{URL}/{token}", headers={"if-none-match": read.headers["etag"]})
    assert (held.status_code, held.content) == (304, b"")
    plan = client.get(f"{URL}/{token}/plan?parts=summary,layout").json()
    assert plan["plan_id"] == made.json()["plan_id"]
    assert "layout" in plan
    assert "checks" not in plan


def test_a_quote_is_verified_offline_by_the_published_keys(client: TestClient) -> None:
    """With a general JOSE library, the key set and nothing else; the bill's lines are signed by their digest."""
    quote = make(client)
    keys = KeySet.import_key_set(client.get("/.well-known/jwks.json").json())
    read = jws.deserialize_compact(quote["token"], keys, registry=jws.JWSRegistry(algorithms=["Ed25519"]))
    claims = json.loads(read.payload)
    assert rfc8785.dumps(claims) == read.payload
    assert (claims["total"], claims["lines"], claims["aud"]) == (
        quote["total"],
        quote["lines_digest"],
        "open",
    )
    lines = [[line["sku"], line["packs"], line["pack_price"]] for line in quote["bill_of_materials"]["lines"]]
    digest = base64.urlsafe_b64encode(hashlib.sha256(rfc8785.dumps(lines)).digest()).rstrip(b"=").decode()
    assert claims["lines"] == digest


def test_the_keys_may_be_read_from_any_page(client: TestClient) -> None:
    """RFC 7517, across origins."""
    answer = client.get("/.well-known/jwks.json", headers={"origin": "https://anywhere.example"})
    assert (answer.status_code, answer.headers["access-control-allow-origin"]) == (200, "*")


def test_a_quote_survives_restart_and_the_next_revision(tmp_path: Path) -> None:
    """The key is kept beside the catalogs; the token pins its own revision."""
    settings = Settings(log_level="ERROR", catalog_folder=tmp_path)
    with TestClient(create_app(settings), base_url=LOOPBACK, headers=PLAINLY) as client:
        quote = make(client)
        document = client.get("/v1/catalogs/demo").json()
        for item in document["items"]:
            item["price"], item["breaks"] = "99.00", []
        assert client.put("/v1/catalogs/demo", json=document, headers={"if-match": "*"}).status_code == 200
        assert make(client)["total"] != quote["total"]
    with TestClient(create_app(settings), base_url=LOOPBACK, headers=PLAINLY) as client:
        assert client.get(f"{URL}/{quote['token']}").json() == quote


def test_replicas_with_the_same_keys_read_each_others_quotes() -> None:
    """Keys by the settings; a replica with others says that it does not know the key."""
    shared = Settings(log_level="ERROR", signing_keys=new_ring().decode())
    with (
        TestClient(create_app(shared), base_url=LOOPBACK) as one,
        TestClient(create_app(shared), base_url=LOOPBACK) as two,
    ):
        quote = make(one)
        assert two.get(f"{URL}/{quote['token']}").json() == quote
    with TestClient(create_app(Settings(log_level="ERROR")), base_url=LOOPBACK) as other:
        answer = other.get(f"{URL}/{quote['token']}")
        assert (answer.status_code, answer.json()["type"]) == (422, "/problems/quote-key-unknown")


def test_a_quote_that_has_ended_is_shown_and_marked(dated: TestClient, clock: Clock) -> None:
    """To the second; its validator is another then."""
    token = make(dated, valid_days=2)["token"]
    clock.at = START + timedelta(days=2, seconds=-1)
    live = dated.get(f"{URL}/{token}")
    clock.at = START + timedelta(days=2)
    over = dated.get(f"{URL}/{token}")
    assert (live.json()["expired"], over.json()["expired"], over.json()["orderable"]) == (False, True, False)
    assert over.headers["etag"] != live.headers["etag"]
    assert over.json()["total"] == live.json()["total"]


def test_pictures_and_paper_hang_under_a_quote(client: TestClient) -> None:
    """The same as where the structure is posted; 304 for who has them; an altered token shows nothing."""
    quote = make(client)
    address = f"{URL}/{quote['token']}"
    drawings = client.get(f"{address}/drawings?kinds=tunnel")
    assert drawings.json() == client.post("/v1/drawings?kinds=tunnel", json=DEMO).json()
    assert drawings.json()["plan_id"] == quote["plan_id"]
    elevation = client.get(f"{address}/elevation.svg")
    posted = client.post("/v1/drawings?kinds=elevation", json=DEMO, headers={"accept": "image/svg+xml"})
    assert elevation.content == posted.content
    png = client.get(f"{address}/drawings", headers={"accept": "image/png"})
    assert png.content.startswith(b"\x89PNG")
    packet = client.get(f"{address}/packet.pdf")
    assert packet.content == client.post("/v1/packets", json=DEMO).content
    for answer, path in (
        (drawings, "/drawings?kinds=tunnel"),
        (elevation, "/elevation.svg"),
        (packet, "/packet.pdf"),
    ):
        again = client.get(f"{address}{path}", headers={"if-none-match": answer.headers["etag"]})
        assert (again.status_code, again.content) == (304, b"")
        assert client.get(f"{URL}/{quote['token'][:-6]}{path}").status_code == 422


def test_a_quote_that_has_ended_is_not_ordered_from(dated: TestClient, clock: Clock) -> None:
    """Neither by an order nor as a document; the problem says when it ended."""
    token = make(dated, valid_days=1)["token"]
    clock.at = START + timedelta(days=1)
    for answer in (
        dated.post("/v1/orders", json={"quotes": [token]}),
        dated.get(f"{URL}/{token}/order.csv"),
        dated.get(f"{URL}/{token}/order.xml"),
    ):
        assert (answer.status_code, answer.json()["type"]) == (409, "/problems/quote-expired")
        assert answer.json()["values"] == {"moment": "2027-03-02T12:00:00Z"}


def test_a_quote_keeps_the_work_that_it_was_given() -> None:
    """A service with less room for work reads the quote of one with more, and comes to the same bill."""
    ring = new_ring().decode()
    rough = {"structure": {"stations": [round(n * 1200 + n * n * 7 % 90, 1) for n in range(60)], "sides": ["left"]},
             "wall": {"panel_thickness": "8 mm"}}  # fmt: skip
    ample = Settings(log_level="ERROR", signing_keys=ring)
    with TestClient(create_app(ample), base_url=LOOPBACK, headers=PLAINLY) as client:
        quote = client.post(URL, json=rough).json()
    scant = Settings(log_level="ERROR", signing_keys=ring, plan_units=1_000)
    with TestClient(create_app(scant), base_url=LOOPBACK, headers=PLAINLY) as client:
        assert client.get(f"{URL}/{quote['token']}").json() == quote
        plan = client.get(f"{URL}/{quote['token']}/plan?parts=summary").json()
    assert plan["summary"]["total"] == quote["total"]


@pytest.mark.parametrize("days", [0, 181, 1.5, "14", True])
def test_how_long_a_quote_holds_is_bounded(client: TestClient, days: object) -> None:
    """From a day to half a year."""
    answer = client.post(URL, json=DEMO | {"valid_days": days})
    assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (422, "/valid_days")


def test_a_superseded_quote_names_both_totals(dated: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """A planner that comes to another bill says so, wherever the token is used."""
    quote = make(dated)
    dearer = quotes.lines_digest
    monkeypatch.setattr(quotes, "lines_digest", lambda bill: dearer(bill)[::-1])
    monkeypatch.setattr(
        quoted, "_digest", lambda token, _: token[-20:]
    )  # as after a restart: nothing is kept
    for path in ("", "/plan"):
        answer = dated.get(f"{URL}/{quote['token']}{path}")
        assert (answer.status_code, answer.json()["type"]) == (409, "/problems/quote-superseded")
        assert answer.json()["values"]["quoted"] == {"amount": quote["total"], "currency": "USD"}


def test_a_quote_whose_revision_is_gone_says_so(tmp_path: Path) -> None:
    """410: it was there."""
    ring = new_ring().decode()
    settings = Settings(log_level="ERROR", catalog_folder=tmp_path, signing_keys=ring)
    with TestClient(create_app(settings), base_url=LOOPBACK) as client:
        document = client.get("/v1/catalogs/demo").json() | {"title": "Other"}
        client.put("/v1/catalogs/demo", json=document, headers={"if-match": "*"})
        token = make(client)["token"]
    with TestClient(create_app(Settings(log_level="ERROR", signing_keys=ring)), base_url=LOOPBACK) as client:
        answer = client.get(f"{URL}/{token}")
        assert (answer.status_code, answer.json()["type"]) == (410, "/problems/quote-gone")


def test_tokens_that_are_none_each_have_their_problem(client: TestClient) -> None:
    """Altered, of another algorithm, too long for an address, too long at all."""
    token = make(client)["token"]
    head, payload, _ = token.split(".")
    altered = token[:-2] + ("AA" if token[-2:] != "AA" else "BB")
    none = base64.urlsafe_b64encode(b'{"alg":"none"}').rstrip(b"=").decode() + f".{payload}."
    for text, slug in ((altered, "quote-altered"), (none, "quote-algorithm"), (head, "quote-altered")):
        for answer in (client.get(f"{URL}/{text}"), client.post(f"{URL}/read", json={"token": text})):
            assert (answer.status_code, answer.json()["type"]) == (422, f"/problems/{slug}")
    assert client.get(f"{URL}/{'A' * 5000}").status_code == 414
    assert (
        client.post(f"{URL}/read", json={"token": "A." * 50_000}).json()["type"] == "/problems/quote-altered"
    )
    assert client.post(f"{URL}/read", json={"token": "A" * 250_000}).status_code == 422


def test_a_long_question_has_a_long_token_and_is_posted(client: TestClient) -> None:
    """600 posts as they were measured: no address, the same quote."""
    stations = [round(number * 1200 + number % 7, 1) for number in range(600)]
    body = {"structure": {"stations": stations, "sides": ["left"]}, "wall": {"panel_thickness": "8 mm"}}
    answer = client.post(URL, json=body)
    assert answer.status_code == 200, answer.text
    token = answer.json()["token"]
    assert len(token) > 4000
    assert "location" not in answer.headers
    assert client.get(f"{URL}/{token}").json()["type"] == "/problems/token-too-long"
    assert client.post(f"{URL}/read", json={"token": token}).content == answer.content


def test_a_quote_is_at_the_prices_of_its_day_and_tier(dated: TestClient) -> None:
    """The tier's name is nowhere in the answer or the token; another day's prices are refused with today."""
    quote = make(dated, pricing={"tier": "growers-group"})
    assert quote["total"] != make(dated)["total"]
    assert quote["tier"].startswith("t-")
    payload = base64.urlsafe_b64decode(quote["token"].split(".")[1] + "==")
    for said in (payload, orjson.dumps(quote)):
        assert b"growers" not in said
    assert dated.get(f"{URL}/{quote['token']}").json() == quote
    past = dated.post(URL, json=DEMO | {"pricing": {"tier": "growers-group", "date": "2026-05-01"}})
    assert (past.status_code, past.json()["errors"][0]["suggestion"]) == (422, "2027-03-01")


def test_reading_needs_no_key_making_one_does(client: TestClient, keys: Keys) -> None:
    """A token is a bearer right to read; the count is by visitor."""
    token = make(client)["token"]
    away = "http://192.0.2.1"
    read = client.get(f"{away}{URL}/{token}")
    assert read.status_code == 200
    assert read.headers["ratelimit-policy"] == '"visitor";q=120;w=60'
    assert client.post(f"{away}{URL}", json=DEMO).status_code == 401
    counted = client.get(f"{away}{URL}/{token}", headers=keys.issue("reader"))
    assert counted.headers["ratelimit-policy"] == '"key";q=600;w=60'
    assert client.get(f"{away}{URL}/{token}", headers={"authorization": "Bearer wrong"}).status_code == 401


def test_no_log_line_holds_a_token(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    """Routes are logged by their template."""
    token = make(client)["token"]
    client.get(f"{URL}/{token}")
    client.get(f"{URL}/{token[:-3]}")
    said = capsys.readouterr()
    assert token.split(".")[1] not in said.out + said.err + client.get("/metrics").text
