"""Where the compiled solver is kept: made once for a processor, shared by all workers of a machine, never stale.

Rules of this file
------------------
- The folder's name is a digest of every source that compiled code is made of, so an edit anywhere takes a new folder and
  nothing has to be cleared by hand.
- The first folder that serves is taken: one that is complete, else ``NUMBA_CACHE_DIR``, the package itself, the user's cache.
- Of several workers that start together one compiles and the others wait for it.
"""

import fcntl
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from llvmlite import binding
from numba.core import config
from numba.core.caching import _CacheLocator

PACKAGE: Final = Path(__file__).parent
FOLDER: Final = "__machine_code__"
"""Name of the folder inside each place that may hold it"""
KEPT: Final = 3
"""How many digests a folder keeps, the newest [-]"""
_SETTINGS: Final[Any] = config
"""The compiler's settings, made from the environment when it is imported"""


def sources() -> list[Path]:
    """List all sources that compiled code is made of: the solver, and what else holds compiled functions or constants of theirs.

    Compiled functions name nothing of other modules; a test holds them to it.
    """
    planner = PACKAGE / "planner"
    compiled = {file for file in planner.rglob("*.py") if b"\n@compiled" in file.read_bytes()}
    return sorted({*compiled, *(planner / "solver").rglob("*.py"), planner / "units.py"})


@cache
def digest() -> str:
    """Digest all sources that compiled code is made of."""
    whole = sha256()
    for file in sources():
        whole.update(str(file.relative_to(PACKAGE)).encode() + b"\0" + file.read_bytes() + b"\0")
    return whole.hexdigest()[:24]


def _places() -> Iterator[Path]:
    """List the places that may hold compiled code, the best first."""
    if _SETTINGS.CACHE_DIR:
        yield Path(_SETTINGS.CACHE_DIR)
    yield PACKAGE
    cached = os.environ.get("XDG_CACHE_HOME") or (Path.home() / ".cache" if "HOME" in os.environ else None)
    if cached:
        yield Path(cached) / "shin-wall"
    yield Path(tempfile.gettempdir()) / f"shin-wall-{os.getuid()}"


def _mark(folder: Path) -> Path:
    """Name the mark that says: everything is compiled here for this kind of processor."""
    return folder / f"complete-{_SETTINGS.CPU_NAME or binding.get_host_cpu_name()}"


@cache
def folder() -> Path:
    """Find the folder for the sources as they are: a complete one, else the first that can be written to.

    Raises
    ------
    OSError
        When there is no folder on this machine that can be written to.
    """
    own = [place / FOLDER / digest() for place in _places()]
    for path in own:
        if _mark(path).exists():
            return path
    for path in own:
        try:
            path.mkdir(parents=True, exist_ok=True)
            tempfile.TemporaryFile(dir=path).close()
        except OSError:
            continue
        return path
    raise OSError(f"Compiled code can be kept in none of {', '.join(str(path.parent) for path in own)}.")


@contextmanager
def compiled_once() -> Iterator[None]:
    """Let one process compile while others wait, and mark the folder complete; no wait where it already is."""
    own = folder()
    if _mark(own).exists():
        yield
        return
    with (own / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield
        _mark(own).touch()
    _drop_old(own)


def _drop_old(own: Path) -> None:
    """Drop what older sources left, but for the newest few, which a worker of the version before may still use."""
    others = sorted(
        (path for path in own.parent.iterdir() if path != own), key=lambda path: path.stat().st_mtime
    )
    for path in others[: max(0, len(others) + 1 - KEPT)]:
        shutil.rmtree(path, ignore_errors=True)


class SourcesLocator(_CacheLocator):
    """Tells the compiler where a function's machine code is kept."""

    def __init__(self, py_func: Callable[..., object], py_file: str) -> None:
        self._line = py_func.__code__.co_firstlineno
        self._path = folder() / ".".join(Path(py_file).relative_to(PACKAGE).parent.parts)

    def get_cache_path(self) -> str:
        """Name the folder of a function's machine code."""
        return str(self._path)

    def get_source_stamp(self) -> str:
        """Stamp what the code was made of: all sources together."""
        return digest()

    def get_disambiguator(self) -> str:
        """Tell functions of one name apart."""
        return str(self._line)

    @classmethod
    def from_function(cls, py_func: Callable[..., object], py_file: str) -> "SourcesLocator | None":
        """Take functions of the planner; others keep the compiler's own ways."""
        inside = Path(py_file).is_relative_to(PACKAGE / "planner")
        return cls(py_func, py_file) if inside else None
