"""Batches over HTTP: every line accounted for, in order, equal to single requests; hostile lists hurt nobody else."""

import contextlib
import csv
import io
import json
import os
import signal
import socket
import time
import urllib.request
from collections.abc import Iterator
from http.client import HTTPConnection, HTTPResponse
from pathlib import Path
from random import Random
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.batch.planner import Wanted, plan_chunk
from service.bench_specs import make_spec
from service.planner.writing import ENGLISH
from service.store.contract import Scope
from tests.api.conftest import Keys
from tests.load.running import Running, service
from tests.store.support import free_port

DEMO = {"structure": {"bays": 12, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}
UNBUILDABLE = {
    "structure": {"bays": 12, "bay_spacing": "4 ft"},
    "wall": {"panel_thickness": "8 mm", "height": "8 in"},
}


@pytest.fixture(scope="module")
def running() -> Iterator[Running]:
    """Start a service with one planner and little patience."""
    with service(free_port(), {"PLANNERS": "1", "BATCH_IDLE_SECONDS": "2", "DEALER_BATCHES": "2"}) as started:
        yield started


def send(
    running: Running, body: bytes, kind: str = "application/jsonl", path: str = "", accept: str = "*/*"
) -> tuple[int, bytes]:
    """Send a list whole and read its answer."""
    connection = HTTPConnection("127.0.0.1", running.port, timeout=60)
    with contextlib.closing(connection):
        connection.request("POST", f"/v1/batches{path}", body, {"content-type": kind, "accept": accept})
        answer = connection.getresponse()
        return answer.status, answer.read()


def lines(running: Running, *specs: Any) -> list[dict[str, Any]]:
    """Send structures as JSON Lines and read the lines of the answer."""
    status, content = send(running, b"\n".join(json.dumps(spec).encode() for spec in specs))
    assert status == 200
    return [json.loads(line) for line in content.splitlines()]


def plan(running: Running, spec: dict[str, Any], parts: str = "summary") -> dict[str, Any]:
    """Ask for parts of one plan."""
    request = urllib.request.Request(
        f"http://127.0.0.1:{running.port}/v1/plans?parts={parts}",
        json.dumps(spec).encode(),
        {"content-type": "application/json"},
    )
    with urllib.request.urlopen(request, timeout=60) as answer:
        found: dict[str, Any] = json.load(answer)
    return found


def open_list(running: Running, body: bytes, *, declared: int | None = None) -> socket.socket:
    """Begin a request and send some of its body, as a caller does who then goes its own ways."""
    connection = socket.create_connection(("127.0.0.1", running.port), timeout=60)
    length = len(body) if declared is None else declared
    head = f"POST /v1/batches HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\nContent-Type: application/jsonl\r\nConnection: close\r\nContent-Length: {length}\r\n\r\n"
    connection.sendall(head.encode() + body)
    return connection


def planners(running: Running) -> list[int]:
    """List the planner processes of a service."""
    found, ahead = [], [running.process.pid]
    while ahead:
        own = ahead.pop()
        below = Path(f"/proc/{own}/task/{own}/children").read_text(encoding="ascii").split()
        ahead += map(int, below)
        found += [
            int(pid)
            for pid in below
            if Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[16] == "10"
        ]
    return found


def test_lines_equal_single_requests_in_the_order_of_the_list(running: Running) -> None:
    """Totals and plan ids are those that a single request gives; the last line adds them up."""
    random = Random(3)  # noqa: S311  # reproducible structures, no secrets
    specs = [make_spec(random, f"wall {number}") for number in range(20)]
    *found, last = lines(running, *specs)
    assert [line["index"] for line in found] == list(range(20))
    assert [line["reference"] for line in found] == [spec["reference"] for spec in specs]
    for line, spec in zip(found[::5], specs[::5], strict=True):
        single = plan(running, spec)
        assert (line["plan_id"], line["summary"]) == (single["plan_id"], single["summary"])
        assert line["outcome"] == plan(running, spec, "summary,checks")["summary"]["outcome"]
    assert last["summed_up"]["structures"] == last["summed_up"]["planned"] == 20
    hundredths = sum(round(100 * float(line["total"])) for line in found)
    assert round(100 * float(last["summed_up"]["totals"]["USD"])) == hundredths


def test_one_bad_line_never_stops_the_rest(running: Running) -> None:
    """Each refusal stands in its place, with its row and the pointer that a single request would name."""
    *found, last = lines(
        running, DEMO, {"wall": {}}, UNBUILDABLE, {"id": "A7", "spec": DEMO}, {**DEMO, "catalog": "none"}
    )
    assert [line["status"] for line in found] == [200, 422, 422, 200, 422]
    assert found[1]["row"] == 2
    assert {error["pointer"] for error in found[1]["problem"]["errors"]} == {
        "/structure",
        "/wall/panel_thickness",
    }
    assert found[2]["problem"]["type"].endswith("/height-unbuildable")
    assert found[3]["id"] == "A7"
    assert found[4]["problem"]["type"].endswith("/no-such-catalog")
    assert (last["summed_up"]["refused"], last["summed_up"]["repeated"]) == (3, 1)


def test_a_table_is_answered_as_a_table(running: Running) -> None:
    """Rows in, rows out; a row that is refused names the column that its caller filled in."""
    table = b"id,bays,bay_spacing_ft,panel_thickness,height_in\r\nA,12,4,8 mm,24\r\nB,12,4,8 mm,8\r\n=1+1,,4,8 mm,\r\n"
    status, content = send(running, table, "text/csv")
    rows = list(csv.DictReader(io.StringIO(content.decode())))
    assert status == 200
    assert rows[0]["total"] == plan(running, DEMO)["summary"]["total"]
    assert (rows[1]["problem"], rows[1]["column"]) == ("height-unbuildable", "height_mm")
    assert rows[2]["id"] == "'=1+1"  # a spreadsheet takes it for text
    assert rows[3]["id"] == "summed up"
    as_lines = send(running, table, "text/csv", accept="application/x-ndjson")[1].splitlines()
    assert json.loads(as_lines[0])["total"] == rows[0]["total"]


def test_the_template_can_be_sent_back(running: Running) -> None:
    """What is offered as an example is planned."""
    with urllib.request.urlopen(
        f"http://127.0.0.1:{running.port}/v1/batches/template.csv", timeout=10
    ) as answer:
        template = answer.read()
    rows = list(csv.DictReader(io.StringIO(send(running, template, "text/csv")[1].decode())))
    assert [row["status"] for row in rows] == ["200", ""]


def test_a_line_holds_the_parts_that_are_asked_for_as_a_plan_does(running: Running) -> None:
    """Parts are those of a plan with the same parts, and nothing else is made."""
    parts = "bill_of_materials,drilling,checks"
    status, content = send(running, json.dumps(DEMO).encode(), path=f"?parts={parts}")
    line = json.loads(content.splitlines()[0])
    single = plan(running, DEMO, parts)
    assert status == 200
    assert {name: line[name] for name in parts.split(",")} == {
        name: single[name] for name in parts.split(",")
    }
    assert "summary" not in line
    assert "layout" not in line


def test_a_key_bound_to_tiers_is_told_of_no_other_in_a_line(client: TestClient, keys: Keys) -> None:
    """A line at another's prices is refused as a plan is; the rest is planned."""
    dealer = "lists-of-two-tiers"
    every, bound = keys.issue(dealer), keys.issue(dealer, tiers=("growers-group",))
    client.put(
        "/v1/catalogs/demo",
        json=client.get("/v1/catalogs/demo").json(),
        headers=every | {"if-none-match": "*"},
    )
    own, theirs = (
        DEMO | {"pricing": {"tier": tier, "date": "2026-03-01"}} for tier in ("growers-group", "schools")
    )
    body = b"\n".join(json.dumps(spec).encode() for spec in (theirs, own))
    kind = {"content-type": "application/jsonl"}
    for headers, statuses in ((every, [200, 200]), (bound, [422, 200])):
        *found, _ = map(
            json.loads, client.post("/v1/batches", content=body, headers=headers | kind).iter_lines()
        )
        assert [line["status"] for line in found] == statuses
    single = client.post("/v1/plans", json=theirs, headers=bound).json()
    assert found[0]["problem"] | {"instance": ""} == single | {"instance": ""}


def ordered(client: TestClient, path: str, specs: list[Any], key: dict[str, str]) -> dict[str, Any]:
    """Send a list that ends in an order and read that."""
    body = b"\n".join(json.dumps(spec).encode() for spec in specs)
    answer = client.post(path, content=body, headers=key | {"content-type": "application/jsonl"})
    made: dict[str, Any] = [json.loads(line) for line in answer.iter_lines()][-2]["combined"]
    return made


def test_a_list_ends_in_the_order_that_its_structures_would_make(client: TestClient) -> None:
    """What can be planned is ordered together, as it would be directly; what cannot is left out, and that is told."""
    random = Random(21)  # noqa: S311  # reproducible structures, no secrets
    specs = [make_spec(random, f"wall {number}") for number in range(4)]
    sent = [
        {"id": "A", "spec": specs[0]},
        specs[1],
        UNBUILDABLE,
        {"id": "no/name", "spec": specs[2]},
        specs[2],
    ]
    made = ordered(client, "/v1/batches?combine=true", sent, {})
    names = ("A", "row-2", "row-4", "row-5")
    structures = [
        {"id": name, "spec": spec} for name, spec in zip(names, (*specs[:3], specs[2]), strict=True)
    ]
    direct = client.post("/v1/orders", json={"structures": structures}).json()
    assert (made["status"], made["left_out"], made["order"]) == (200, 1, direct)
    assert float(made["order"]["saving"]["saved"]) > 0


@pytest.mark.parametrize(
    ("sent", "problem"),
    [
        ([DEMO] * 501, "too-much-work"),
        ([{"id": "A", "spec": DEMO}] * 2, "order-mixed"),
        ([DEMO | {"pricing": {"tier": "schools", "date": "2026-03-01"}}], "structure-refused"),
        ([{}, UNBUILDABLE], "structure-refused"),
    ],
    ids=["more than an order holds", "an id twice", "prices of another day", "nothing to order"],
)
def test_an_order_that_cannot_be_leaves_the_lines_as_they_are(
    client: TestClient, sent: list[Any], problem: str
) -> None:
    """Every line is answered, and a problem stands where the order would."""
    body = b"\n".join(json.dumps(spec).encode() for spec in sent)
    kind = {"content-type": "application/jsonl"}
    plain = list(client.post("/v1/batches", content=body, headers=kind).iter_lines())
    answer = list(client.post("/v1/batches?combine=true", content=body, headers=kind).iter_lines())
    assert answer[:-2] == plain[:-1]
    made = json.loads(answer[-2])["combined"]
    assert made["problem"]["type"].endswith(f"/{problem}")
    rows = client.post("/v1/batches?combine=true", content=body, headers=kind | {"accept": "text/csv"}).text
    assert list(csv.DictReader(io.StringIO(rows)))[-2]["problem"] == problem


def test_an_order_asks_for_a_key_that_orders(client: TestClient, keys: Keys) -> None:
    """A key that plans prices a list; only one that orders as well lets it end in an order."""
    kind = {"content-type": "application/jsonl"}
    for scopes, status in (((Scope.PLAN,), 403), ((Scope.PLAN, Scope.ORDER), 200)):
        key = keys.issue("ordering", *scopes)
        answer = client.post("/v1/batches?combine=true", content=b"{}", headers=key | kind)
        assert answer.status_code == status
    rows = client.post(
        "/v1/batches?combine=true", content=json.dumps(DEMO), headers=kind | {"accept": "text/csv"}
    )
    priced, made, _ = csv.DictReader(io.StringIO(rows.text))
    assert (made["id"], made["total"]) == ("combined", priced["total"])


def test_a_line_takes_no_more_work_than_it_may() -> None:
    """With few units the first plan is answered, not proven; with more it is proven and costs no more."""
    spec = make_spec(Random(8), "")  # noqa: S311  # a reproducible structure, no secret
    document = (Path("service/store/catalogs") / "demo.json").read_text(encoding="utf-8")
    found = []
    for units in (1_000, 3_000_000):
        wanted = Wanted(parts=("summary",), language=ENGLISH, units=units).as_values()
        asked = {
            "wanted": wanted,
            "catalogs": [["demo", "r", document]],
            "structures": [[0, json.dumps(spec)]],
        }
        answer = plan_chunk(json.dumps(asked).encode()).splitlines()[1]
        found.append(json.loads(answer.partition(b"\t")[2])["summary"])
    assert [summary["proven_optimal"] for summary in found] == [False, True]
    assert float(found[1]["objective"]) <= float(found[0]["objective"])


@pytest.mark.parametrize(
    ("kind", "path", "body", "status"),
    [
        ("application/json", "", b"{}", 415),
        ("application/jsonl", "?parts=summary,everything", b"{}", 422),
        ("application/jsonl", "?part=summary", b"{}", 422),
        ("text/csv", "", b"bayz\r\n1", 422),
        ("text/csv", "", b"\x00\x01\x02", 422),
    ],
)
def test_what_is_wrong_with_the_whole_is_told_before_the_first_line(
    running: Running, kind: str, path: str, body: bytes, status: int
) -> None:
    """No line is answered when the list cannot be read as it is meant."""
    assert send(running, body, kind, path)[0] == status


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (b"x" * 10_000_000, [413]),
        (b"\n" * 1_000_000, []),
        (b'{"a": "\x00"}\n' + json.dumps(DEMO).encode(), [400, 200]),
        (b"x" * 10_000_000 + b"\n" + json.dumps(DEMO).encode() + b"\r\n", [413, 200]),
        (b"", []),
    ],
    ids=["no newline at all", "a million empty lines", "NUL", "ten megabytes in a line", "nothing"],
)
def test_hostile_lists_are_answered_line_by_line(running: Running, body: bytes, expected: list[int]) -> None:
    """Every line has its answer, and the last one sums up."""
    *found, last = [json.loads(line) for line in send(running, body)[1].splitlines()]
    assert [line["status"] for line in found] == expected
    assert last["summed_up"]["structures"] == len(expected)


