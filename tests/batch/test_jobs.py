"""Jobs on a real queue server: nothing lost and nothing twice, whoever dies; a dealer's jobs are its own."""

import json
import time
from collections import Counter
from collections.abc import Iterator
from random import Random
from typing import Any

import httpx2
import pytest
from fastapi.testclient import TestClient

from service.app import create_app
from service.batch.ledger import ATTEMPTS, LEASE, Claim, Ledger
from service.bench_specs import make_spec
from service.settings import Settings
from service.store.contract import RateLimit
from tests.api.conftest import LOOPBACK, Keys
from tests.batch import fleet
from tests.batch.fleet import job_of
from tests.batch.test_batches import DEMO
from tests.load.running import service
from tests.store.support import RealServer, free_port

STRUCTURES = 120


@pytest.fixture
def server() -> Iterator[RealServer]:
    """Start a server that keeps what it is given."""
    started = RealServer(*fleet.KEEPING)
    started.start()
    yield started
    started.close()


def test_nothing_is_lost_and_nothing_counts_twice_when_workers_and_the_server_die() -> None:
    """Two of four workers are killed in the middle and the server is restarted; every line is there once, as a batch gives it."""
    fleet.check(fleet.run(STRUCTURES), STRUCTURES)


def test_a_job_can_be_cancelled_and_results_follow_it(server: RealServer) -> None:
    """Without workers nothing is done; cancelled, it stays readable and takes no more room."""
    with (
        service(free_port(), {"QUEUE_URL": server.address.url, "JOBS": "1"}) as running,
        httpx2.Client(base_url=f"http://127.0.0.1:{running.port}", timeout=60) as client,
    ):
        table = b"id,bays,bay_spacing_ft,panel_thickness\nA,12,4,8 mm\n"
        job = job_of(client, table, "text/csv")
        refused = client.post("/v1/jobs", content=table, headers={"content-type": "text/csv"})
        assert refused.json()["type"].endswith("/limit-reached")
        assert client.get(job).json()["state"] == "running"
        assert client.delete(job).status_code == 204
        rows = client.get(f"{job}/results", headers={"accept": "text/csv"}).text.splitlines()
        assert len(rows) == 2
        assert client.get(job).json()["state"] == "cancelled"
        assert client.get("/v1/jobs/AAAAAAAAAAAAAAAAAAAAAA").status_code == 404
        bad = client.post("/v1/jobs", content=b"bayz\n", headers={"content-type": "text/csv"})
        assert bad.json()["type"].endswith("/bid-list-unreadable")
        assert job_of(client, table, "text/csv") != job


def test_without_a_queue_the_answer_says_what_to_configure(client: Any) -> None:
    """Batches go on."""
    answer = client.post("/v1/jobs", content=b"", headers={"content-type": "application/jsonl"})
    assert answer.json()["type"].endswith("/no-queue")
    assert "SHIN_WALL_QUEUE_URL" in answer.json()["detail"]


def test_a_chunk_counts_once_and_comes_back_when_its_worker_is_silent(server: RealServer) -> None:
    """Two finish the same chunk: the second changes nothing. A claim that runs out is given again."""
    ledger = Ledger(server.address.url, "test", 600)
    job = ledger.begin("north")
    ledger.add(job, 0, {"lines": [{}]}, {})
    assert ledger.claim() is False  # still being sent
    ledger.start("north", job)
    assert ledger.claim() == Claim(job=job, number=0, attempt=1)
    assert ledger.claim() is True  # in other hands
    ledger.server.zadd(f"test:jobs:{job}:todo", {"0": 0})  # its time is over
    assert ledger.claim() == (again := Claim(job=job, number=0, attempt=2))
    assert ledger.renew(again)
    assert ledger.claim() is True
    assert ledger.told("south", job) is None
    assert ledger.finish(job, 0, b"first\n", Counter(done=1))
    assert not ledger.finish(job, 0, b"second\n", Counter(done=1))
    assert ledger.result(job, 0) == b"first\n"
    told = ledger.told("north", job)
    assert told is not None
    assert (told["done"], told["state"]) == ("1", "done")
    assert ledger.running("north") == 0
    assert not ledger.renew(again)
    assert ledger.claim() is False


