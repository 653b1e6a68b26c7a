"""Jobs on a real queue server: nothing lost and nothing twice, whoever dies; a dealer's jobs are its own."""

import json
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from random import Random
from typing import Any

import httpx2
import pytest

from service.batch.ledger import Claim, Ledger
from service.bench_specs import make_spec
from tests.load.running import ROOT, service
from tests.store.support import RealServer, free_port

STRUCTURES = 120


@pytest.fixture
def server() -> Iterator[RealServer]:
    """Start a server that keeps what it is given."""
    started = RealServer("--appendonly", "yes", "--appendfsync", "always", "--maxmemory-policy", "noeviction")
    started.start()
    yield started
    started.close()


def worker(server: RealServer) -> subprocess.Popen[bytes]:
    """Start a worker."""
    environment = {
        "PATH": "/usr/bin:/bin",
        "PYTHONPATH": str(ROOT),
        "SHIN_WALL_QUEUE_URL": server.address.url,
    }
    return subprocess.Popen(
        [sys.executable, "-m", "service", "work"], cwd=ROOT, env=environment, stderr=subprocess.DEVNULL
    )


def job_of(client: httpx2.Client, body: bytes, kind: str = "application/jsonl") -> str:
    """Send a list as a job and give its address."""
    answer = client.post("/v1/jobs", content=body, headers={"content-type": kind})
    assert answer.status_code == 202, answer.text
    return str(answer.headers["location"])


def until(client: httpx2.Client, job: str, state: str, within: float = 120.0) -> dict[str, Any]:
    """Wait until a job is in a state."""
    deadline = time.monotonic() + within
    while time.monotonic() < deadline:
        told: dict[str, Any] = client.get(job).json()
        if told.get("state") == state:
            return told
        time.sleep(0.2)
    raise AssertionError(told)


def test_nothing_is_lost_and_nothing_counts_twice_when_workers_and_the_server_die(server: RealServer) -> None:
    """Two of three workers are killed in the middle and the server is restarted; every line is there once, as a batch gives it."""
    random = Random(11)  # noqa: S311  # reproducible structures, no secrets
    specs = [make_spec(random, f"{number}") for number in range(STRUCTURES - 1)]
    body = b"\n".join([*(json.dumps(spec).encode() for spec in specs), b"nonsense"])
    with ExitStack() as held:
        running = held.enter_context(service(free_port(), {"QUEUE_URL": server.address.url, "PLANNERS": "1"}))
        client = held.enter_context(httpx2.Client(base_url=f"http://127.0.0.1:{running.port}", timeout=60))
        workers = [worker(server) for _ in range(3)]
        try:
            job = job_of(client, body)
            while client.get(job).json()["done"] < STRUCTURES // 8:
                time.sleep(0.05)
            for victim in workers[:2]:
                victim.kill()
            server.kill()
            server.start()
            told = until(client, job, "done")
        finally:
            for one in workers:
                one.kill()
                one.wait()
        assert (told["structures"], told["done"], told["refused"]) == (STRUCTURES, STRUCTURES, 1)
        *lines, last = [json.loads(line) for line in client.get(f"{job}/results").iter_lines()]
        assert [line["index"] for line in lines] == list(range(STRUCTURES))
        batch = client.post("/v1/batches", content=body, headers={"content-type": "application/jsonl"})
        *expected, summed = [json.loads(line) for line in batch.iter_lines()]
        assert lines == expected
        for name in ("structures", "planned", "refused", "totals", "outcomes"):
            assert last["summed_up"][name] == summed["summed_up"][name]


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
    assert ledger.claim(job) is False  # still being sent
    ledger.start(job)
    assert ledger.claim(job) == Claim(number=0, attempt=1)
    assert ledger.claim(job) is True  # in other hands
    ledger.server.zadd(f"test:jobs:{job}:todo", {"0": 0})  # its time is over
    assert ledger.claim(job) == Claim(number=0, attempt=2)
    assert ledger.told("south", job) is None
    assert ledger.finish(job, 0, b"first\n", Counter(done=1))
    assert not ledger.finish(job, 0, b"second\n", Counter(done=1))
    assert ledger.result(job, 0) == b"first\n"
    told = ledger.told("north", job)
    assert told is not None
    assert (told["done"], told["state"]) == ("1", "done")
    assert ledger.running("north") == 0