@pytest.mark.parametrize(
    ("row", "status"),
    [
        (b"A\rB,12,4,8 mm", "400"),
        (b'"' + b"x" * 200_000 + b'",12,4,8 mm', "400"),
        (b"\xff,12,4,8 mm", "400"),
        (b"\x00,12,4,8 mm,,,,", "200"),
        (b"x" * 10_000_000, "413"),
    ],
    ids=["a carriage return", "an endless cell", "no text", "NUL", "ten megabytes in a row"],
)
def test_hostile_rows_are_answered_row_by_row(running: Running, row: bytes, status: str) -> None:
    """A row that is none is refused, and the next is planned; as a header it is a problem of the whole."""
    table = b"id,bays,bay_spacing_ft,panel_thickness\n" + row + b"\nB,12,4,8 mm\n"
    rows = csv.DictReader(io.StringIO(send(running, table, "text/csv")[1].decode()))
    assert [row["status"] for row in rows] == [status, "200", ""]
    assert send(running, row + b"\n" + table, "text/csv")[0] == 422


def test_a_caller_who_reads_a_byte_a_second_holds_up_nobody(running: Running) -> None:
    """Others are answered meanwhile, memory stays, and nothing is left behind when it goes."""
    body = b"\n".join(json.dumps({"id": f"{number}", "spec": DEMO}).encode() for number in range(30_000))
    lines(running, DEMO)
    before, connection = running.memory(), open_list(running, body)
    for _ in range(3):
        assert len(connection.recv(1)) == 1
        began = time.monotonic()
        plan(running, DEMO)
        assert lines(running, DEMO)[0]["status"] == 200
        assert time.monotonic() - began < 2
        assert running.memory() - before < 60 * 2**20
        time.sleep(1)
    connection.close()
    time.sleep(0.5)
    assert [send(running, b"{}")[0] for _ in range(3)] == [200] * 3


