"""A job on a fleet of workers of which some are killed in the middle, its queue's server restarted: is every line there, once?

Run `python -m tests.batch.fleet --lines 10000` for what one structure takes of the queue's server; the tests run it small.
Lines and sums are compared with those of a batch of the same list, which no worker and no queue takes part in.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any, Final

import httpx2

from service.bench_specs import make_spec
from tests.load.running import ROOT, service
from tests.store.support import RealServer, free_port

KEEPING: Final = ("--appendonly", "yes", "--appendfsync", "always", "--maxmemory-policy", "noeviction")
"""Options of a server that keeps what it is given, as in deploy/cluster/queue.conf"""


def worker(server: RealServer) -> subprocess.Popen[bytes]:
    """Start a worker."""
    environment = {
        "PATH": os.environ["PATH"],
        "PYTHONPATH": str(ROOT),
        "SHIN_WALL_QUEUE_URL": server.address.url,
    }
    return subprocess.Popen(
        [sys.executable, "-m", "service", "work"], cwd=ROOT, env=environment, stderr=subprocess.DEVNULL
    )


@contextmanager
def workers(server: RealServer, number: int) -> Iterator[list[subprocess.Popen[bytes]]]:
    """Run workers for a while."""
    started = [worker(server) for _ in range(number)]
    try:
        yield started
    finally:
        for one in started:
            one.kill()
            one.wait()


def job_of(client: httpx2.Client, body: bytes, kind: str = "application/jsonl") -> str:
    """Send a list as a job and give its address."""
    answer = client.post("/v1/jobs", content=body, headers={"content-type": kind})
    assert answer.status_code == 202, answer.text
    return str(answer.headers["location"])


def until(client: httpx2.Client, job: str, done: int | None, within: float) -> dict[str, Any]:
    """Wait until so many structures of a job are done, or all."""
    deadline = time.monotonic() + within
    while time.monotonic() < deadline:
        told: dict[str, Any] = client.get(job).json()
        if told.get("state") == "done" or (done is not None and told.get("done", 0) >= done):
            return told
        time.sleep(0.05)
    raise AssertionError(told)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the queue's server has to bear."""

    memory: int
    """What it holds [B]"""
    received: int
    """What it was sent since it started [B]"""
    sent: int
    """What it sent since it started [B]"""
    disk: int
    """What its log takes on the disk [B]"""


def load(server: RealServer) -> Load:
    """Ask the server."""
    with server.client() as client:
        told: dict[str, Any] = client.info()
    files = Path(server.folder.name).rglob("*.aof")
    return Load(
        memory=told["used_memory"],
        received=told["total_net_input_bytes"],
        sent=told["total_net_output_bytes"],
        disk=sum(file.stat().st_size for file in files),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Ran:
    """What came of a run."""

    told: dict[str, Any]
    """The job at its end"""
    lines: list[Any]
    """Its results"""
    expected: list[Any]
    """The lines of a batch of the same list"""
    loads: list[Load]
    """The server empty, with the job received, before its restart, and when the job was done"""
    chunks: int
    """Chunks of the job [-]"""


def run(structures: int, number: int = 4, victims: int = 2, within: float = 120.0) -> Ran:
    """Run a job of so many lines, one of them nonsense; workers are killed and the server restarted when an eighth is done."""
    random = Random(11)  # noqa: S311  # reproducible structures, no secrets
    specs = (json.dumps(make_spec(random, f"{at}")).encode() for at in range(structures - 1))
    body = b"\n".join([*specs, b"nonsense"])
    with ExitStack() as held:
        server = RealServer(*KEEPING)
        server.start()
        held.callback(server.close)
        settings = {"QUEUE_URL": server.address.url, "STRUCTURE_LIMIT": "100000000"}
        running = held.enter_context(service(free_port(), settings))
        client = held.enter_context(httpx2.Client(base_url=f"http://127.0.0.1:{running.port}", timeout=3600))
        loads = [load(server)]
        job = job_of(client, body)
        loads.append(load(server))
        fleet = held.enter_context(workers(server, number))
        until(client, job, structures // 8, within)
        for victim in fleet[:victims]:
            victim.kill()
        loads.append(load(server))
        server.kill()
        server.start()
        told = until(client, job, None, within)
        loads.append(load(server))
        lines = [json.loads(line) for line in client.get(f"{job}/results").iter_lines()]
        batch = client.post("/v1/batches", content=body, headers={"content-type": "application/jsonl"})
        with server.client() as asked:
            chunks = int(asked.hget(f"shin-wall:jobs:{told['id']}", "chunks") or 0)
        expected = [json.loads(line) for line in batch.iter_lines()]
        return Ran(told=told, lines=lines, expected=expected, loads=loads, chunks=chunks)


def check(ran: Ran, structures: int) -> None:
    """Insist on every line, once, and as a batch gives it."""
    told, (*lines, last), (*expected, summed) = ran.told, ran.lines, ran.expected
    assert (told["structures"], told["done"], told["refused"]) == (structures, structures, 1)
    assert [line["index"] for line in lines] == list(range(structures))
    assert lines == expected
    for name in ("structures", "planned", "refused", "totals", "outcomes"):
        assert last["summed_up"][name] == summed["summed_up"][name]


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lines", type=int, default=1000)
    lines = parser.parse_args().lines
    began = time.perf_counter()
    ran = run(lines, within=3600)
    check(ran, lines)
    empty, received, before, after = ran.loads
    told = [
        f"{lines} lines on four workers, two killed, server restarted: nothing lost, nothing twice, as a batch",
        f"{ran.told['rate_per_s']} a second, {ran.chunks} chunks, {lines / ran.chunks:.0f} lines each",
        f"held when received: {(received.memory - empty.memory) / lines:.0f} B a line; when done: {(after.memory - empty.memory) / lines:.0f} B",
        f"disk {after.disk / lines:.0f} B a line",
        f"received {(before.received - empty.received + after.received) / lines:.0f} B a line",
        f"sent {(before.sent - empty.sent + after.sent) / lines:.0f} B a line",
        f"{time.perf_counter() - began:.0f} s in all",
    ]
    sys.stdout.write("\n".join(told) + "\n")


if __name__ == "__main__":
    main()
