"""Jobs on the queue engine: tokens go round, and each time one comes to a worker, a chunk is planned.

Rules of this file
------------------
- A token says nothing: it is a worker's call to the ledger, which knows whose turn it is. A long job never stands before a
  short one with all its chunks, and a dealer with many jobs never before one with few.
- The engine delivers a token again when the worker that held it dies; the ledger sees to it that nothing counts twice.
- A chunk is planned piece by piece, and its claim renewed when that takes long, so that slow structures are not taken for a dead worker.
- Equal structures of a chunk are planned once.
- A chunk that ended its worker several times is set aside: its structures are answered with a problem.
"""

from collections import Counter
from decimal import Decimal
from functools import lru_cache
from math import nan
from typing import Any, Final

import dramatiq
import orjson
from dramatiq.brokers.redis import RedisBroker
from dramatiq.middleware import AgeLimit, Retries, ShutdownNotifications, TimeLimit
from redis.exceptions import RedisError

from service.api.problems import Problem
from service.batch import writing
from service.batch.combining import combined, not_combined
from service.batch.ledger import ATTEMPTS, LEASE, Claim, JobFull, Ledger
from service.batch.planner import Wanted, plan_chunk, refused
from service.planner.messages import say

TOKENS: Final = 64
"""Tokens that a job sends round at most: workers that it keeps busy when it is alone [-]"""
ORDER_LEASE: Final = 180
"""How long an order, which is made in one piece, is left to whoever claimed it [s]"""
PIECE: Final = 8
"""Structures that are planned between two looks at the time [-]"""
QUEUE: Final = "shin-wall"
_MINUTE: Final = 60_000
"""A minute [ms]"""


