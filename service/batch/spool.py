"""What is answered but not yet fetched: kept in memory while it is little, in a nameless file when it is more.

Rules of this file
------------------
- A caller that sends everything before it reads anything is served without holding its answers in memory.
- A caller that never reads is held up when the spool is full; nothing grows without end.
"""

import asyncio
import tempfile
from typing import Final

IN_MEMORY: Final = 1024 * 1024
"""Answers held in memory, before a file takes them [B]"""
BLOCK: Final = 64 * 1024
"""What is read at a time at most [B]"""


class Spool:
    """A queue of bytes.

    Parameters
    ----------
    most
        What may wait to be fetched [B].
    """

    def __init__(self, most: int) -> None:
        self._file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  # closed by `close`
        self._most = most
        self._written = self._read = 0
        self._ended = False
        self._changed = asyncio.Condition()

    async def put(self, content: bytes) -> None:
        """Add bytes; waits while too much is unread."""
        async with self._changed:
            await self._changed.wait_for(lambda: self._written - self._read <= self._most)
            self._file.seek(self._written)
            self._file.write(content)
            self._written += len(content)
            self._changed.notify_all()

    async def end(self) -> None:
        """Say that nothing more comes."""
        async with self._changed:
            self._ended = True
            self._changed.notify_all()

    async def get(self) -> bytes:
        """Take the next bytes; empty when nothing more comes."""
        async with self._changed:
            await self._changed.wait_for(lambda: self._written > self._read or self._ended)
            self._file.seek(self._read)
            content = self._file.read(BLOCK)
            self._read += len(content)
            if self._read == self._written:
                self._file.seek(0)
                self._file.truncate()
                self._read = self._written = 0
            self._changed.notify_all()
            return content

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()
