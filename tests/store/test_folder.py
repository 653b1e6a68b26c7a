"""What the embedded store keeps on disk, and what it makes of a damaged disk."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from service.planner.asked.catalog_rules import read_catalog
from service.planner.errors import CatalogInvalid
from service.store.contract import OPEN_DEALER, Trouble
from service.store.errors import StoreUnavailable
from service.store.folder import FolderSettings, FolderStore
from service.store.shelf import write_whole
from tests.store.support import Items, catalog, key_record, read_items

pytestmark = pytest.mark.anyio

DIGEST = "ab" * 32


async def opened(folder: Path | None, shipped: Path | None = None) -> FolderStore[Items]:
    """A started store over folders."""
    store = FolderStore(FolderSettings(shipped=shipped, folder=folder), read_items)
    await store.start()
    return store


def ship(folder: Path, name: str, price: str) -> None:
    """Lay a catalog where shipped ones lie, written as people write."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(catalog(price), indent=4))


async def test_first_start_needs_nothing() -> None:
    """The shipped demo catalog is read by the planner's own reader, for callers without a key."""
    store = FolderStore(FolderSettings(), read_catalog)
    await store.start()
    snapshot = store.active(OPEN_DEALER, "demo")
    assert snapshot is not None
    assert await store.revision(OPEN_DEALER, "demo", snapshot.revision) is snapshot
    assert [record.revision for record in await store.revisions(OPEN_DEALER, "demo")] == [snapshot.revision]
    await store.close()


async def test_what_is_published_is_there_after_a_restart(tmp_path: Path) -> None:
    """Catalogs, which revision is active, older revisions and keys outlive the process."""
    store = await opened(tmp_path)
    first = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    second = await store.publish("ann", "main", catalog("2.00"), if_match=first.revision, activate=True)
    await store.activate("ann", "main", first.revision, if_match=second.revision)
    await store.put_key(key_record("ann", DIGEST))
    await store.close()
    again = await opened(tmp_path)
    assert again.catalogs("ann") == store.catalogs("ann")
    assert again.catalogs("ann")[0].revision == first.revision
    assert again.key(DIGEST) == key_record("ann", DIGEST)
    assert (await again.revision("ann", "main", second.revision)).catalog.items[0]["price"] == "2.00"
    assert {record.revision for record in await again.revisions("ann", "main")} == {
        first.revision,
        second.revision,
    }


async def test_published_catalog_goes_before_the_shipped_one(tmp_path: Path) -> None:
    """A dealer's publication replaces a shipped catalog, which stays there to roll back to, also after a restart."""
    shipped, folder = tmp_path / "shipped", tmp_path / "folder"
    ship(shipped, "demo.json", "1.00")
    ship(shipped, "ann/main.json", "5.00")
    store = await opened(folder, shipped)
    assert store.active("ann", "main") is not None
    original = store.active(OPEN_DEALER, "demo")
    assert original is not None
    changed = await store.publish(
        OPEN_DEALER, "demo", catalog("2.00"), if_match=original.revision, activate=True
    )
    store = await opened(folder, shipped)
    assert store.catalogs(OPEN_DEALER)[0].revision == changed.revision
    await store.activate(OPEN_DEALER, "demo", original.revision, if_match=changed.revision)
    store = await opened(folder, shipped)
    assert store.catalogs(OPEN_DEALER)[0].revision == original.revision


async def test_broken_shipped_catalog_stops_the_start(tmp_path: Path) -> None:
    """A fault of the installation is said at once, not at the first plan."""
    (tmp_path / "demo.json").write_text('{"items": [{}]}')
    with pytest.raises(CatalogInvalid):
        await opened(None, tmp_path)


@pytest.mark.parametrize("damage", ["document cut", "document changed", "pointer garbage", "key garbage"])
async def test_damaged_file_is_left_out_and_said(tmp_path: Path, damage: str) -> None:
    """One damaged file does not take the others with it."""
    store = await opened(tmp_path)
    main = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    await store.publish("ann", "other", catalog("1.00"), if_match=None, activate=True)
    await store.put_key(key_record("ann", DIGEST))
    document = tmp_path / "ann" / "catalogs" / "main" / f"{main.revision}.json"
    if damage == "document cut":
        document.write_bytes(document.read_bytes()[:-5])
    elif damage == "document changed":
        document.write_bytes(document.read_bytes().replace(b"1.00", b"0.01"))
    elif damage == "pointer garbage":
        document.with_name("active").write_bytes(b"\xff\x00")
    else:
        (tmp_path / "ann" / "keys" / DIGEST).write_bytes(b"1 {}")
    again = await opened(tmp_path)
    status = again.status()
    assert (status.degraded, status.trouble, status.rejected) == (True, Trouble.CORRUPT, 1)
    assert again.active("ann", "other") is not None
    assert (again.active("ann", "main") is None) == (damage != "key garbage")
    assert (again.key(DIGEST) is None) == (damage == "key garbage")
    if damage.startswith("document"):
        with pytest.raises(StoreUnavailable) as refusal:
            await again.revision("ann", "main", main.revision)
        assert refusal.value.reason == Trouble.CORRUPT


async def test_disk_that_takes_no_files_refuses_publishing_only(tmp_path: Path) -> None:
    """Plans go on; a publication is refused by name and leaves no trace; the next one that works clears the trouble."""
    blocked = tmp_path / "folder"
    store = await opened(blocked)
    blocked.write_text("a file where the folder should be")
    with pytest.raises(StoreUnavailable) as refusal:
        await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    assert refusal.value.reason == Trouble.REFUSES_WRITES
    assert store.active("ann", "main") is None
    assert store.status().trouble is Trouble.REFUSES_WRITES
    assert store.status().since is not None
    blocked.unlink()
    await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    assert not store.status().degraded


async def test_without_a_folder_publications_last_as_long_as_the_process() -> None:
    """Publishing works with nothing set up, and nothing is left behind."""
    store = await opened(None)
    outcome = await store.publish("ann", "main", catalog("1.00"), if_match=None, activate=True)
    second = await store.publish("ann", "main", catalog("2.00"), if_match=outcome.revision, activate=True)
    assert (await store.activate("ann", "main", outcome.revision, if_match=second.revision)).activated
    await store.close()
    assert (await opened(None)).active("ann", "main") is None


def test_file_is_replaced_whole_and_is_its_owners_alone(tmp_path: Path) -> None:
    """The new content stands in the file's place, nothing lies beside it, and nobody else may read it."""
    path = tmp_path / "deep" / "file"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(path.parent.iterdir()) == [path]
    assert path.stat().st_mode & 0o777 == 0o600


def test_file_that_cannot_be_replaced_stays(tmp_path: Path) -> None:
    """A failed replacement leaves the old file and no remains."""
    path = tmp_path / "file"
    path.mkdir()
    (path / "inside").write_text("old")
    with pytest.raises(OSError, match="file"):
        write_whole(path, b"new")
    assert [entry.name for entry in tmp_path.iterdir()] == ["file"]
