"""What a revision is: a catalog document named by its own content.

Rules of this module: pure functions. One document has one spelling, so equal catalogs have equal names everywhere, and
a stored document that does not have its own name is known to be damaged.

The spelling follows RFC 8785 in what matters here (no white space, members sorted, UTF-8), not in how it writes
numbers: 1 and 1.0 are two spellings.
"""

import hashlib
from collections.abc import Callable
from typing import TypeVar

import orjson

from service.planner.errors import CatalogInvalid, FieldProblem
from service.planner.messages import say
from service.store.contract import Snapshot

Parsed = TypeVar("Parsed")

DOCUMENT_BYTES_MOST = 1_048_576
"""The longest document that is kept [B]."""


def canonical(document: object) -> bytes:
    """Write a document in its one spelling.

    Parameters
    ----------
    document
        Decoded JSON [-].

    Raises
    ------
    CatalogInvalid
        When the document holds what has no such spelling: too deep, integers beyond 64 bits, no text.
    """
    try:
        return orjson.dumps(document, option=orjson.OPT_SORT_KEYS)
    except (TypeError, RecursionError) as error:
        problem = FieldProblem(pointer="", detail=say("catalog.no_json", "cannot be written as plain JSON"))
        raise CatalogInvalid(say("catalog.not_plain", "The catalog is no plain JSON."), [problem]) from error


def content_address(spelling: bytes) -> str:
    """Name a document by its content.

    Parameters
    ----------
    spelling
        The document as written by `canonical` [-].
    """
    return "r-" + hashlib.sha256(spelling).hexdigest()[:32]


class DocumentDamaged(Exception):
    """A stored document is not the one that its name promises."""


def parse_snapshot(
    dealer: str, catalog_id: str, revision: str, document: bytes, parse: Callable[[object], Parsed]
) -> Snapshot[Parsed]:
    """Make a stored document usable.

    Parameters
    ----------
    dealer
        Whose it is [-].
    catalog_id
        The catalog's name [-].
    revision
        The name that the document must have [-].
    document
        What was stored under that name [-].
    parse
        The planner's reader of catalogs [-].

    Raises
    ------
    DocumentDamaged
        When the document has another name by its content.
    CatalogInvalid
        When the planner refuses it, which an older or newer one may not have done.
    """
    if content_address(document) != revision:
        raise DocumentDamaged
    catalog = parse(orjson.loads(document))
    return Snapshot(
        dealer=dealer, catalog_id=catalog_id, revision=revision, document=document, catalog=catalog
    )


def usable_snapshot(
    dealer: str, catalog_id: str, revision: str, document: bytes, parse: Callable[[object], Parsed]
) -> Snapshot[Parsed] | None:
    """Make a stored document usable if it is; None otherwise. The parameters are those of `parse_snapshot`."""
    try:
        return parse_snapshot(dealer, catalog_id, revision, document, parse)
    except Exception:  # noqa: BLE001 - whatever a stored document provokes, the last good one must stay in use
        return None
