"""Where labels go so that none touches another.

Rules of this file
------------------
- Along the wall, labels take the first lane where they are free; across it, labels are pushed apart in their order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(slots=True)
class Lanes:
    """Lanes of labels that lie under each other."""

    left: float
    """No label begins before [mm of paper]"""
    right: float
    """No label ends after [mm of paper]"""
    gap: float = 1.2
    """Between two labels of a lane [mm of paper]"""
    taken: list[list[tuple[float, float]]] = field(default_factory=list)
    """What is taken of each lane"""

    def place(self, middle: float, width: float) -> tuple[int, float]:
        """Find room for a label.

        Parameters
        ----------
        middle
            Where its middle should fall [mm of paper].
        width
            How long it is [mm of paper].

        Returns
        -------
            The lane, and where its middle falls: moved only to stay on the sheet.
        """
        start = min(max(middle - width / 2, self.left), max(self.left, self.right - width))
        end = start + width
        for lane, spans in enumerate(self.taken):
            if all(end + self.gap <= begun or ended + self.gap <= start for begun, ended in spans):
                spans.append((start, end))
                return lane, start + width / 2
        self.taken.append([(start, end)])
        return len(self.taken) - 1, start + width / 2

    def __len__(self) -> int:
        """Count the lanes in use."""
        return len(self.taken)


def spread(wanted: Sequence[float], pitch: float) -> list[float]:
    """Push positions apart to at least a pitch, keeping their order and moving them as a block about its middle.

    Parameters
    ----------
    wanted
        Positions in growing order.
    pitch
        The least distance.

    Returns
    -------
        Positions in the same order.
    """
    blocks: list[tuple[float, int]] = []
    for position in wanted:
        middle, count = position, 1
        while blocks and middle - blocks[-1][0] < (count + blocks[-1][1]) * pitch / 2:
            before, held = blocks.pop()
            middle, count = (before * held + middle * count) / (held + count), held + count
        blocks.append((middle, count))
    return [middle + (index - (count - 1) / 2) * pitch for middle, count in blocks for index in range(count)]