def test_a_caller_who_reads_nothing_until_the_end_is_served_from_disk(running: Running) -> None:
    """Everything is sent before anything is read, and the worker's memory does not hold the answers."""
    body = b"\n".join(json.dumps({"id": f"{number}", "spec": DEMO}).encode() for number in range(30_000))
    before = running.memory()
    connection = open_list(running, body)
    time.sleep(1)
    assert running.memory() - before < 60 * 2**20
    with contextlib.closing(connection):
        answer = HTTPResponse(connection)
        answer.begin()
        found = answer.read().splitlines()
    assert len(found) == 30_001


def test_work_stops_when_its_caller_leaves_or_falls_silent(running: Running) -> None:
    """Soon after a caller's leaving, and after one stops sending, no planner works, long before the list would be through."""
    lines(running, DEMO)  # the planners are there
    random = Random(5)  # noqa: S311  # reproducible structures, no secrets
    body = b"\n".join(json.dumps(make_spec(random, "")).encode() for _ in range(2_000))
    for declared in (None, len(body) + 10):
        before, connection = _ticks(planners(running)), open_list(running, body, declared=declared)
        while _ticks(planners(running)) < before + 10:
            time.sleep(0.05)
        if declared is None:
            connection.close()
        used, deadline = -1, time.monotonic() + 60
        while used != (used := _ticks(planners(running))):
            assert time.monotonic() < deadline
            time.sleep(0.5)
        assert used - before < 600  # of 1,000 at the least, had they gone on
        connection.close()


