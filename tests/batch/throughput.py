"""How fast a bid list is planned, beside other ways to plan it, and what a shopper feels of it: one run, in turns.

Run `python -m tests.batch.throughput --lines 1000`. The same never-seen structures (`service.bench_specs`), each way with
processes of its own that have not seen them, so that nothing is remembered from one way to the next:

- pool: a bare pool of as many processes as there are processors plans them, no service at all;
- stream: one service with as many planners answers `POST /v1/batches`; sending and reading included;
- jobs: as many workers plan them from a queue; receiving and waiting for the last included;
- single: the same service answers each as a request of its own, 4 callers, summary only.

Beside each rate stands what a structure took of the processors in all processes together, the client included: on a machine
that others use too, planners step behind them and the rate says little. Then what a line takes of a whole plan's time, what a shopper waits for a plan on the idle service and beside a batch, the
service's memory along the stream, and whether lines equal single requests. Nothing is judged.
"""

import argparse
import asyncio
import json
import multiprocessing
import os
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack, closing, contextmanager
from http.client import HTTPConnection
from pathlib import Path
from random import Random
from statistics import median
from typing import Any, Final

import orjson

from service.batch.planner import Wanted, begin, plan_chunk
from service.bench_specs import make_spec
from service.planner.answer.shapes import PARTS, Part
from service.planner.writing import ENGLISH
from service.settings import Settings
from tests.batch.fleet import KEEPING, workers
from tests.load.client import Connection
from tests.load.running import ROOT, Running, processor_seconds, service
from tests.store.support import RealServer, free_port

TURNS: Final = 4
"""Into how many turns the list is divided, so that all ways meet the same weather [-]"""
CHUNK: Final = 16
"""Structures that a process of the bare pool is given at a time [-]"""
CALLERS: Final = 4
"""Callers of single requests [-]"""
SHOPPED: Final = 100
"""Plans that the shopper asks for, idle and beside a batch each [-]"""
SAMPLED: Final = 200
"""Lines that are compared with single requests at most [-]"""
JSON_LINES: Final = {"content-type": "application/jsonl"}
CATALOG: Final = (ROOT / "service" / "store" / "catalogs" / "demo.json").read_text(encoding="utf-8")
MEBIBYTE: Final = 2**20


def chunk_of(specs: Sequence[Any], parts: tuple[Part, ...] = ("summary",)) -> bytes:
    """Write structures as a planner reads them."""
    wanted = Wanted(parts=parts, language=ENGLISH, units=Settings.model_fields["line_units"].default)
    asked = {"wanted": wanted.as_values(), "catalogs": [["demo", "r", CATALOG]]}
    return orjson.dumps(asked | {"structures": [[0, json.dumps(spec)] for spec in specs]})


def in_chunks(specs: Sequence[Any]) -> Iterator[Sequence[Any]]:
    """Divide a list into the chunks of the bare pool."""
    return (specs[begin : begin + CHUNK] for begin in range(0, len(specs), CHUNK))


