"""What the rest of the service may ask of its state: catalogs, keys, counters and finished plans.

Rules of this module: types and one protocol, no behaviour that needs a server, a file or a clock. Two stores keep
the contract: `service.store.folder.FolderStore` (one process, no server) and `service.store.redis_store.RedisStore`
(any number of workers). Whatever a plan needs is read from the worker's memory: `active` and `key` never wait.

Every name belongs to a dealer. A dealer's catalogs, keys, counters and finished plans do not exist for any other.

Staleness: a change made through another worker is seen here within `STALENESS_BOUND_S` while the server answers.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Generic, Literal, Protocol, TypeVar

Parsed_co = TypeVar("Parsed_co", covariant=True)

ANY_REVISION = "*"
"""As `if_match`: replace whatever is active, knowingly [-]."""

OPEN_DEALER = "open"
"""The dealer that owns the catalogs shipped with the service, and whose callers need no key in open mode [-]."""

STALENESS_BOUND_S = 5.0
"""The longest time until a change made through one worker is seen by every other [s]."""


class Scope(StrEnum):
    """What a key may be used for [-]."""

    PLAN = "plan"
    READ_CATALOG = "read_catalog"
    PUBLISH = "publish"


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
    not_before
        Not valid earlier, UTC; None: from the start [-].
    not_after
        Not valid from here on, UTC; None: without end. Two keys overlap while a dealer changes over [-].
    revoked
        Withdrawn for good, whatever the dates say [-].
    """

    dealer: str
    digest: str
    scopes: frozenset[Scope]
    origins: tuple[str, ...] = ()
    rate: RateLimit | None = None
    not_before: datetime | None = None
    not_after: datetime | None = None
    revoked: bool = False

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
    rejected
        Stored values refused as corrupt at the last reading [-].
    """

    kind: Literal["folder", "redis"]
    degraded: bool
    trouble: Trouble | None
    since: datetime | None
    breaker: Literal["closed", "open", "half_open"]
    snapshot_age_s: float | None
    rejected: int


class Store(Protocol[Parsed_co]):
    """The service's only state.

    Every method raises `IdentifierInvalid` for a name that is not of the permitted form, except those that answer None.
    """

    async def start(self) -> None:
        """Fill the worker's memory and begin to follow changes; never fails because a server is away."""

    async def close(self) -> None:
        """Stop following changes and let go of connections."""

    def status(self) -> StoreStatus:
        """Tell how the store is, from memory."""

    def active(self, dealer: str, catalog_id: str) -> Snapshot[Parsed_co] | None:
        """Give the active revision, from memory; None when the dealer has no such catalog."""

    def catalogs(self, dealer: str) -> tuple[CatalogRecord, ...]:
        """List the dealer's catalogs that have an active revision, by name, from memory."""

    async def revision(self, dealer: str, catalog_id: str, revision: str) -> Snapshot[Parsed_co]:
        """Give one revision, active or not.

        Raises
        ------
        RevisionUnknown
            When the dealer's catalog has no such revision.
        StoreUnavailable
            When it is not in memory and the server is away.
        """

    async def revisions(self, dealer: str, catalog_id: str) -> tuple[RevisionRecord, ...]:
        """List the revisions of a catalog, newest first.

        Raises
        ------
        CatalogUnknown
            When the dealer has no such catalog.
        StoreUnavailable
            When the server is away.
        """

    async def publish(
        self, dealer: str, catalog_id: str, document: object, *, if_match: str | None, activate: bool
    ) -> PublishOutcome:
        """Keep a document as a revision and, if asked, make it the active one; all or nothing.

        Parameters
        ----------
        dealer
            Whose catalog it is [-].
        catalog_id
            The catalog's name among the dealer's [-].
        document
            The catalog as decoded JSON [-].
        if_match
            The active revision that this one replaces; `ANY_REVISION` for whatever is active; None when nothing is
            active yet, or nothing is activated. Publishing what is active already succeeds with any value [-].
        activate
            Whether plans use it from now on [-].

        Raises
        ------
        CatalogInvalid
            When the planner refuses the document; with every problem found.
        ActiveRevisionDiffers
            When another revision is active than `if_match` says.
        MatchRequired
            When a revision is active, `activate` is asked for and `if_match` is None.
        LimitReached
            When the document, or the dealer's number of catalogs or revisions, is too big.
        StoreUnavailable
            When the server is away or refuses to write. If it went away in the middle, the publication either
            happened as a whole or did not happen: repeat it.
        """

    async def activate(
        self, dealer: str, catalog_id: str, revision: str, *, if_match: str | None
    ) -> PublishOutcome:
        """Make a published revision the active one; an older one rolls back.

        Raises
        ------
        RevisionUnknown
            When the dealer's catalog has no such revision.
        CatalogInvalid
            When the planner refuses the document today.
        ActiveRevisionDiffers, MatchRequired, StoreUnavailable
            As for `publish`.
        """

    def key(self, digest: str) -> KeyRecord | None:
        """Give what is known of a key, from memory; None when nothing is. Ask the record whether it is live."""

    def origins(self) -> frozenset[str]:
        """Give the web origins that any dealer's keys list, withdrawn keys aside, from memory.

        A browser asks whether a page may call before it shows a key. Which origin goes with which key is the key's
        own matter: ask its record.
        """

    def keys(self, dealer: str) -> tuple[KeyRecord, ...]:
        """List the dealer's keys by digest, from memory, withdrawn ones too."""

    async def put_key(self, record: KeyRecord) -> None:
        """Make a key known, or change what is known of it; a withdrawn key stays withdrawn.

        Raises
        ------
        KeyTaken
            When a key with this digest belongs to another dealer.
        StoreUnavailable
            When the server is away or refuses to write.
        """

    async def revoke_key(self, dealer: str, digest: str) -> None:
        """Withdraw a dealer's key for good; nothing happens when the dealer has no such key.

        Raises
        ------
        StoreUnavailable
            When the server is away or refuses to write.
        """

    async def count(self, dealer: str, bucket: str, limit: RateLimit, *, units: int = 1) -> Allowance:
        """Count units against a rate limit: one round trip, or this worker's own count while the server is away.

        Parameters
        ----------
        dealer
            Who asks [-].
        bucket
            What is counted, among the dealer's: a key's digest or a caller's address; at most 200 characters [-].
        limit
            How much is allowed [-].
        units
            How many units this call takes; more than `limit.units` is never allowed [-].
        """

    async def cached(self, dealer: str, digest: str) -> bytes | None:
        """Give a finished answer kept by `remember`; None when it is not there (any more) or the server is away.

        Parameters
        ----------
        dealer
            Whose answer it is [-].
        digest
            Digest of everything that the answer depends on; at most 200 characters [-].
        """

    async def remember(self, dealer: str, digest: str, body: bytes) -> None:
        """Keep a finished answer for a while; bounded in size and time, and never an error when it cannot be kept."""
