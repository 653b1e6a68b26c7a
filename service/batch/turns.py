"""Places that are taken by turns: whoever has waited for none longest is next, however much it wants.

Rules of this file
------------------
- The one with many batches gets no more than the one with a single one.
"""

import asyncio
from collections import OrderedDict, deque
from typing import Final

_Line = deque[asyncio.Future[None]]


class Turns:
    """A number of places.

    Parameters
    ----------
    places
        How many there are [-].
    """

    def __init__(self, places: int) -> None:
        self._free = places
        self._waiting: Final = OrderedDict[str, _Line]()

    async def take(self, dealer: str) -> None:
        """Take a place when it is this dealer's turn."""
        if self._free:
            self._free -= 1
            return
        turn = asyncio.get_running_loop().create_future()
        self._waiting.setdefault(dealer, deque()).append(turn)
        try:
            await turn
        except asyncio.CancelledError:
            if turn.done() and not turn.cancelled():
                self.give()  # the place came too late
            raise

    def give(self) -> None:
        """Give a place to whoever is next; dealers that still wait stand at the end of the line again."""
        while self._waiting:
            dealer, line = self._waiting.popitem(last=False)
            turn = line.popleft()
            if line:
                self._waiting[dealer] = line
            if not turn.done():
                turn.set_result(None)
                return
        self._free += 1
