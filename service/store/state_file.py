"""The last good state, kept on the worker's disk so that it can start while the server is away.

Rules of this module: one file, replaced as a whole, with its own digest in front; a file that does not match its digest
counts as none. It holds digests of keys, never a key.
"""

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import orjson

from service.store.keys import read_record, write_record
from service.store.memory import WorkerMemory
from service.store.names import is_name
from service.store.revision import usable_snapshot
from service.store.shelf import write_whole

Parsed = TypeVar("Parsed")

FORMAT = 1
"""Grows when older readers would misread the file [-]."""


def save_state(path: Path, memory: WorkerMemory[Parsed]) -> None:
    """Write active catalogs and keys.

    Parameters
    ----------
    path
        The file's place [-].
    memory
        What is written [-].

    Raises
    ------
    OSError
        When it cannot be written; the old file stays.
    """
    catalogs = [
        [dealer, catalog_id, held.generation, held.snapshot.revision, held.snapshot.document.decode()]
        for (dealer, catalog_id), held in list(memory.catalogs.items())
    ]
    keys = [
        [dealer, digest, held.generation, write_record(held.record).decode()]
        for (dealer, digest), held in list(memory.keys.items())
    ]
    body = orjson.dumps({"format": FORMAT, "catalogs": catalogs, "keys": keys})
    write_whole(path, _digest(body) + b"\n" + body)


def load_state(path: Path, memory: WorkerMemory[Parsed], parse: Callable[[object], Parsed]) -> bool:
    """Read what `save_state` wrote into a memory; entries that are no longer usable are left out.

    Parameters
    ----------
    path
        The file's place [-].
    memory
        Where it is put [-].
    parse
        The planner's reader of catalogs [-].

    Returns
    -------
    bool
        Whether there was a whole file.
    """
    state = _read(path)
    if state is None:
        return False
    for dealer, catalog_id, generation, revision, document in state["catalogs"]:
        snapshot = usable_snapshot(dealer, catalog_id, revision, document.encode(), parse)
        if snapshot is not None and is_name("dealer", dealer) and is_name("catalog", catalog_id):
            memory.hold_catalog(generation, snapshot)
    for dealer, digest, generation, written in state["keys"]:
        record = read_record(dealer, digest, written)
        if record is not None:
            memory.hold_key(generation, record)
    return True


def _read(path: Path) -> dict[str, Any] | None:
    try:
        digest, _, body = path.read_bytes().partition(b"\n")
    except OSError:
        return None
    if digest != _digest(body):
        return None
    state: dict[str, Any] = orjson.loads(body)
    return state if state["format"] == FORMAT else None


def _digest(body: bytes) -> bytes:
    return hashlib.sha256(body).hexdigest().encode()
