"""The state that a worker keeps on disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from service.store.memory import WorkerMemory
from service.store.revision import canonical, content_address, parse_snapshot
from service.store.state_file import load_state, save_state
from tests.store.support import Items, MovableClock, catalog, key_record, read_items

DIGEST = "ab" * 32


def empty() -> WorkerMemory[Items]:
    """A memory of nothing."""
    return WorkerMemory(MovableClock().clock(), 1000)


def filled() -> WorkerMemory[Items]:
    """A memory of one catalog and one key."""
    memory, document = empty(), canonical(catalog("1.00"))
    snapshot = parse_snapshot("ann", "main", content_address(document), document, read_items)
    memory.hold_catalog(3, snapshot)
    memory.hold_key(2, key_record("ann", DIGEST))
    return memory


def test_state_reads_back(tmp_path: Path) -> None:
    """Catalogs and keys come back with their generations."""
    memory, again = filled(), empty()
    save_state(tmp_path / "state", memory)
    assert load_state(tmp_path / "state", again, read_items)
    assert again.catalogs == memory.catalogs
    assert again.keys == memory.keys


@pytest.mark.parametrize("place", [0, 40, 70, 100, -1])
def test_damaged_state_counts_as_none(tmp_path: Path, place: int) -> None:
    """One changed byte anywhere, and the whole file is not believed."""
    path, again = tmp_path / "state", empty()
    save_state(path, filled())
    content = bytearray(path.read_bytes())
    content[place] ^= 1
    path.write_bytes(content)
    assert not load_state(path, again, read_items)
    assert again.catalogs == {}


@pytest.mark.parametrize("content", [b"", b"\n", b"garbage", b"\xff" * 100])
def test_other_file_counts_as_none(tmp_path: Path, content: bytes) -> None:
    """Anything else in the file's place is no state."""
    path = tmp_path / "state"
    path.write_bytes(content)
    assert not load_state(path, empty(), read_items)


def test_missing_state_counts_as_none(tmp_path: Path) -> None:
    """There is none before the first time."""
    assert not load_state(tmp_path / "state", empty(), read_items)


def test_catalog_that_is_refused_today_is_left_out(tmp_path: Path) -> None:
    """A catalog that this version cannot use does not keep the keys from being read."""

    def refuse(_: object) -> Items:
        raise ValueError

    path, again = tmp_path / "state", empty()
    save_state(path, filled())
    assert load_state(path, again, refuse)
    assert again.catalogs == {}
    assert again.key(DIGEST) is not None
