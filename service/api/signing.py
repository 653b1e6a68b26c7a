"""The keys of quotes, from the settings or from the store.

Rules of this file
------------------
- What the operator sets is read at the start, so that a set that cannot be read stops the start, not a quote.
- Without a setting the store keeps one key: the first that needs it makes it, in one step, and every worker and every
  later start finds it there.
"""

from secrets import token_bytes
from typing import Any

from service.sales.keys import Ring, new_ring, read_ring
from service.settings import Settings
from service.store.contract import Store

NAME = "quote-keys"
"""Name of the keys among the installation's secrets"""
TIERS = "tier-names"
"""Name of the secret that tiers are named by in tokens"""


class Signing:
    """Gives the keys of quotes.

    Parameters
    ----------
    settings
        The operator's settings.
    store
        Keeps the keys where the settings have none.

    Raises
    ------
    RingUnreadable
        When the settings' keys cannot be read.
    """

    def __init__(self, settings: Settings, store: Store[Any]) -> None:
        self._store = store
        self._ring: Ring | None = None
        if settings.signing_keys is not None:
            self._ring = read_ring(settings.signing_keys.get_secret_value())
        elif settings.signing_keys_file is not None:
            self._ring = read_ring(settings.signing_keys_file.read_bytes())
        self._pepper = settings.key_pepper.get_secret_value().encode()

    async def ring(self) -> Ring:
        """The keys.

        Raises
        ------
        StoreUnavailable
            When they are in the shared store and it is away.
        """
        if self._ring is None:
            self._ring = read_ring(await self._store.secret(NAME, new_ring()))
        return self._ring

    async def tier_secret(self) -> bytes:
        """What tiers are named by in tokens: the pepper, or without one a secret of the store's.

        Raises
        ------
        StoreUnavailable
            When it is in the shared store and it is away.
        """
        return (self._pepper or await self._store.secret(TIERS, token_bytes(32)))[:64]
