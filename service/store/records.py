"""What the store gives and takes: snapshots, records, limits, keys and its own state of health.

Rules of this module: frozen values and the names in them, no behaviour that needs a server, a file or a clock. They are
given from `service.store.contract` as well.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Generic, Literal, TypeVar

Parsed_co = TypeVar("Parsed_co", covariant=True)


class Scope(StrEnum):
    """What a key may be used for [-]."""

    PLAN = "plan"
    READ_CATALOG = "read_catalog"
    PUBLISH = "publish"
    ORDER = "order"


class Trouble(StrEnum):
    """Why a store is degraded [-]."""

    UNREACHABLE = "unreachable"
    REFUSES_WRITES = "refuses_writes"
    CORRUPT = "corrupt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Snapshot(Generic[Parsed_co]):
    """One revision of one catalog, immutable, ready to plan with.

    Attributes
    ----------
    dealer
        Whose catalog it is [-].
    catalog_id
        The catalog's name among the dealer's [-].
    revision
        Content address of `document`: ``r-`` and 32 hexadecimal digits; usable as a strong ETag [-].
    document
        The catalog as canonical JSON, UTF-8 [-].
    catalog
        The same, parsed [-].
    """

    dealer: str
    catalog_id: str
    revision: str
    document: bytes
    catalog: Parsed_co


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogRecord:
    """A line of a dealer's list of catalogs.

    Attributes
    ----------
    catalog_id
        The catalog's name among the dealer's [-].
    revision
        The active revision [-].
    generation
        How often the active revision has been set; grows by one each time [-].
    """

    catalog_id: str
    revision: str
    generation: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RevisionRecord:
    """A line of a catalog's list of revisions.

    Attributes
    ----------
    revision
        The content address [-].
    published_at
        When it was first published, UTC; None for a revision shipped as a file [-].
    active
        Whether plans use it now [-].
    """

    revision: str
    published_at: datetime | None
    active: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishOutcome:
    """What publishing or activating did; repeating the same call gives the same state.

    Attributes
    ----------
    revision
        The content address of the document [-].
    created
        Whether the document was new to the catalog [-].
    activated
        Whether the active revision changed [-].
    active
        The active revision after the call; None when none is [-].
    previous
        The active revision before the call; None when none was [-].
    """

    revision: str
    created: bool
    activated: bool
    active: str | None
    previous: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RateLimit:
    """So many units in a window; unused units come back evenly over the window.

    Attributes
    ----------
    units
        The most units in a window, at least 1 [-].
    window_s
        The window, at least 1 [s].
    """

    units: int
    window_s: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """The answer to one count against a rate limit.

    Attributes
    ----------
    allowed
        Whether the units were granted; refused units are not counted [-].
    remaining
        Whole units left now [-].
    reset_s
        When all units are there again [s].
    retry_after_s
        When the refused units will be there; 0 when granted [s].
    shared
        Whether all workers count together; False while this worker counts alone [-].
    """

    allowed: bool
    remaining: int
    reset_s: float
    retry_after_s: float
    shared: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Storefront:
    """What the key of a shop's page is bound to; such a key is public, so it may do no more than a shopper needs.

    Attributes
    ----------
    catalog
        The one catalog that it plans from [-].
    tier
        The one tier whose prices it shows; None: list prices [-].
    visitor
        What each visitor may ask; None: the service's default [-].
    """

    catalog: str
    tier: str | None = None
    visitor: RateLimit | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyRecord:
    """What is known of an API key; the key itself is kept nowhere.

    Attributes
    ----------
    dealer
        Who holds the key [-].
    digest
        Keyed digest of the key, lower-case hexadecimal, see `service.store.keys` [-].
    scopes
        What the key may be used for [-].
    origins
        Web origins whose pages may use the key; empty: none [-].
    rate
        The key's rate limit; None: the service's default [-].
    structures
        The same for the structures of its batches and jobs [-].
    not_before
        Not valid earlier, UTC; None: from the start [-].
    not_after
        Not valid from here on, UTC; None: without end. Two keys overlap while a dealer changes over [-].
    revoked
        Withdrawn for good, whatever the dates say [-].
    tiers
        Tiers whose prices the key may ask for, and hear of; None: every tier of the dealer, for its own systems [-].
    storefront
        What the key of a shop's page is bound to; None: the key is not public [-].
    """

    dealer: str
    digest: str
    scopes: frozenset[Scope]
    origins: tuple[str, ...] = ()
    rate: RateLimit | None = None
    structures: RateLimit | None = None
    not_before: datetime | None = None
    not_after: datetime | None = None
    revoked: bool = False
    tiers: tuple[str, ...] | None = None
    storefront: Storefront | None = None

    def live(self, now: datetime) -> bool:
        """Tell whether the key is valid at a moment.

        Parameters
        ----------
        now
            The moment, UTC [-].
        """
        begun = self.not_before is None or self.not_before <= now
        ended = self.not_after is not None and self.not_after <= now
        return begun and not ended and not self.revoked


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreStatus:
    """How the store is.

    Attributes
    ----------
    kind
        Which store it is [-].
    degraded
        Answers may be older than `STALENESS_BOUND_S`, or writing is refused: say so in every plan [-].
    trouble
        Why; None when all is well [-].
    since
        Since when the trouble lasts, UTC; None when all is well [-].
    breaker
        State of the circuit breaker: ``closed`` lets calls through, ``open`` none, ``half_open`` one [-].
    snapshot_age_s
        How long ago the worker last knew that its memory was current; None before the first time [s].
    loaded
        Whether plans can be made: the memory was read from the store, or recalled from the worker's state file [-].
    rejected
        Stored values refused as corrupt at the last reading [-].
    """

    kind: Literal["folder", "redis"]
    degraded: bool
    trouble: Trouble | None
    since: datetime | None
    breaker: Literal["closed", "open", "half_open"]
    snapshot_age_s: float | None
    loaded: bool
    rejected: int