def test_a_slow_chunk_keeps_its_claim_and_ends_with_its_job(
    queued: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between pieces that take long the claim is renewed; where the job was cancelled meanwhile, no more is planned."""
    queue, planned = queued.app_state["queue"], list[int]()
    specs = [DEMO | {"structure": {"bays": bays, "bay_spacing": "4 ft"}} for bays in range(10, 30)]
    job = job_of(queued, b"\n".join(json.dumps(spec).encode() for spec in specs * 2))
    name = job.rpartition("/")[2]
    todo = f"shin-wall:jobs:{name}:todo"

    def slow(chunk: bytes) -> bytes:
        planned.append(len(json.loads(chunk)["structures"]))
        if len(planned) == 2:  # one renewal has been
            assert queue.ledger.server.zscore(todo, 0) > queue.ledger.now() + LEASE - 5
            queue.ledger.cancel("open", name)
        else:
            queue.ledger.server.zadd(todo, {"0": queue.ledger.now() + 1})
        return b"\n".join([str(LEASE).encode(), *([b"\t{}"] * planned[-1])])

    monkeypatch.setattr("service.batch.queue.plan_chunk", slow)
    queue.plan_next()
    assert planned == [8, 8]  # of 20, each there twice
    assert queued.get(job).json()["done"] == 0


def test_what_ends_its_worker_again_and_again_is_set_aside_and_told(queued: TestClient) -> None:
    """Structures of a chunk, and an order, that were claimed as often as may be have a problem in their place; the job ends."""
    queue, kind = queued.app_state["queue"], {"content-type": "application/jsonl"}
    answer = queued.post("/v1/jobs?combine=true", content=json.dumps(DEMO), headers=kind)
    job = answer.headers["location"]
    todo = f"shin-wall:jobs:{job.rpartition('/')[2]}:todo"
    for chunk in range(2):
        for _ in range(ATTEMPTS):
            claim = queue.ledger.claim()
            assert claim.number == chunk
            queue.ledger.server.zadd(todo, {str(chunk): 0})  # its worker was not heard of again
        queue.plan_next()
    line, order, last = [json.loads(line) for line in queued.get(f"{job}/results").iter_lines()]
    assert line["problem"]["code"] == "batch.chunk_set_aside"
    assert order["combined"]["problem"]["code"] == "batch.order_set_aside"
    assert (last["summed_up"]["state"], last["summed_up"]["refused"]) == ("done", 1)


def test_dealers_take_turns_and_so_do_their_jobs(server: RealServer) -> None:
    """A dealer with three jobs is served as often as one with a single one; jobs of a dealer that come later wait for none to end."""
    ledger = Ledger(server.address.url, "test", 600)
    owners = {}
    for dealer in ("many", "many", "many", "one"):
        job = ledger.begin(dealer)
        owners[job] = dealer
        for number in range(4):
            ledger.add(job, number, {"lines": [{}]}, {})
        ledger.start(dealer, job)
    assert ledger.waiting() == 16
    served = [claim.job for _ in range(8) if isinstance(claim := ledger.claim(), Claim)]
    assert Counter(map(owners.__getitem__, served)) == {"many": 4, "one": 4}
    assert len(set(served[:6])) == 4  # of the first three of many each is another job
    left = [claim.job for _ in range(8) if isinstance(claim := ledger.claim(), Claim)]
    assert set(map(owners.__getitem__, left)) == {"many"}  # nobody waits for who has nothing


@pytest.fixture
def queued(server: RealServer) -> Iterator[TestClient]:
    """Connect a client to a service with a queue and no workers."""
    app = create_app(Settings(log_level="ERROR", queue_url=server.address.url, planners=1))
    with TestClient(app, base_url=LOOPBACK) as client:
        yield client


def worked(client: TestClient, body: bytes, key: dict[str, str], query: str = "") -> list[dict[str, Any]]:
    """Send a job, be its worker, and read its results."""
    kind = {"content-type": "application/jsonl"}
    job = client.post(f"/v1/jobs{query}", content=body, headers=key | kind).headers["location"]
    while client.get(job, headers=key).json()["state"] != "done":
        client.app_state["queue"].plan_next()
    return [json.loads(line) for line in client.get(f"{job}/results", headers=key).iter_lines()]


def test_a_job_is_priced_at_the_tiers_of_its_key_as_a_batch_is(queued: TestClient) -> None:
    """A bound key's line at another's prices is refused in the same words; the rest costs the same."""
    keys, dealer = Keys(queued), "jobs-of-two-tiers"
    every, bound = keys.issue(dealer), keys.issue(dealer, tiers=("growers-group",))
    document = queued.get("/v1/catalogs/demo").json()
    queued.put("/v1/catalogs/demo", json=document, headers=every | {"if-none-match": "*"})
    own, theirs = (
        DEMO | {"pricing": {"tier": tier, "date": "2026-03-01"}} for tier in ("growers-group", "schools")
    )
    body = b"\n".join(json.dumps(spec).encode() for spec in (theirs, own))
    for key, statuses in ((every, [200, 200]), (bound, [422, 200])):
        *lines, _ = worked(queued, body, key)
        assert [line["status"] for line in lines] == statuses
        batch = queued.post("/v1/batches", content=body, headers=key | {"content-type": "application/jsonl"})
        assert lines == [json.loads(line) for line in batch.iter_lines()][:-1]


def test_a_job_ends_in_the_order_of_a_batch(queued: TestClient) -> None:
    """The same lines, and the same order before the last; a list too long for an order is refused at once."""
    kind = {"content-type": "application/jsonl"}
    random = Random(22)  # noqa: S311  # reproducible structures, no secrets
    specs = [make_spec(random, f"{number}") for number in range(12)]
    body = b"\n".join([b"nonsense", *(json.dumps(spec).encode() for spec in specs)])
    *lines, _ = worked(queued, body, {}, "?combine=true")
    batch = queued.post("/v1/batches?combine=true", content=body, headers=kind)
    assert lines == [json.loads(line) for line in batch.iter_lines()][:-1]
    assert (lines[-1]["combined"]["status"], lines[-1]["combined"]["left_out"]) == (200, 1)
    refused = queued.post("/v1/jobs?combine=true", content=b"{}\n" * 501, headers=kind)
    assert (refused.status_code, refused.json()["type"].rpartition("/")[2]) == (422, "too-much-work")
    assert queued.app_state["queue"].ledger.running("open") == 0


def test_an_order_is_made_when_every_structure_is_done(server: RealServer) -> None:
    """Its chunk is handed out last, and only when no other is in hand."""
    ledger = Ledger(server.address.url, "test", 600)
    job = ledger.begin("north")
    for number in range(2):
        ledger.add(job, number, {"lines": [{}]}, {})
    ledger.add(job, 2, {"lines": [], "order": {}}, {})
    ledger.start("north", job)
    for number in range(2):
        assert ledger.claim() == Claim(job=job, number=number, attempt=1)
    for number in range(2):
        assert ledger.claim() is True
        ledger.finish(job, number, b"", Counter(done=1))
    assert ledger.claim() == Claim(job=job, number=2, attempt=1)


def test_results_that_would_be_more_than_a_job_may_hold_are_refused_one_by_one(queued: TestClient) -> None:
    """What has room stays; what has none says so, and the job comes to its end."""
    queue, kind = queued.app_state["queue"], {"content-type": "application/jsonl"}
    random = Random(23)  # noqa: S311  # reproducible structures, no secrets
    body = b"\n".join(json.dumps(make_spec(random, f"{number}")).encode() for number in range(3))
    queue.ledger.server.set("shin-wall:jobs-pace", 1)  # a structure takes a second: chunks are of two
    job = queued.post("/v1/jobs?parts=layout", content=body, headers=kind).headers["location"]
    queue.plan_next()
    held = int(queue.ledger.server.hget(f"shin-wall:jobs:{job.rpartition('/')[2]}", "bytes"))
    queue._most = held + 500  # noqa: SLF001  # less than the settings allow
    while queued.get(job).json()["state"] != "done":
        queue.plan_next()
    lines = [json.loads(line) for line in queued.get(f"{job}/results").iter_lines()][:-1]
    assert [line["index"] for line in lines] == [0, 1, 2]
    assert [line["status"] for line in lines] == [200, 200, 409]


def test_a_key_is_limited_in_structures_whatever_carries_them(queued: TestClient) -> None:
    """Four structures at two a second take a second, as one job; a batch after it waits its time; another key does not."""
    keys = Keys(queued)
    slow, other = keys.issue("north", structures=RateLimit(units=2, window_s=1)), keys.issue("south")
    kind, body = {"content-type": "application/jsonl"}, b"{}\n{}\n"
    began = time.monotonic()
    queued.post("/v1/jobs", content=body + body, headers=slow | kind)
    assert time.monotonic() - began > 0.9
    queued.post("/v1/batches", content=body, headers=slow | kind)
    assert time.monotonic() - began > 1.9
    began = time.monotonic()
    for path in ("/v1/jobs", "/v1/batches"):
        queued.post(path, content=body * 2, headers=other | kind)
    assert time.monotonic() - began < 0.9