@contextmanager
def pool(processes: int) -> Iterator[ProcessPoolExecutor]:
    """Start processes that have everything loaded and have planned one structure each."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["service.batch.forked"])
    with ProcessPoolExecutor(processes, mp_context=context, initializer=begin) as started:
        first = chunk_of([make_spec(Random(0), "")])  # noqa: S311  # as below
        list(started.map(plan_chunk, [first] * processes * 4))
        yield started


def ask(port: int, method: str, path: str, body: bytes = b"") -> tuple[str | None, bytes]:
    """Send a request and give where it points to and its content."""
    with closing(HTTPConnection("127.0.0.1", port, timeout=3600)) as connection:
        connection.request(method, path, body, JSON_LINES if body else {})
        answer = connection.getresponse()
        assert answer.status < 300, answer.read()
        return answer.headers["location"], answer.read()


def listed(specs: Sequence[Any]) -> bytes:
    """Write a bid list."""
    return b"\n".join(map(orjson.dumps, specs))


def stream(port: int, specs: Sequence[Any]) -> list[Any]:
    """Send a list and read its lines."""
    *lines, last = map(orjson.loads, ask(port, "POST", "/v1/batches", listed(specs))[1].splitlines())
    assert last["summed_up"]["structures"] == len(lines) == len(specs)
    return lines


def job(port: int, specs: Sequence[Any]) -> None:
    """Send a list as a job and wait until it is done."""
    location, _ = ask(port, "POST", "/v1/jobs", listed(specs))
    assert location is not None
    while (told := orjson.loads(ask(port, "GET", location)[1]))["state"] != "done":
        time.sleep(0.05)
    assert told["done"] == told["structures"] == len(specs)


async def single(
    port: int, specs: Sequence[Any], callers: int, query: str = "?parts=summary"
) -> dict[int, tuple[float, Any]]:
    """Ask for plans one by one; gives how long each took [s] and its summary."""
    found, queue = dict[int, tuple[float, Any]](), iter(enumerate(specs))

    async def call() -> None:
        with closing(Connection(port)) as connection:
            for at, spec in queue:
                reply = await connection.ask(
                    "POST", f"/v1/plans{query}", {"Content-Type": "application/json"}, orjson.dumps(spec)
                )
                found[at] = reply.seconds, orjson.loads(reply.body).get("summary")

    await asyncio.gather(*(call() for _ in range(callers)))
    return found


def processes(top: int) -> list[int]:
    """List a process and all below it."""
    found = [top]
    for pid in found:  # grows while it is walked
        found += map(int, Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii").split())
    return found


def memory(running: Running) -> tuple[float, float]:
    """Tell the memory of the process that answers, and of all together, what they share counted once [MiB]."""
    sizes = []
    for pid in processes(running.process.pid):
        rows = Path(f"/proc/{pid}/smaps_rollup").read_text(encoding="ascii").splitlines()
        sizes.append(int(next(row for row in rows if row.startswith("Pss:")).split()[1]) / 1024)
    return sizes[0], sum(sizes)


def used() -> float:
    """Tell what this process and all below it, which are service, workers, queue and pool, have used of the processors [s]."""
    return sum(map(processor_seconds, processes(os.getpid())))


class Rates:
    """Structures, seconds and seconds of processor of each way."""

    def __init__(self) -> None:
        self._found: dict[str, list[tuple[int, float, float]]] = defaultdict(list)

    @contextmanager
    def timed(self, way: str, structures: int) -> Iterator[None]:
        """Time a turn."""
        began, before = time.perf_counter(), used()
        yield
        self._found[way].append((structures, time.perf_counter() - began, used() - before))

    def lines(self) -> Iterator[str]:
        """Write the rates, and their shares of the bare pool's."""
        sums = {way: [sum(turn) for turn in zip(*turns, strict=True)] for way, turns in self._found.items()}
        rate, work = ({way: held[0] / held[at] for way, held in sums.items()} for at in (1, 2))
        for way in sums:
            yield (
                f"{way:8} {rate[way]:7.1f} structures a second, {rate[way] / rate['pool']:.2f} of the bare pool; "
                f"{1000 / work[way]:5.1f} ms of processor each, {work[way] / work['pool']:.2f} of it for the same"
            )


