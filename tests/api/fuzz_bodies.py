"""A body fuzzer: good bodies broken in a dozen ways, sent by the thousand.

Run `python -m tests.api.fuzz_bodies --count 1000000`; it starts a service on loopback, sends the bodies over a few
connections, and ends with the number of answers by status and the memory before, half-way and after. It fails when an
answer is a 5xx, is not a problem document where it refuses, or when the memory grows on and on.
"""

import argparse
import asyncio
import json
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

import orjson

from tests.api.live import Live, serving
from tests.api.write_examples import CUTS, PLAN

GROWTH: Final = 64 * 1024 * 1024
"""Memory that may be added between half-way and the end; caches are full by then [B]"""
STALE: Final = 30.0
"""An answer that takes longer is a failure [s]"""
TARGETS: Final = (("/v1/plans", PLAN),) * 6 + (("/v1/cut-lists", CUTS),) * 6 + (("/v1/alternatives", PLAN),)
"""Operations that read a body; those that share one take turns"""
NASTY: Final[tuple[Any, ...]] = (
    None, True, False, 0, -1, 1, 1.5, 1e308, -1e308, 2**63, 2**64, 10**400, "", " ", "0", "1e999", "NaN", "Infinity", "-0", "\u0000",
    "\ud7ff", "５ ft", "5 ft" * 500, "1/0 in", "1/3 in", "'; --", "<script>", "../../etc/passwd", "%s%n", [], {}, [[]], [{}], {"": {}}, ["x"] * 300,
)  # fmt: skip
TOKENS: Final = (
    b"NaN",
    b"Infinity",
    b"1e400",
    b"-1e400",
    b"\\ud800",
    b"\\u0000",
    b"\x00",
    b"\xff",
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b":",
    b'"',
    b"//",
    b"0x1",
    b"1" * 400,
)