class Queue:
    """The queue of jobs.

    Parameters
    ----------
    url
        Where its server is.
    prefix
        What the names of all keys begin with.
    lifetime
        How long a job and its results are kept [s].
    most
        What a job may hold, its results included [B].
    """

    def __init__(self, url: str, prefix: str, lifetime: int, most: int) -> None:
        self._most = most
        self.ledger = Ledger(url, prefix, lifetime)
        self.broker = RedisBroker(  # type: ignore[no-untyped-call]  # the engine's types end here
            url=url,
            namespace=f"{prefix}:queue",
            heartbeat_timeout=LEASE * 1000 // 2,
            maintenance_chance=1_000_000,
            middleware=[AgeLimit(), TimeLimit(time_limit=10 * _MINUTE), ShutdownNotifications(), Retries()],
        )
        actor = dramatiq.actor(
            broker=self.broker,
            actor_name="plan_next",
            queue_name=QUEUE,
            max_retries=10_000,
            min_backoff=500,
            max_backoff=5_000,
        )
        self._plan_next = actor(self.plan_next)

    def start(self, dealer: str, job: str, chunks: int) -> None:
        """Let workers begin with a job."""
        self.ledger.start(dealer, job)
        for _ in range(min(TOKENS, chunks)):
            self._plan_next.send()

    def waiting(self) -> float:
        """Count the chunks that are not finished; no number while the server does not answer [-]."""
        try:
            return self.ledger.waiting()
        except RedisError:
            return nan

    def close(self) -> None:
        """Let go of the server."""
        self.broker.close()
        self.broker.client.close()
        self.ledger.server.close()

    def plan_next(self) -> None:
        """Work on the next chunk and send the token on."""
        claim = self.ledger.claim()
        if isinstance(claim, Claim):
            self._work(claim)
            self._plan_next.send()
        elif claim:
            # what is left is in other hands; look again when these could have let go of it
            self._plan_next.send_with_options(delay=LEASE * 1000 // 4)

    def _work(self, claim: Claim) -> None:
        chunk = self.ledger.chunk(claim.job, claim.number)
        made = None if chunk is None else self._made(claim, chunk)
        if chunk is not None and made is not None:
            try:
                self.ledger.finish(claim.job, claim.number, *made, self._most)
            except JobFull:
                self.ledger.finish(claim.job, claim.number, *_without_room(chunk, self._most))

    def _made(self, claim: Claim, chunk: dict[str, Any]) -> tuple[bytes, Counter[str]] | None:
        """Make what comes out of a chunk; None when it was taken away."""
        if "order" in chunk:
            self.ledger.renew(claim, ORDER_LEASE)
            return _order(claim, chunk["order"]), Counter()
        answers = self._answers(claim, chunk)
        return None if answers is None else answered(chunk, answers)

    def _answers(self, claim: Claim, chunk: dict[str, Any]) -> list[bytes] | None:
        """Plan the structures of a chunk, or set it aside where it has ended its worker too often; None when it was taken away."""
        lines = [line for line in chunk["lines"] if line["body"] is not None]
        if claim.attempt > ATTEMPTS:
            ended = Problem(
                "internal-error",
                say(
                    "batch.chunk_set_aside",
                    "The structures of this chunk ended their planner and are set aside.",
                ),
            )
            return [refused(ended, Wanted.read(chunk["wanted"]).language)] * len(lines)
        different = list(dict.fromkeys((line["revision"], line["body"]) for line in lines))
        revisions = list(dict.fromkeys(revision for revision, _ in different))
        asked = {
            "wanted": chunk["wanted"],
            "catalogs": [_catalog(self.ledger, claim.job, revision) for revision in revisions],
        }
        taken, renewed, made = 0.0, 0.0, list[bytes]()
        for begin in range(0, len(different), PIECE):
            if taken - renewed > LEASE / 6:
                renewed = taken
                if not self.ledger.renew(claim):
                    return None
            piece = different[begin : begin + PIECE]
            asked["structures"] = [[revisions.index(revision), body] for revision, body in piece]
            seconds, *answers = plan_chunk(orjson.dumps(asked)).split(b"\n")
            taken += float(seconds)
            made += answers
        self.ledger.note_pace(taken, len(lines))
        known = dict(zip(different, made, strict=True))
        return [known[line["revision"], line["body"]] for line in lines]


def _without_room(chunk: dict[str, Any], most: int) -> tuple[bytes, Counter[str]]:
    """Say in place of a chunk's answers that the job holds as much as it may."""
    full = Problem(
        "limit-reached",
        say("job.full", "The results of this job hold {most} bytes already: ask for fewer parts.", most=most),
    )
    wanted = Wanted.read(chunk.get("order", chunk)["wanted"])
    if "order" in chunk:
        return not_combined(full, wanted), Counter()
    return answered(chunk, [refused(full, wanted.language)] * len(chunk["lines"]))


def _order(claim: Claim, basket: dict[str, Any]) -> bytes:
    """Make the order of a job, or set it aside where it has ended its worker too often."""
    if claim.attempt > ATTEMPTS:
        ended = Problem(
            "internal-error", say("batch.order_set_aside", "This order ended its planner and is set aside.")
        )
        return not_combined(ended, Wanted.read(basket["wanted"]))
    return combined(orjson.dumps(basket))


@lru_cache(maxsize=16)
def _catalog(ledger: Ledger, job: str, revision: str) -> list[str]:
    return ledger.catalog(job, revision)


def answered(chunk: dict[str, Any], answers: list[bytes]) -> tuple[bytes, Counter[str]]:
    """Put a chunk's lines and their answers together.

    Parameters
    ----------
    chunk
        The chunk as the ledger keeps it.
    answers
        Gist, a tab and the answer of each of its structures.

    Returns
    -------
        The lines, and what a job counts: structures done and refused, outcomes, totals in hundredths by currency.
    """
    counts: Counter[str] = Counter()
    coming, lines = iter(answers), []
    for line in chunk["lines"]:
        answer = next(coming) if line["body"] is not None else line["refused"].encode()
        gist, _, content = answer.partition(b"\t")
        counts["done"] += 1
        if gist:
            outcome, total, currency = gist.decode().split()
            counts[f"outcome:{outcome}"] += 1
            counts[f"total:{currency}"] += int(Decimal(total) * 100)
        else:
            counts["refused"] += 1
        lines.append(writing.with_head(line["head"], content))
    return b"".join(lines), counts
