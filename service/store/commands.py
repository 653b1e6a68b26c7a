"""What the store says to the server, one method for each sentence.

Rules of this module: it turns values into commands and replies into values, and believes no reply: what is not of the
right form is None or left out. What follows from a reply is decided elsewhere.
"""

import hashlib
import secrets
from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from redis.asyncio.client import Pipeline
from redis.exceptions import ResponseError

from service.store.contract import Allowance, KeyRecord, RateLimit
from service.store.keys import write_record
from service.store.publication import CATALOGS_MOST, REVISIONS_MOST
from service.store.rate import answer, interval
from service.store.revision import DOCUMENT_BYTES_MOST
from service.store.scripts import COUNT, PUBLISH, PUT_KEY, KeyLayout
from service.store.server import CALL_BOUND_S, READING_BOUND_S, Server

Named = TypeVar("Named")

DIGEST_BYTES = 32
"""Length of the digest in front of a finished plan [B]."""
PLAN_BYTES_MOST = 4_194_304
"""The longest finished plan that is shared [B]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Publication:
    """A document on its way to the server.

    Attributes
    ----------
    dealer, catalog_id, revision, document
        As in a snapshot [-].
    known
        Generation and revision that the worker knows as active; 0 and empty for none [-].
    if_match
        See `service.store.contract.Store.publish` [-].
    activate
        Whether it becomes the active one [-].
    moment
        When it was published, RFC 3339; empty for a document that the server had lost [-].
    """

    dealer: str
    catalog_id: str
    revision: str
    document: bytes
    known: tuple[int, str]
    if_match: str | None = None
    activate: bool = False
    moment: str = ""


class Commands:
    """Everything that is said to the server.

    Parameters
    ----------
    server
        The server [-].
    layout
        Names of our keys [-].
    """

    def __init__(self, server: Server, layout: KeyLayout) -> None:
        self.layout = layout
        self._server = server
        self._publish = server.client.register_script(PUBLISH)
        self._put_key = server.client.register_script(PUT_KEY)
        self._count = server.client.register_script(COUNT)

    async def publish(self, publication: Publication) -> list[bytes | int]:
        """Keep a document and perhaps activate it; gives the script's reply."""
        layout, dealer, catalog_id = self.layout, publication.dealer, publication.catalog_id
        keys = [
            layout.of(dealer, "document", catalog_id, publication.revision),
            layout.of(dealer, "revisions", catalog_id),
            layout.of(dealer, "active"),
            layout.dealers,
            layout.change,
        ]
        arguments: list[str | bytes | int] = [
            *(layout.changes, secrets.token_hex(16), dealer, catalog_id),
            *(publication.revision, publication.document, publication.moment),
            *(publication.if_match or "", int(publication.activate), *publication.known),
            *(REVISIONS_MOST, CATALOGS_MOST, layout.of(dealer, "document", catalog_id, "")),
        ]
        return await self._run(lambda: self._publish(keys=keys, args=arguments))

    async def put_key(self, record: KeyRecord, generation: int, *, step: bool) -> int:
        """Make a key known: at this generation, or one later; gives its generation, 0 when a later one stays."""
        layout, dealer = self.layout, record.dealer
        keys = [layout.of(dealer, "keys"), layout.dealers, layout.change]
        head = (layout.changes, secrets.token_hex(16), dealer, record.digest)
        arguments: list[str | bytes | int] = [*head, generation, int(step), write_record(record)]
        reply = await self._run(lambda: self._put_key(keys=keys, args=arguments))
        return int(reply[1])

    async def count(self, dealer: str, bucket: str, limit: RateLimit, units: int) -> Allowance:
        """Count units for all workers."""
        keys = [self.layout.of(dealer, "count", bucket)]
        arguments = [interval(limit), limit.units, units]
        allowed, reset, wait = await self._run(lambda: self._count(keys=keys, args=arguments))
        return answer(allowed == 1, int(reset), int(wait), limit, shared=True)

    async def overview(self) -> tuple[bytes | None, set[str]]:
        """The token of the last change and the dealers that have anything stored."""
        token, dealers = await self._read(
            (self.layout.change, self.layout.dealers),
            lambda pipeline, keys: (pipeline.get(keys[0]), pipeline.smembers(keys[1])),
            READING_BOUND_S,
        )
        names = {name.decode("ascii", "replace") for name in dealers or ()}
        return token, names

    async def registers(self, dealers: Sequence[str], kind: str) -> list[dict[str, bytes] | None]:
        """Give each dealer's registers of a kind; None where there is something else in their place."""
        keys = [self.layout.of(dealer, kind) for dealer in dealers]
        hashes = await self._read(
            keys, lambda pipeline, keys: [pipeline.hgetall(key) for key in keys], READING_BOUND_S
        )
        return [
            None
            if fields is None
            else {name.decode("ascii", "replace"): value for name, value in fields.items()}
            for fields in hashes
        ]

    async def documents(
        self, names: Sequence[tuple[str, str, str]], bound_s: float = CALL_BOUND_S
    ) -> list[bytes]:
        """Give documents by dealer, catalog and revision; empty where there is none, cut where it is too long."""
        keys = [self.layout.of(dealer, "document", catalog, revision) for dealer, catalog, revision in names]
        found = await self._read(
            keys,
            lambda pipeline, keys: [pipeline.getrange(key, 0, DOCUMENT_BYTES_MOST) for key in keys],
            bound_s,
        )
        return [document or b"" for document in found]

    async def revisions(self, dealer: str, catalog_id: str) -> dict[str, bytes]:
        """A catalog's revisions and when they were published."""
        key = self.layout.of(dealer, "revisions", catalog_id)
        (fields,) = await self._read((key,), lambda pipeline, keys: [pipeline.hgetall(keys[0])])
        return {name.decode("ascii", "replace"): value for name, value in (fields or {}).items()}

    async def plan(self, dealer: str, digest: str) -> bytes | None:
        """A finished plan; None when there is none or it is damaged."""
        key = self.layout.of(dealer, "plan", digest)
        most = PLAN_BYTES_MOST + DIGEST_BYTES
        (found,) = await self._read((key,), lambda pipeline, keys: [pipeline.getrange(keys[0], 0, most)])
        body = (found or b"")[DIGEST_BYTES:]
        return body if body and found == _sealed(body) else None

    async def keep_plan(self, dealer: str, digest: str, body: bytes, lifetime_s: int) -> None:
        """Share a finished plan for a while."""
        if 0 < len(body) <= PLAN_BYTES_MOST:
            key, client = self.layout.of(dealer, "plan", digest), self._server.client
            await self._server.call(lambda: client.set(key, _sealed(body), ex=lifetime_s), writes=True)

    async def secret(self, name: str, made: bytes) -> bytes:
        """Keep a secret unless one is kept; give what is kept."""
        key, client = self.layout.secret(name), self._server.client
        held = await self._server.call(lambda: client.set(key, made, nx=True, get=True), writes=True)
        return held if isinstance(held, bytes) else made

    async def _run(self, script: Callable[[], Awaitable[Any]]) -> list[Any]:
        reply: list[Any] = await self._server.call(script, writes=True)
        return reply

    async def _read(
        self,
        keys: Iterable[str],
        ask: Callable[[Pipeline, Sequence[str]], object],
        bound_s: float = CALL_BOUND_S,
    ) -> list[Any]:
        pipeline = self._server.client.pipeline(transaction=False)
        ask(pipeline, tuple(keys))

        async def execute() -> list[Any]:
            return [_believed(reply) for reply in await pipeline.execute(raise_on_error=False)]

        return await self._server.call(execute, bound_s=bound_s)


def _believed(reply: Any) -> Any:  # noqa: ANN401 - a reply may be anything
    if isinstance(reply, ResponseError) and "WRONGTYPE" in str(reply):
        return None
    if isinstance(reply, Exception):
        raise reply
    return reply


def _sealed(body: bytes) -> bytes:
    return hashlib.sha256(body).digest() + body
