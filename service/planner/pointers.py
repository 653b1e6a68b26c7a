"""RFC 6901 pointers: how a place in a JSON document is written and read.

Rules of this file
------------------
- One writer and one reader serve the whole service; no other module escapes a step.
- A step that is no Unicode text (a lone surrogate) is written with a question mark, so that every answer can be encoded.
"""

from collections.abc import Iterable


def write_pointer(steps: Iterable[str | int]) -> str:
    """Write steps as an RFC 6901 pointer.

    Parameters
    ----------
    steps
        Names of members and indices of elements, from the root.
    """
    return "".join("/" + _escaped(str(step)) for step in steps)


def read_pointer(pointer: str) -> tuple[str, ...]:
    """Read the steps of an RFC 6901 pointer.

    Parameters
    ----------
    pointer
        The pointer, empty for the whole document.
    """
    return tuple(_plain(step) for step in pointer.split("/")[1:])


def _escaped(step: str) -> str:
    """Escape a step, RFC 6901 section 3."""
    plain = step.encode("utf-8", "replace").decode()
    return plain.replace("~", "~0").replace("/", "~1")


def _plain(step: str) -> str:
    """Take back what `_escaped` did, RFC 6901 section 4: ~1 before ~0."""
    return step.replace("~1", "/").replace("~0", "~")
