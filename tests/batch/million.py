"""What a million structures take of the queue's server, by simulation: real server, ledger, lines and answers, no planning.

Run `python -m tests.batch.million --chunks 500`. Workers that plan nothing claim chunks and finish them with
answers that were planned before; so the server and the ledger are all that is measured. With the time that a structure takes on a
worker (`--milliseconds`, as `tests.batch.throughput` measures it for jobs), it prints what follows.
"""

import argparse
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from random import Random
from typing import Any, Final

import orjson

from service.batch.ledger import Claim, Ledger
from service.batch.planner import Wanted, plan_chunk
from service.batch.queue import answered
from service.batch.receiving import CHUNK_SECONDS, LONGEST_CHUNK
from service.bench_specs import make_spec
from service.planner.writing import ENGLISH
from tests.batch.fleet import KEEPING, load
from tests.load.running import ROOT
from tests.store.support import RealServer

MILLION: Final = 1_000_000
WANTED: Final = Wanted(parts=("summary",), language=ENGLISH, units=1_000_000)
THREADS: Final = 8
"""Workers that plan nothing [-]"""


def planned(structures: int) -> tuple[dict[str, Any], bytes, Counter[str]]:
    """Make a chunk as it is received, and what comes out of it."""
    random = Random(13)  # noqa: S311  # reproducible structures, no secrets
    bodies = [orjson.dumps(make_spec(random, "")).decode() for _ in range(structures)]
    lines: list[dict[str, Any]] = [
        {
            "head": {
                "index": at,
                "row": at + 2,
                "id": f"N-{at}",
                "reference": f"{random.getrandbits(32):08x}",
            },
            "body": body,
            "revision": "r",
            "refused": None,
        }
        for at, body in enumerate(bodies)
    ]
    chunk = {"lines": lines, "wanted": WANTED.as_values()}
    catalog = (ROOT / "service" / "store" / "catalogs" / "demo.json").read_text(encoding="utf-8")
    asked = {
        "wanted": WANTED.as_values(),
        "catalogs": [["demo", "r", catalog]],
        "structures": [[0, body] for body in bodies],
    }
    return chunk, *answered(chunk, plan_chunk(orjson.dumps(asked)).split(b"\n")[1:])


def work(ledger: Ledger, structures: int, content: bytes, counts: Counter[str]) -> None:
    """Do all that a worker does but planning, until nothing is left."""
    while isinstance(claim := ledger.claim(), Claim):
        ledger.chunk(claim.job, claim.number)
        ledger.note_pace(CHUNK_SECONDS, structures)
        ledger.finish(claim.job, claim.number, content, counts)


def figures(chunks: int, milliseconds: float) -> Iterator[str]:
    """Measure the server and work out what follows."""
    structures = max(1, min(LONGEST_CHUNK, int(1000 * CHUNK_SECONDS / milliseconds)))
    chunk, content, counts = planned(structures)
    with closing(RealServer(*KEEPING)) as server:
        server.start()
        ledgers = [Ledger(server.address.url, "million", 3600) for _ in range(THREADS)]
        empty, job, began = load(server), ledgers[0].begin("north"), time.perf_counter()
        for number in range(chunks):
            ledgers[0].add(job, number, chunk, {})
        receiving, received = time.perf_counter() - began, load(server)
        ledgers[0].start("north", job)
        threads = [
            threading.Thread(target=work, args=(ledger, structures, content, counts)) for ledger in ledgers
        ]
        began = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        working, done = time.perf_counter() - began, load(server)
        for ledger in ledgers:
            ledger.server.close()
    lines, rate = chunks * structures, chunks / working
    yield f"{chunks} chunks of {structures} structures: received at {lines / receiving:.0f} structures a second by the ledger"
    yield f"the server bears {rate:.0f} chunks a second: as many as {rate * structures * milliseconds / 1000:.0f} workers plan"
    for name, amount in (
        ("memory when received", received.memory - empty.memory),
        ("memory when done", done.memory - empty.memory),
        ("log on the disk", done.disk),
        ("sent to the server", done.received - empty.received),
        ("sent by the server", done.sent - empty.sent),
    ):
        yield f"{name}: {amount / lines:.0f} B a structure, {amount / lines * MILLION / 2**20:.0f} MiB a million"
    for workers in (2, 8, 32, 64):
        yield f"{workers} workers: {MILLION * milliseconds / 60_000 / workers:.0f} minutes"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--chunks", type=int, default=500)
    parser.add_argument("--milliseconds", type=float, default=10)
    chosen = parser.parse_args()
    for line in figures(chosen.chunks, chosen.milliseconds):
        sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main()
