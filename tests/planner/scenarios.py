"""Catalogs for tests, and how to change one thing in them.

A document is plain JSON data; an editing helper gives a changed copy and leaves its base alone.
"""

import json
from collections.abc import Mapping
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any, Final

import service.store
from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog

Document = dict[str, Any]
"""A catalog document as decoded JSON."""

DEMO_FILE: Final = Path(service.store.__file__).with_name("catalogs") / "demo.json"


def demo_document() -> Document:
    """Read the demo dealer's document."""
    document: Document = json.loads(DEMO_FILE.read_text("utf-8"))
    return document


@cache
def demo_catalog() -> Catalog:
    """Read the demo dealer's catalog."""
    return read_catalog(demo_document())


def _item(sku: str, price: str, mass_kg: float, role: str, **size: object) -> Document:
    """Write an item without packs whose description is its sku."""
    part = {"role": role, **size}
    return {"sku": sku, "description": sku, "price": price, "mass_kg": mass_kg, "part": part}


def _screw(sku: str, length: str, head: str, drive: str) -> Document:
    return _item(sku, "12.00", 0.005, "screw", number=10, length=length, head=head, drive=drive, point=3) | {
        "pack_size": 100
    }


def example_a_document() -> Document:
    """Write the stock of the hand-solved 28 x 88 ft tunnel with 22 bays of 4 ft.

    Its prices and lengths of sheet, baseboard and top channel decide the objectives of the hand solution:
    660.00 for the panels, 394.00 for the boards, 322.00 for the channel. Its board is 18 gauge, 0.052 in:
    two of them and a post of 0.095 in make the 0.199 in that a lap's screw must drill.
    """
    return {
        "title": "Stock of worked example A",
        "note": "Invented test data.",
        "currency": "USD",
        "allowances": {"joint": "18.00", "metal_joint": "2.00", "cut": "1.50"},
        "items": [
            _item(
                "sheet", "48.00", 6.69, "sheet", thickness="8 mm", length="144 in", width="48 in", u_value=3.3
            ),
            _item(
                "joint-profile",
                "6.00",
                0.36,
                "joint_profile",
                thickness="8 mm",
                length="8 ft",
                web="1/16 in",
                reach="1 in",
                leg="1.2 mm",
            ),
            _item(
                "board",
                "24.00",
                7.87,
                "baseboard",
                length="147 in",
                face="6 in",
                lap="3 in",
                metal="0.052 in",
                upper_line="5 1/4 in",
                lower_line="3/4 in",
            ),
            _item(
                "channel",
                "18.00",
                0.92,
                "top_channel",
                thickness="8 mm",
                length="12 ft",
                slot_depth="3/4 in",
                flange="1 in",
                metal="0.05 in",
            ),
            _item("plate", "1.00", 0.02, "splice_plate", length="6 in", metal="0.05 in"),
            _item(
                "film-channel",
                "19.00",
                1.4,
                "film_channel",
                length="12 ft",
                width="1 1/2 in",
                metal="0.05 in",
            ),
            _screw("pan-cross-long", "1 1/2 in", "pan", "cross"),
            _screw("hex-long", "1 1/2 in", "hex_washer", "hex"),
            _screw("pan-square-short", "3/4 in", "pan", "square"),
            _screw("hex-short", "3/4 in", "hex_washer", "hex"),
            _item("washer", "8.00", 0.0015, "washer", outer_diameter="5/8 in", thickness="0.1 in")
            | {"pack_size": 100},
            _item("foil", "28.00", 0.43, "foil_tape", width="3 in", length="33 m"),
            _item("hook", "1.40", 0.042, "rope_hook"),
            _item("bolt", "0.35", 0.014, "hook_bolt"),
            _item("nut", "0.20", 0.005, "lock_nut"),
            _item("flat-washer", "0.10", 0.003, "hook_washer"),
            _item("plug", "0.30", 0.001, "flute_plug"),
        ],
    }


@cache
def example_a_catalog() -> Catalog:
    """Read the stock of the hand-solved tunnel."""
    return read_catalog(example_a_document())


def with_part(base: Mapping[str, Any], sku: str, **changes: object) -> Document:
    """Change sizes of an item, as ``with_part(document, "board", lap="4 in")``."""
    return with_item(base, sku, part=_item_of(base, sku)["part"] | changes)


def with_item(base: Mapping[str, Any], sku: str, **changes: object) -> Document:
    """Change fields of an item, as ``with_item(document, "board", price="26.00")``."""
    document = deepcopy(dict(base))
    _item_of(document, sku).update(changes)
    return document


def with_items(base: Mapping[str, Any], *items: Document) -> Document:
    """Add items at the end of the list."""
    return {**deepcopy(dict(base)), "items": [*deepcopy(base["items"]), *items]}


def without_items(base: Mapping[str, Any], *skus: str) -> Document:
    """Leave items out."""
    return {**deepcopy(dict(base)), "items": [item for item in base["items"] if item["sku"] not in skus]}


def catalog_with(base: Mapping[str, Any], **changes: object) -> Catalog:
    """Read a document with top-level fields changed, as ``catalog_with(document, limits=[...])``."""
    return read_catalog({**base, **changes})


def _item_of(document: Mapping[str, Any], sku: str) -> Document:
    found: Document = next(item for item in document["items"] if item["sku"] == sku)
    return found
