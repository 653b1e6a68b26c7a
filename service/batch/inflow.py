"""A list on its way in: taken from its caller as fast as it comes, kept on disk until it is planned, and the caller watched.

Rules of this file
------------------
- Reading never waits for planning while the spool has room, so a caller that leaves is noticed at once.
- A caller that sends nothing for too long before its list is complete is taken for gone.
"""

import asyncio
from collections.abc import AsyncIterator

from starlette.requests import ClientDisconnect
from starlette.types import Receive

from service.batch.spool import Spool


class Inflow:
    """A request's body as it comes.

    Parameters
    ----------
    receive
        The request's messages.
    idle
        How long a caller may send nothing [s].
    most
        What may wait to be planned [B].
    """

    def __init__(self, receive: Receive, idle: float, most: int) -> None:
        self._receive = receive
        self._idle = idle
        self._spool = Spool(most)
        self._complete = False
        self.gone = asyncio.Event()
        """Set when the caller has left"""
        self._pumping = asyncio.create_task(self._pump())

    async def chunks(self) -> AsyncIterator[bytes]:
        """The body, piece by piece.

        Raises
        ------
        ClientDisconnect
            When the caller left before the body was complete.
        """
        while content := await self._spool.get():
            yield content
        if not self._complete:
            raise ClientDisconnect

    async def _pump(self) -> None:
        """Take what comes until the caller leaves."""
        try:
            while True:
                async with asyncio.timeout(None if self._complete else self._idle):
                    message = await self._receive()
                if message["type"] == "http.disconnect":
                    break
                await self._spool.put(message.get("body", b""))
                if not message.get("more_body", False):
                    self._complete = True
                    await self._spool.end()
        except TimeoutError:
            pass
        self.gone.set()
        await self._spool.end()

    def close(self) -> None:
        """Stop listening and let go of what was not read."""
        self._pumping.cancel()
        self._spool.close()
