"""What can go wrong with the service's state, as named errors that carry their causes as data.

These errors know nothing of HTTP: the edge maps each leaf to a status and a problem type.

    StoreError
    ├── IdentifierInvalid        a dealer, catalog, revision or key name that is not one
    ├── CatalogUnknown           the dealer has no such catalog
    ├── RevisionUnknown          the dealer's catalog has no such revision
    ├── ActiveRevisionDiffers    the writer has not seen the revision that is active now
    ├── MatchRequired            the writer does not say which active revision it replaces
    ├── LimitReached             one more would be more than the store keeps
    ├── KeyTaken                 a key with this digest belongs to another dealer
    ├── PriceListUnreadable      a price list that is no table of items
    └── StoreUnavailable         the server behind the store cannot take or give this now
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from service.planner.messages import Message


class StoreError(Exception):
    """Anything the store refuses or cannot do."""


class IdentifierInvalid(StoreError):
    """A name that is not of the permitted form.

    Attributes
    ----------
    kind
        What the name is for: ``dealer``, ``catalog``, ``revision`` or ``key`` [-].
    """

    def __init__(self, kind: str) -> None:
        super().__init__(f"this is not the name of a {kind}")
        self.kind = kind


class CatalogUnknown(StoreError):
    """The dealer has no such catalog (another dealer's catalogs do not exist for it).

    Attributes
    ----------
    catalog_id
        The name asked for [-].
    """

    def __init__(self, catalog_id: str) -> None:
        super().__init__(f"there is no catalog {catalog_id!r}")
        self.catalog_id = catalog_id


class RevisionUnknown(StoreError):
    """The dealer's catalog has no such revision.

    Attributes
    ----------
    catalog_id
        The catalog asked for [-].
    revision
        The revision asked for [-].
    """

    def __init__(self, catalog_id: str, revision: str) -> None:
        super().__init__(f"catalog {catalog_id!r} has no revision {revision!r}")
        self.catalog_id = catalog_id
        self.revision = revision


class ActiveRevisionDiffers(StoreError):
    """Another writer was first: the active revision is not the one this writer replaces.

    Attributes
    ----------
    expected
        The revision that the writer replaces [-].
    current
        The revision that is active now; None when none is [-].
    """

    def __init__(self, expected: str, current: str | None) -> None:
        super().__init__(f"the active revision is {current or 'none'}, not {expected}")
        self.expected = expected
        self.current = current


class MatchRequired(StoreError):
    """A revision is active, and the writer does not say that it has seen it.

    Attributes
    ----------
    current
        The revision that is active now [-].
    """

    def __init__(self, current: str) -> None:
        super().__init__(f"revision {current} is active: name it to replace it")
        self.current = current


class LimitReached(StoreError):
    """One more would be more than the store keeps.

    Attributes
    ----------
    what
        What is limited, in plain words [-].
    most
        The most there may be [-].
    """

    def __init__(self, what: str, most: int) -> None:
        super().__init__(f"at most {most} {what}")
        self.what = what
        self.most = most


class KeyTaken(StoreError):
    """A key with this digest belongs to another dealer."""

    def __init__(self) -> None:
        super().__init__("this key is in use already: issue another one")


class PriceListUnreadable(StoreError):
    """A price list as a whole is no table of items.

    Attributes
    ----------
    said
        What is wrong with it [-].
    """

    def __init__(self, said: Message) -> None:
        super().__init__(said.text)
        self.said = said


class StoreUnavailable(StoreError):
    """The server behind the store cannot take or give this now; repeating it later is safe.

    Attributes
    ----------
    retry_after_s
        When it is sensible to ask again [s].
    reason
        Why, as one word of `service.store.records.Trouble` [-].
    """

    def __init__(self, retry_after_s: int, reason: str) -> None:
        super().__init__(f"the catalog store is away ({reason}): ask again in {retry_after_s} s")
        self.retry_after_s = retry_after_s
        self.reason = reason