def rates(running: Running, bare: ProcessPoolExecutor, specs: Sequence[Any]) -> Iterator[str]:
    """Plan the list every way, in turns, and compare the lines of the stream with single requests."""
    found, compared, wrong = Rates(), 0, 0
    for turn in range(TURNS):
        own = specs[turn::TURNS]
        with found.timed("pool", len(own)):
            list(bare.map(plan_chunk, [chunk_of(some) for some in in_chunks(own)]))
        with found.timed("stream", len(own)):
            lines = stream(running.port, own)
        with found.timed("jobs", len(own)):
            job(running.port, own)
        with found.timed("single", len(own)):
            answers = asyncio.run(single(running.port, own, CALLERS))
        step = max(1, len(own) * TURNS // SAMPLED)
        for at in range(0, len(own), step):
            compared += 1
            wrong += lines[at].get("summary") != answers[at][1]
    yield from found.lines()
    yield f"{compared} lines compared with single requests, {wrong} differ"


def shares(specs: Sequence[Any]) -> Iterator[str]:
    """Plan the same structures as lines and as whole plans, each in a process of its own, in turns."""
    ways: tuple[tuple[Part, ...], ...] = (("summary",), PARTS)
    with pool(1) as one, pool(1) as other:
        used = [-process.submit(time.process_time).result() for process in (one, other)]
        for some in in_chunks(specs):
            for parts, process in zip(ways, (one, other), strict=True):
                process.submit(plan_chunk, chunk_of(some, parts)).result()
        for at, process in enumerate((one, other)):
            used[at] += process.submit(time.process_time).result()
    line, whole = (1000 * seconds / len(specs) for seconds in used)
    yield f"summary and total {line:.2f} ms of processor, whole plan {whole:.2f} ms: share {line / whole:.2f}"


def shopper(running: Running, specs: Sequence[Any], beside: Sequence[Any]) -> Iterator[str]:
    """Ask for whole plans one after another, on the idle service and beside a batch."""
    medians = []
    for busy in (False, True):
        own = specs[busy::2]
        batch = threading.Thread(target=stream, args=(running.port, beside))
        if busy:
            batch.start()
            time.sleep(0.5)
        waits = [seconds for seconds, _ in asyncio.run(single(running.port, own, 1, "")).values()]
        if busy:
            assert batch.is_alive(), "the batch was over before the shopper was"
            batch.join()
        medians.append(1000 * median(waits))
    yield (
        f"a shopper's plan: median {medians[0]:.1f} ms idle, {medians[1]:.1f} ms beside a batch: "
        f"{medians[1] / medians[0]:.1f} times"
    )


def curve(running: Running, specs: Sequence[Any]) -> Iterator[str]:
    """Watch the memory while a list is streamed."""
    samples, streaming = (
        list[tuple[float, float]](),
        threading.Thread(target=stream, args=(running.port, specs)),
    )
    streaming.start()
    while streaming.is_alive():
        samples.append(memory(running))
        time.sleep(0.2)
    streaming.join()
    step = max(1, len(samples) // 10)
    told = ", ".join(f"{own:.0f}/{together:.0f}" for own, together in samples[::step])
    yield f"memory along a stream of {len(specs)}, answering/all processes [MiB]: {told}"


def figures(lines: int) -> Iterator[str]:
    """Measure everything."""
    random, number = Random(20261128), os.cpu_count() or 1  # noqa: S311  # reproducible structures, no secrets

    def specs(count: int) -> list[Any]:
        return [make_spec(random, f"{at}") for at in range(count)]

    yield f"{lines} structures, {number} processors, load average {os.getloadavg()[0]:.1f}"
    yield from shares(specs(min(lines, 400)))
    limits = {"STRUCTURE_LIMIT": "100000000", "PLANNERS": str(number)}
    with ExitStack() as held:
        server = RealServer(*KEEPING)
        server.start()
        held.callback(server.close)
        running = held.enter_context(service(free_port(), {"QUEUE_URL": server.address.url, **limits}))
        bare = held.enter_context(pool(number))
        held.enter_context(workers(server, number))
        few = specs(4 * number)
        stream(running.port, few)
        job(running.port, few)  # planners and workers are there
        yield from rates(running, bare, specs(lines))
    with service(free_port(), limits) as running:
        yield from curve(running, specs(lines))
        yield from shopper(running, specs(2 * SHOPPED), specs(max(lines, 2000)))
    yield f"load average at the end {os.getloadavg()[0]:.1f}"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--lines", type=int, default=1000)
    for line in figures(parser.parse_args().lines):
        sys.stdout.write(line + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
