"""Different structures without end, the same ones in the same order every time.

Rules of this module: what a caller of a storefront may well ask, varied by small steps; nothing random.
"""

from __future__ import annotations

import json
from collections.abc import Iterator

BAYS = range(8, 41)
"""Bays of a tunnel [-]"""
SPACINGS = range(1000, 1800)
"""Post centre to post centre [mm]"""


def different() -> Iterator[bytes]:
    """Give bodies of which no two are the same structure, for 26,400 requests."""
    for spacing in SPACINGS:
        for bays in BAYS:
            # Strides that share no factor with the ranges mix small and large tunnels, wide and narrow bays.
            structure = {
                "bays": BAYS[bays * 7 % len(BAYS)],
                "bay_spacing": SPACINGS[spacing * 37 % len(SPACINGS)],
            }
            yield json.dumps({"structure": structure, "wall": {"panel_thickness": "8 mm"}}).encode()
