"""How many bytes the standard answer takes, part by part: 12 bays of 4 ft from the demo catalog, in English.

Rules of this file
------------------
- Bytes are of the JSON as it is sent, before any content coding; beside them what they would be with every run
  described in full, and how much the texts and values of messages hold.
"""

import gzip
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import orjson
from pydantic import TypeAdapter

import service.store
from service.planner.answer.once import said_once
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.spec import Spec
from service.planner.plan import make_plan

STANDARD: Final = {
    "structure": {"bays": 12, "bay_spacing": "4 ft"},
    "wall": {"panel_thickness": "8 mm"},
}
"""The structure whose answer is measured"""
_SPEC: Final[TypeAdapter[Spec]] = TypeAdapter(Spec)
_DEMO: Final = Path(service.store.__file__).with_name("catalogs") / "demo.json"
_REVISION: Final = "r-00000000000000000000000000000000"


def sizes() -> Iterator[str]:
    """Give the lines of the table."""
    catalog = read_catalog(json.loads(_DEMO.read_text("utf-8")))
    plan = make_plan(_SPEC.validate_python(STANDARD), catalog, _REVISION)
    full: dict[str, Any] = dict(plan)
    sent: dict[str, Any] = dict(said_once(plan))
    yield "bytes of the standard answer, 12 bays of 4 ft on both sides: sent, with every run in full, of messages"
    for name, value in sent.items():
        yield f"  {_bytes(value):>7,} {_bytes(full[name]):>7,} {_messages(value):>7,}  {name}"
    yield f"  {_bytes(sent):>7,} {_bytes(full):>7,} {_messages(sent):>7,}  all"
    yield f"  {len(gzip.compress(orjson.dumps(sent), 4)):>7,} {len(gzip.compress(orjson.dumps(full), 4)):>7,}          all, with gzip"


def _bytes(value: object) -> int:
    """Bytes of a value as JSON [B]."""
    return len(orjson.dumps(value))


def _messages(value: object) -> int:
    """Bytes of the messages in a value [B]."""
    if isinstance(value, dict):
        if "code" in value and "text" in value:
            return _bytes({name: value[name] for name in ("code", "text", "values")})
        return sum(map(_messages, value.values()))
    return sum(map(_messages, value)) if isinstance(value, list) else 0