def _places(value: Any, steps: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Walk the places of a value."""
    yield steps
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for step, part in inner:
        yield from _places(part, (*steps, step))


def _replaced(value: Any, steps: tuple[Any, ...], new: Any) -> Any:
    if not steps:
        return new
    copy = dict(value) if isinstance(value, dict) else list(value)
    copy[steps[0]] = _replaced(copy[steps[0]], steps[1:], new)
    return copy


def _plain(value: object) -> bytes:
    """Write what orjson refuses, such as integers beyond 64 bits, too."""
    return json.dumps(value).encode()


def nasty_value(chance: random.Random, body: Any) -> bytes:
    """Put a nasty value somewhere."""
    return _plain(_replaced(body, chance.choice(list(_places(body))), chance.choice(NASTY)))


def nasty_member(chance: random.Random, body: Any) -> bytes:
    """Add a member that nobody knows."""
    return _plain(
        {**body, chance.choice(("", "a/b", "~", "structuer", "__proto__", "x" * 3000)): chance.choice(NASTY)}
    )


def token(chance: random.Random, body: Any) -> bytes:
    """Insert a token somewhere in the bytes."""
    written = orjson.dumps(body)
    place = chance.randrange(len(written))
    return bytes(written[:place] + chance.choice(TOKENS) + written[place:])


def flipped(chance: random.Random, body: Any) -> bytes:
    """Change some bytes to any others."""
    written = bytearray(orjson.dumps(body))
    for _ in range(chance.randrange(1, 4)):
        written[chance.randrange(len(written))] = chance.randrange(256)
    return bytes(written)


def cut_off(chance: random.Random, body: Any) -> bytes:
    """End early."""
    written: bytes = orjson.dumps(body)
    return written[: chance.randrange(len(written))]


def nested(chance: random.Random, body: Any) -> bytes:  # noqa: ARG001  # the same shape as the others
    """Open many lists or objects, and close some."""
    depth = chance.choice((5, 30, 300, 30_000))
    opening, closing = chance.choice(((b"[", b"]"), (b'{"a":', b"}")))
    return opening * depth + chance.choice((b"1", b"")) + closing * chance.choice((depth, depth // 2))


def doubled(chance: random.Random, body: Any) -> bytes:
    """Name a member twice."""
    written: bytes = orjson.dumps(body)
    name: str = chance.choice(list(body))
    return b'{"%b":1,%b' % (name.encode(), written[1:])


def noise(chance: random.Random, body: Any) -> bytes:  # noqa: ARG001  # the same shape as the others
    """Send anything."""
    return chance.randbytes(chance.randrange(300))


MUTANTS: Final[tuple[Callable[[random.Random, Any], bytes], ...]] = (
    nasty_value,
    nasty_value,
    nasty_value,
    nasty_member,
    token,
    flipped,
    cut_off,
    nested,
    doubled,
    noise,
)


@dataclass(slots=True)
class Tally:
    """What came back."""

    statuses: Counter[int] = field(default_factory=Counter)
    failures: list[str] = field(default_factory=list)

    def count(self, body: bytes, status: int, head: bytes) -> None:
        """Count an answer, and keep it when it is one that must not be."""
        self.statuses[status] += 1
        refused_wrongly = status >= 400 and b"application/problem+json" not in head
        if (status >= 500 or refused_wrongly) and len(self.failures) < 20:
            self.failures.append(f"{status} for {body[:300]!r}")


async def _answer(reader: asyncio.StreamReader) -> tuple[int, bytes]:
    """Read one answer and give its status and its head."""
    head = await asyncio.wait_for(reader.readuntil(b"\r\n\r\n"), STALE)
    length = next(line for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:"))
    await asyncio.wait_for(reader.readexactly(int(length.split(b":")[1])), STALE)
    return int(head.split(b" ", 2)[1]), head


async def _send(live: Live, bodies: Iterator[tuple[str, bytes]], tally: Tally) -> None:
    """Send bodies over one connection, one after the other."""
    reader, writer = await asyncio.open_connection("127.0.0.1", live.port)
    for path, body in bodies:
        head = f"POST {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
        writer.write(head.encode() + body)
        tally.count(body, *await _answer(reader))
    writer.close()
    await writer.wait_closed()


def mutants(seed: int, count: int) -> Iterator[tuple[str, bytes]]:
    """Make bodies, the same for the same seed."""
    chance = random.Random(seed)  # noqa: S311  # repeatable, not secret
    for _ in range(count):
        path, body = chance.choice(TARGETS)
        yield path, chance.choice(MUTANTS)(chance, body)


async def fuzz(live: Live, *, seed: int, count: int, connections: int = 4) -> Tally:
    """Send so many bodies and give what came back."""
    tally, bodies = Tally(), mutants(seed, count)
    await asyncio.gather(*(_send(live, bodies, tally) for _ in range(connections)))
    return tally


def run(live: Live, *, seed: int, count: int) -> tuple[Tally, tuple[int, int, int]]:
    """Send the bodies in two halves and give the memory before, between and after [B]."""
    begin = live.resident()
    tally = asyncio.run(fuzz(live, seed=seed, count=count // 2))
    between = live.resident()
    second = asyncio.run(fuzz(live, seed=seed + 1, count=count - count // 2))
    tally.statuses.update(second.statuses)
    tally.failures += second.failures
    return tally, (begin, between, live.resident())


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description="Send malformed bodies to a service of its own.")
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=20261124)
    arguments = parser.parse_args()
    with (
        tempfile.TemporaryDirectory() as folder,
        serving(Path(folder) / "log", {"SHIN_WALL_LOG_LEVEL": "ERROR"}) as live,
    ):
        tally, memory = run(live, seed=arguments.seed, count=arguments.count)
        faults = live.log.read_text()
    lines = [
        f"bodies {sum(tally.statuses.values())}, by status {dict(sorted(tally.statuses.items()))}",
        f"memory [MiB] before {memory[0] >> 20}, half-way {memory[1] >> 20}, after {memory[2] >> 20}",
        *tally.failures,
    ]
    sys.stdout.write("\n".join(lines) + "\n")
    return int(bool(tally.failures or faults or memory[2] - memory[1] > GROWTH))


if __name__ == "__main__":
    raise SystemExit(main())
