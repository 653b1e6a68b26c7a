"""What the rest of the service may ask of its state: catalogs, keys, counters and finished plans.

Rules of this module: one protocol, no behaviour; what is given and taken stands in `service.store.records`. Two stores keep
the contract: `service.store.folder.FolderStore` (one process, no server) and `service.store.redis_store.RedisStore`
(any number of workers). Whatever a plan needs is read from the worker's memory: `active` and `key` never wait.

Every name belongs to a dealer. A dealer's catalogs, keys, counters and finished plans do not exist for any other.

Staleness: a change made through another worker is seen here within `STALENESS_BOUND_S` while the server answers.
"""

from __future__ import annotations

from typing import Protocol

from service.store.records import (
    Allowance,
    CatalogRecord,
    KeyRecord,
    Parsed_co,
    PublishOutcome,
    RateLimit,
    RevisionRecord,
    Scope,
    Snapshot,
    Storefront,
    StoreStatus,
    Trouble,
)

__all__ = [
    "ANY_REVISION",
    "OPEN_DEALER",
    "STALENESS_BOUND_S",
    "Allowance",
    "CatalogRecord",
    "KeyRecord",
    "PublishOutcome",
    "RateLimit",
    "RevisionRecord",
    "Scope",
    "Snapshot",
    "Store",
    "StoreStatus",
    "Storefront",
    "Trouble",
]

ANY_REVISION = "*"
"""As `if_match`: replace whatever is active, knowingly [-]."""

OPEN_DEALER = "open"
"""The dealer that owns the catalogs shipped with the service, and whose callers need no key in open mode [-]."""

STALENESS_BOUND_S = 5.0
"""The longest time until a change made through one worker is seen by every other [s]."""


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
        """The active revision, from memory; None when the dealer has no such catalog."""

    def catalogs(self, dealer: str) -> tuple[CatalogRecord, ...]:
        """List the dealer's catalogs that have an active revision, by name, from memory."""

    async def revision(self, dealer: str, catalog_id: str, revision: str) -> Snapshot[Parsed_co]:
        """One revision, active or not.

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
        """What is known of a key, from memory; None when nothing is. Ask the record whether it is live."""

    def origins(self) -> frozenset[str]:
        """The web origins that any dealer's keys list, withdrawn keys aside, from memory.

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

    async def secret(self, name: str, made: bytes) -> bytes:
        """The installation's secret of a name; the first caller's is kept, for every worker and every start.

        Parameters
        ----------
        name
            What it is for [-].
        made
            What is kept when nothing is yet [-].

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
        """A finished answer kept by `remember`; None when it is not there (any more) or the server is away.

        Parameters
        ----------
        dealer
            Whose answer it is [-].
        digest
            Digest of everything that the answer depends on; at most 200 characters [-].
        """

    async def remember(self, dealer: str, digest: str, body: bytes) -> None:
        """Keep a finished answer for a while; bounded in size and time, and never an error when it cannot be kept."""
