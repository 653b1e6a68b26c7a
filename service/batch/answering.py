"""The answer to a batch: a response of its own, since reading the request and writing the answer overlap.

Rules of this file
------------------
- Input, planning and output run side by side; each waits for the next when it is full, and all stop when the caller goes.
"""

import asyncio
from collections.abc import AsyncIterator
from contextlib import aclosing

import structlog
from starlette.requests import ClientDisconnect
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.batch import writing
from service.batch.inflow import Inflow
from service.batch.pool import Planners
from service.batch.records import Record, Refused
from service.batch.spool import Spool
from service.batch.stream import Batch

log = structlog.get_logger("shin_wall.batch")


class BatchAnswer(Response):
    """An answer that is written while its request is still being read.

    Parameters
    ----------
    batch
        The batch.
    found
        Its structures as they come.
    inflow
        Where they come from.
    planners
        Where the batch is counted while it runs.
    spool
        What is answered and not yet fetched.
    """

    def __init__(
        self,
        batch: Batch,
        found: AsyncIterator[list[Record | Refused]],
        inflow: Inflow,
        planners: Planners,
        spool: Spool,
    ) -> None:
        super().__init__(media_type=f"{batch.answered_as}; charset=utf-8")
        del self.headers["content-length"]
        self._batch = batch
        self._found = found
        self._inflow = inflow
        self._planners = planners
        self._spool = spool

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:  # noqa: ARG002  # the protocol's
        """Run the batch and send its answers as they are made."""
        working = asyncio.create_task(self._work())
        try:
            await send({"type": "http.response.start", "status": 200, "headers": self.raw_headers})
            while content := await self._spool.get():
                await send({"type": "http.response.body", "body": content, "more_body": True})
            await working
            await send({"type": "http.response.body", "body": b"", "more_body": False})
        except ClientDisconnect:
            log.info("caller_left_batch", structures=self._batch.tally.structures)
        finally:
            self._planners.batches[self._batch.dealer] -= 1
            working.cancel()
            self._inflow.close()
            self._spool.close()

    async def _work(self) -> None:
        """Put answers on the spool until all are there or the caller has gone."""
        filling = asyncio.create_task(self._fill())
        leaving = asyncio.create_task(self._inflow.gone.wait())
        try:
            await asyncio.wait({filling, leaving}, return_when=asyncio.FIRST_COMPLETED)
            if not filling.done():
                raise ClientDisconnect
            await filling
        finally:
            filling.cancel()
            leaving.cancel()
            await self._spool.end()

    async def _fill(self) -> None:
        form = writing.FORMS[self._batch.answered_as]
        await self._spool.put(form.first())
        async with aclosing(self._batch.answers(self._found)) as answers:
            async for answered in answers:
                await self._spool.put(form.line(answered))
        await self._spool.put(form.order(await self._batch.order()))
        await self._spool.put(form.last(self._batch.tally.summed_up()))
