"""The rules of publishing that every store keeps.

Rules of this module: pure functions; where the state is kept is the stores' matter. The server's script
(`service.store.scripts.PUBLISH`) walks the same rules, because there the check and the writing must be one step.

What changes over time (an active revision, a key's record) is kept as a register: its generation, a space, its value.
Generations only grow, so whoever meets two values of one register knows which is later.
"""

import re
from collections.abc import Callable
from typing import TypeVar

import orjson

from service.store.contract import ANY_REVISION
from service.store.errors import ActiveRevisionDiffers, LimitReached, MatchRequired
from service.store.names import is_name
from service.store.revision import DOCUMENT_BYTES_MOST, canonical

Parsed = TypeVar("Parsed")

CATALOGS_MOST = 50
"""The most catalogs of a dealer [-]."""
REVISIONS_MOST = 10_000
"""The most revisions of a catalog [-]."""

POINTER_GENERATION_END = 2**52
"""No active revision is ever set that often: such a number is garbage [-]."""

_REGISTER = re.compile(rb"(\d{1,16}) (.*)", re.DOTALL)


def spell(document: object, parse: Callable[[object], Parsed]) -> tuple[bytes, Parsed]:
    """Check a document and give its spelling and the parsed catalog.

    Parameters
    ----------
    document
        Decoded JSON [-].
    parse
        The planner's reader of catalogs [-].

    Raises
    ------
    CatalogInvalid
        When the planner refuses it, or it is no plain JSON.
    LimitReached
        When it is too long.
    """
    spelling = canonical(document)
    if len(spelling) > DOCUMENT_BYTES_MOST:
        raise LimitReached("bytes in a catalog", DOCUMENT_BYTES_MOST)
    return spelling, parse(orjson.loads(spelling))


def check_match(current: str | None, revision: str, if_match: str | None, *, activate: bool) -> None:
    """Refuse a publication that would undo another's without knowing it.

    Parameters
    ----------
    current
        The active revision; None when none is [-].
    revision
        The revision that is published [-].
    if_match
        The active revision that the publisher has seen [-].
    activate
        Whether it becomes the active one [-].

    Raises
    ------
    ActiveRevisionDiffers, MatchRequired
        As stated in `service.store.contract.Store.publish`.
    """
    if current == revision or if_match == ANY_REVISION:
        return
    if if_match is not None and if_match != current:
        raise ActiveRevisionDiffers(if_match, current)
    if if_match is None and activate and current is not None:
        raise MatchRequired(current)


def write_register(generation: int, value: bytes) -> bytes:
    """Write a register."""
    return b"%d %b" % (generation, value)


def read_register(written: bytes | None) -> tuple[int, bytes] | None:
    """Read a register; None when it is anything else."""
    match = _REGISTER.fullmatch(written or b"")
    return None if match is None else (int(match[1]), match[2])


def read_pointer(written: bytes | None) -> tuple[int, str] | None:
    """Read a register that names a revision; None when it is anything else."""
    register = read_register(written)
    if register is None:
        return None
    revision = register[1].decode("ascii", "replace")
    sound = register[0] < POINTER_GENERATION_END and is_name("revision", revision)
    return (register[0], revision) if sound else None
