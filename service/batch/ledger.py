"""What is kept of jobs: their chunks, who works on which, and what came out, in a Redis of its own.

Rules of this file
------------------
- A chunk is claimed for a while, not taken: whoever claims it and dies leaves it to the next when the time is over.
- A chunk counts once, however often it is planned: the first who finishes it wins, in one script.
- Dealers take turns, and so do the jobs of a dealer: whoever was served longest ago is next. Chunks are equal times of work.
- Time is the server's. Every key of a job ends with the job's lifetime, and a job holds so many bytes at most.
- The server must keep what it is given: `noeviction`, `appendonly yes`, `appendfsync always`.
"""

import secrets
import zlib
from collections import Counter
from dataclasses import dataclass
from typing import Any, Final

import orjson
from redis import Redis
from redis.backoff import NoBackoff
from redis.retry import Retry

LEASE: Final = 30
"""How long a chunk is left to whoever claimed it [s]"""
ATTEMPTS: Final = 3
"""How often a chunk is planned before it is set aside [-]"""

_CLAIM: Final = """
local prefix, lease = ARGV[1], tonumber(ARGV[2])
local clock = redis.call('TIME')
local now, moment = tonumber(clock[1]), clock[1] .. '.' .. string.format('%06d', clock[2])
local others = 0
for _, dealer in ipairs(redis.call('ZRANGE', KEYS[1], 0, -1)) do
  local running = prefix .. '-of:' .. dealer
  for _, id in ipairs(redis.call('ZRANGE', running, 0, -1)) do
    local job = prefix .. ':' .. id
    local todo = job .. ':todo'
    local state = redis.call('HGET', job, 'state')
    if not state then redis.call('ZREM', running, id) end
    if state == 'running' then
      local found = redis.call('ZRANGEBYSCORE', todo, '-inf', now, 'LIMIT', 0, 2)
      local ready = found[1]
      if ready and ready == redis.call('HGET', job, 'last') and redis.call('ZCARD', todo) > 1 then ready = found[2] end
      if ready then
        redis.call('ZADD', todo, now + lease, ready)
        redis.call('HSETNX', job, 'started', moment)
        redis.call('ZADD', running, moment, id)
        redis.call('ZADD', KEYS[1], moment, dealer)
        redis.call('HINCRBY', job .. ':attempts', ready, 1)
        redis.call('EXPIRE', job .. ':attempts', redis.call('TTL', job))
        return {id, ready, redis.call('HGET', job .. ':attempts', ready)}
      end
      others = others + redis.call('ZCARD', todo)
    end
  end
  if redis.call('ZCARD', running) == 0 then redis.call('ZREM', KEYS[1], dealer) end
end
return {others}
"""
_RENEW: Final = """
if redis.call('HGET', KEYS[1], 'state') ~= 'running' then return 0 end
redis.call('ZADD', KEYS[2], 'XX', tonumber(redis.call('TIME')[1]) + tonumber(ARGV[2]), ARGV[1])
return redis.call('ZSCORE', KEYS[2], ARGV[1]) and 1 or 0
"""
_FINISH: Final = """
local job, todo, out, given = KEYS[1], KEYS[2], KEYS[3], KEYS[4]
if not redis.call('ZSCORE', todo, ARGV[1]) then return 0 end
local more = #ARGV[2] - redis.call('STRLEN', given)
if tonumber(redis.call('HGET', job, 'bytes')) + more > tonumber(ARGV[3]) then return -1 end
redis.call('ZREM', todo, ARGV[1])
redis.call('HINCRBY', job, 'bytes', more)
redis.call('SET', out, ARGV[2], 'EX', redis.call('TTL', job))
redis.call('DEL', given)
for at = 4, #ARGV, 2 do redis.call('HINCRBY', job, ARGV[at], ARGV[at + 1]) end
if redis.call('ZCARD', todo) == 0 then
  local clock = redis.call('TIME')
  redis.call('HSET', job, 'state', 'done', 'ended', clock[1] .. '.' .. string.format('%06d', clock[2]))
  redis.call('ZREM', KEYS[5], redis.call('HGET', job, 'id'))
end
return 1
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A chunk that is this worker's for a while."""

    job: str
    """Whose chunk it is"""
    number: int
    """Number of the chunk, from 0 [-]"""
    attempt: int
    """How often it has been claimed, this time included [-]"""


