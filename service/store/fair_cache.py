"""A bounded memory that dealers share without being able to hurt each other.

Rules of this module: no waiting, no server; the clock is handed in. When the memory is full, the oldest entry of the
dealer that holds most makes room. So a dealer that holds less than its even share never loses an entry to another.
"""

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class _Entry(Generic[Value]):
    value: Value
    weight: int
    ends: float


class FairCache(Generic[Value]):
    """Least recently used entries leave first, within the dealer that holds most.

    Parameters
    ----------
    most
        The most weight in all [the unit of the weights].
    monotonic
        A clock that never goes back [s].
    """

    def __init__(self, most: int, monotonic: Callable[[], float]) -> None:
        self._most = most
        self._monotonic = monotonic
        self._entries: dict[str, OrderedDict[str, _Entry[Value]]] = {}
        self._weights: dict[str, int] = {}

    def get(self, dealer: str, name: str) -> Value | None:
        """An entry that has not ended; None otherwise."""
        entries = self._entries.get(dealer)
        entry = None if entries is None else entries.get(name)
        if entry is None:
            return None
        if entry.ends <= self._monotonic():
            self._drop(dealer, name)
            return None
        self._entries[dealer].move_to_end(name)
        return entry.value

    def put(self, dealer: str, name: str, value: Value, *, weight: int, lifetime_s: float) -> None:
        """Keep an entry; one that is heavier than the whole memory is not kept.

        Parameters
        ----------
        dealer
            Whose it is [-].
        name
            Its name among the dealer's [-].
        value
            What is kept [-].
        weight
            How much of the memory it takes [the unit of the weights].
        lifetime_s
            When it ends [s].
        """
        self._drop(dealer, name)
        if weight > self._most:
            return
        self._entries.setdefault(dealer, OrderedDict())[name] = _Entry(
            value, weight, self._monotonic() + lifetime_s
        )
        self._weights[dealer] = self._weights.get(dealer, 0) + weight
        while self.weight > self._most:
            heaviest = max(self._weights, key=lambda holder: self._weights[holder])
            self._drop(heaviest, next(iter(self._entries[heaviest])))

    @property
    def weight(self) -> int:
        """What all entries weigh together [the unit of the weights]."""
        return sum(self._weights.values())

    def _drop(self, dealer: str, name: str) -> None:
        entries = self._entries.get(dealer)
        entry = None if entries is None else entries.pop(name, None)
        if entry is None:
            return
        self._weights[dealer] -= entry.weight
        if not self._entries[dealer]:
            del self._entries[dealer], self._weights[dealer]