def test_a_dealer_has_no_more_batches_at_once_than_leave_room_for_others(running: Running) -> None:
    """The third of two is turned away until one has ended."""
    begun = [open_list(running, b"{}", declared=10) for _ in range(2)]
    time.sleep(0.3)
    status, content = send(running, b"{}")
    assert (status, json.loads(content)["type"].rpartition("/")[2]) == (429, "rate-limited")
    for connection in begun:
        connection.close()
    time.sleep(0.3)
    assert send(running, b"{}")[0] == 200


def _ticks(pids: list[int]) -> int:
    """Sum the processor time of processes, in ticks of the clock."""
    stats = (Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split() for pid in pids)
    return sum(int(stat[11]) + int(stat[12]) for stat in stats)


def test_a_planner_that_dies_takes_no_line_along(running: Running) -> None:
    """Its chunk is planned again by a new one."""
    random = Random(9)  # noqa: S311  # reproducible structures, no secrets
    specs = [make_spec(random, f"{number}") for number in range(60)]
    connection = open_list(running, b"\n".join(json.dumps(spec).encode() for spec in specs))
    time.sleep(0.4)
    for pid in planners(running):
        os.kill(pid, signal.SIGKILL)
    with contextlib.closing(connection):
        answer = HTTPResponse(connection)
        answer.begin()
        found = [json.loads(line) for line in answer.read().splitlines()[:-1]]
    assert [line["status"] for line in found] == [200] * 60