class JobFull(Exception):
    """A job that holds as much as it may."""


class Ledger:
    """The jobs in a server.

    Parameters
    ----------
    url
        Where the server is, as its client writes it.
    prefix
        What the names of all keys begin with.
    lifetime
        How long a job and its results are kept [s].
    """

    def __init__(self, url: str, prefix: str, lifetime: int) -> None:
        self.server: Any = Redis.from_url(
            url, retry=Retry(NoBackoff(), 1), socket_connect_timeout=1, socket_timeout=5, protocol=3
        )
        self._prefix = f"{prefix}:jobs"
        self._lifetime = lifetime
        self._turns = f"{self._prefix}-turns"
        self._claim = self.server.register_script(_CLAIM)
        self._renew = self.server.register_script(_RENEW)
        self._finish = self.server.register_script(_FINISH)

    def _key(self, job: str, *rest: object) -> str:
        return ":".join([self._prefix, job, *map(str, rest)])

    def _running(self, dealer: str) -> str:
        return f"{self._prefix}-of:{dealer}"

    def begin(self, dealer: str) -> str:
        """Open a job that is still being sent, and give its id."""
        job = secrets.token_urlsafe(16)
        told = {
            "id": job,
            "dealer": dealer,
            "state": "receiving",
            "structures": 0,
            "chunks": 0,
            "bytes": 0,
        }
        with self.server.pipeline() as pipe:
            pipe.hset(self._key(job), mapping=told)
            pipe.expire(self._key(job), self._lifetime)
            pipe.zadd(self._running(dealer), {job: 0})
            pipe.expire(self._running(dealer), self._lifetime)
            pipe.execute()
        return job

    def running(self, dealer: str) -> int:
        """Count the jobs of a dealer that are not done [-]."""
        jobs = [job.decode() for job in self.server.zrange(self._running(dealer), 0, -1)]
        gone = [job for job in jobs if not self.server.exists(self._key(job))]
        if gone:
            self.server.zrem(self._running(dealer), *gone)
        return len(jobs) - len(gone)

    def waiting(self) -> int:
        """Count the chunks of all running jobs that are not finished [-]."""
        dealers = [dealer.decode() for dealer in self.server.zrange(self._turns, 0, -1)]
        jobs = [
            job.decode() for dealer in dealers for job in self.server.zrange(self._running(dealer), 0, -1)
        ]
        return sum(self.server.zcard(self._key(job, "todo")) for job in jobs)

    def add(self, job: str, number: int, chunk: dict[str, Any], catalogs: dict[str, list[str]]) -> int:
        """Keep a chunk and the catalogs that it names; gives the bytes that the job now holds."""
        content = zlib.compress(orjson.dumps(chunk), 1)
        with self.server.pipeline() as pipe:
            pipe.set(self._key(job, "in", number), content, ex=self._lifetime)
            pipe.zadd(self._key(job, "todo"), {str(number): 0})
            pipe.expire(self._key(job, "todo"), self._lifetime)
            for revision, catalog in catalogs.items():
                pipe.hsetnx(self._key(job, "catalogs"), revision, orjson.dumps(catalog))
            pipe.expire(self._key(job, "catalogs"), self._lifetime)
            if "order" in chunk:
                pipe.hset(self._key(job), "last", number)  # claimed when nothing else is left
            pipe.hincrby(self._key(job), "structures", len(chunk["lines"]))
            pipe.hincrby(self._key(job), "chunks", 1)
            pipe.hincrby(self._key(job), "bytes", len(content))
            return int(pipe.execute()[-1])

    def chunk_size(self, seconds: float, most: int) -> int:
        """Say how many structures take so many seconds, as measured by the workers, up to a number."""
        pace = float(self.server.get(f"{self._prefix}-pace") or 0.02)
        return max(1, min(most, int(seconds / pace)))

    def note_pace(self, seconds: float, structures: int) -> None:
        """Learn from a chunk how long a structure takes."""
        if structures:
            name = f"{self._prefix}-pace"
            pace = float(self.server.get(name) or seconds / structures)
            self.server.set(name, pace + 0.2 * (seconds / structures - pace))

    def start(self, dealer: str, job: str) -> None:
        """Let workers begin: everything has been sent."""
        chunks = int(self.server.hget(self._key(job), "chunks") or 0)
        with self.server.pipeline() as pipe:
            pipe.hset(self._key(job), "state", "running" if chunks else "done")
            if chunks:
                pipe.zadd(self._turns, {dealer: 0}, nx=True)
            else:
                pipe.zrem(self._running(dealer), job)
            pipe.execute()

    def told(self, dealer: str, job: str) -> dict[str, str] | None:
        """Tell what is known of a dealer's job; None when the dealer has no such job."""
        found = {name.decode(): value.decode() for name, value in self.server.hgetall(self._key(job)).items()}
        return found if found.get("dealer") == dealer else None

    def now(self) -> float:
        """Tell the server's time [s]."""
        seconds, micros = self.server.time()
        return float(seconds) + float(micros) / 1e6

    def claim(self) -> Claim | bool:
        """Claim the next chunk of whoever's turn it is; True when others work on what is left, False when nothing is left."""
        first, *rest = self._claim(keys=[self._turns], args=[self._prefix, LEASE])
        if not rest:
            return bool(first)
        number, attempt = map(int, rest)
        return Claim(job=first.decode(), number=number, attempt=attempt)

    def renew(self, claim: Claim, seconds: int = LEASE) -> bool:
        """Keep a chunk for so long from now; False when the job is cancelled or somebody else has finished the chunk."""
        keys = [self._key(claim.job), self._key(claim.job, "todo")]
        return bool(self._renew(keys=keys, args=[claim.number, seconds]))

    def chunk(self, job: str, number: int) -> dict[str, Any] | None:
        """A chunk; None when somebody has finished it meanwhile."""
        content = self.server.get(self._key(job, "in", number))
        return None if content is None else orjson.loads(zlib.decompress(content))

    def catalog(self, job: str, revision: str) -> list[str]:
        """The catalog that a chunk names, as a planner wants it."""
        held: list[str] = orjson.loads(self.server.hget(self._key(job, "catalogs"), revision) or b"[]")
        return held

    def finish(
        self, job: str, number: int, content: bytes, counts: Counter[str], most: int | None = None
    ) -> bool:
        """Keep what came out of a chunk and count it; False when somebody else had finished it.

        Raises
        ------
        JobFull
            When the job would then hold more than so many bytes.
        """
        dealer = (self.server.hget(self._key(job), "dealer") or b"").decode()
        keys = [
            self._key(job),
            self._key(job, "todo"),
            self._key(job, "out", number),
            self._key(job, "in", number),
            self._running(dealer),
        ]
        flat = [word for pair in counts.items() for word in pair]
        room = most or "inf"
        kept = self._finish(keys=keys, args=[number, zlib.compress(content, 1), room, *flat])
        if kept < 0:
            raise JobFull
        return bool(kept)

    def result(self, job: str, number: int) -> bytes | None:
        """What came out of a chunk; None while nothing has."""
        content = self.server.get(self._key(job, "out", number))
        return None if content is None else zlib.decompress(content)

    def cancel(self, dealer: str, job: str) -> None:
        """Stop a job: no chunk of it is claimed any more, and what was not planned is forgotten."""
        left = [int(number) for number in self.server.zrange(self._key(job, "todo"), 0, -1)]
        with self.server.pipeline() as pipe:
            pipe.hset(self._key(job), "state", "cancelled")
            pipe.delete(self._key(job, "todo"), *(self._key(job, "in", number) for number in left))
            pipe.zrem(self._running(dealer), job)
            pipe.execute()
