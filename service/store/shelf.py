"""Files of the embedded store, and how a file is replaced.

Rules of this module: plain file access that may wait; callers run it outside the event loop. Every file is written
beside its place and then moved into it, so that a reader, or the next start, finds the old file or the new one, whole.

    <shipped>/<catalog>.json                              a catalog of the open dealer
    <shipped>/<dealer>/<catalog>.json                     a catalog of a named dealer
    <folder>/<dealer>/catalogs/<catalog>/<revision>.json  a published document
    <folder>/<dealer>/catalogs/<catalog>/active           register: the active revision
    <folder>/<dealer>/keys/<digest>                       register: what is known of a key
    <folder>/secrets/<name>                               a secret of the installation, written once
"""

import os
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from service.store.contract import OPEN_DEALER
from service.store.names import is_name

BYTES_READ_MOST = 16_777_216
"""The longest file that is read [B]."""


def write_whole(path: Path, content: bytes) -> None:
    """Replace a file by a new one in one step, readable by its owner alone.

    Parameters
    ----------
    path
        The file's place; folders above are made [-].
    content
        The new content [-].
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def read_whole(path: Path) -> bytes | None:
    """Read a file; None when there is none, or it cannot be read or is too long."""
    try:
        return path.read_bytes() if path.stat().st_size <= BYTES_READ_MOST else None
    except OSError:
        return None


def shipped_documents(folder: Path) -> Iterator[tuple[str, str, bytes]]:
    """The dealer, name and text of every catalog that comes with the service, in the order of their names.

    Parameters
    ----------
    folder
        The folder of shipped catalogs [-].
    """
    for path in sorted(folder.glob("*.json")):
        yield OPEN_DEALER, path.stem, path.read_bytes()
    for path in sorted(folder.glob("*/*.json")):
        yield path.parent.name, path.stem, path.read_bytes()


@dataclass(frozen=True, slots=True)
class Shelf:
    """The folder that an embedded store writes to.

    Attributes
    ----------
    folder
        Its place [-].
    """

    folder: Path

    def active_registers(self) -> Iterator[tuple[str, str, bytes | None]]:
        """The dealer, the name and the active register of every catalog."""
        for path in sorted(self.folder.glob("*/catalogs/*/active")):
            dealer, catalog_id = path.parts[-4], path.parts[-2]
            if is_name("dealer", dealer) and is_name("catalog", catalog_id):
                yield dealer, catalog_id, read_whole(path)

    def key_registers(self) -> Iterator[tuple[str, str, bytes | None]]:
        """The dealer, the digest and the register of every key."""
        for path in sorted(self.folder.glob("*/keys/*")):
            dealer, digest = path.parts[-3], path.name
            if is_name("dealer", dealer) and is_name("key", digest):
                yield dealer, digest, read_whole(path)

    def revisions(self, dealer: str, catalog_id: str) -> dict[str, datetime | None]:
        """The published revisions of a catalog and when each was written, UTC."""
        paths = self._catalog(dealer, catalog_id).glob("r-*.json")
        return {path.stem: datetime.fromtimestamp(path.stat().st_mtime, UTC) for path in paths}

    def document(self, dealer: str, catalog_id: str, revision: str) -> bytes | None:
        """A published document."""
        return read_whole(self._catalog(dealer, catalog_id) / f"{revision}.json")

    def write_document(self, dealer: str, catalog_id: str, revision: str, document: bytes) -> None:
        """Keep a published document."""
        write_whole(self._catalog(dealer, catalog_id) / f"{revision}.json", document)

    def write_active(self, dealer: str, catalog_id: str, register: bytes) -> None:
        """Keep which revision is active."""
        write_whole(self._catalog(dealer, catalog_id) / "active", register)

    def write_key(self, dealer: str, digest: str, register: bytes) -> None:
        """Keep what is known of a key."""
        write_whole(self.folder / dealer / "keys" / digest, register)

    def secret(self, name: str, made: bytes) -> bytes:
        """A secret, keeping the one that was made when there is none; of two writers the first wins."""
        path = self.folder / "secrets" / name
        beside = path.with_name(f".{name}.{secrets.token_hex(4)}")
        write_whole(beside, made)
        try:
            os.link(beside, path)
        except FileExistsError:
            pass
        finally:
            beside.unlink()
        return path.read_bytes()

    def _catalog(self, dealer: str, catalog_id: str) -> Path:
        return self.folder / dealer / "catalogs" / catalog_id
