"""Drawings and packets of walls of several lengths: time and size of each kind, beside the plan's own time.

Rules of this file
------------------
- Walls of equal bays from the demo catalog; each is drawn and typeset twice and the second time counts, so that fonts and
  the typesetter are loaded.
- All times are of this process, in one run, with everything compiled before.
"""

import json
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from resource import RUSAGE_SELF, getrusage
from time import perf_counter
from typing import Final, TypeVar

from pydantic import TypeAdapter

import service.store
from service.paper.drawings import KINDS, draw
from service.paper.labels import LabelStock, labels
from service.paper.packet import Choice, packet
from service.paper.pixels import png
from service.paper.words import Words
from service.planner.answer.shapes import Plan
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.spec import Spec
from service.planner.plan import make_plan
from service.planner.writing import ENGLISH

BAYS: Final = (2, 22, 44, 120)
"""Bays of the walls, on both sides [-]"""
Result = TypeVar("Result")
_SPEC: Final[TypeAdapter[Spec]] = TypeAdapter(Spec)
_DEMO: Final = Path(service.store.__file__).with_name("catalogs") / "demo.json"


def paper() -> Iterator[str]:
    """Draw and typeset the walls, and give the lines of the table."""
    catalog, words = read_catalog(json.loads(_DEMO.read_text("utf-8"))), Words(ENGLISH)
    yield "| bays | what | ms | kB |"
    yield "| ---: | --- | ---: | ---: |"
    for bays in BAYS:
        body = {"structure": {"bays": bays, "bay_spacing": "4 ft"}, "wall": {"panel_thickness": "8 mm"}}
        spec = _SPEC.validate_python(body)
        seconds, plan = _timed(partial(make_plan, spec, catalog, "r-0"))
        yield f"| {bays} | plan | {seconds * 1e3:.1f} | |"
        for name, make in _made(plan, words).items():
            seconds, size = _timed(make)
            yield f"| {bays} | {name} | {seconds * 1e3:.1f} | {size / 1e3:.0f} |"
    yield ""
    yield f"Most memory of this process: {getrusage(RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB."


def _made(plan: Plan, words: Words) -> dict[str, Callable[[], int]]:
    """Name what is made from a plan; each gives its size [B]."""

    def drawn(kind: str) -> int:
        return sum(len(drawing.svg) for drawing in draw(plan, [kind], words))

    def picture() -> int:
        return len(png(next(draw(plan, ["tunnel"], words)).svg.decode(), 1200))

    return {
        **{f"drawings: {kind}": partial(drawn, kind) for kind in KINDS},
        "tunnel as PNG, 1200 px": picture,
        "packet": lambda: len(packet(plan, words, Choice())),
        "labels": lambda: len(labels(plan, words, LabelStock())),
    }


def _timed(make: Callable[[], Result]) -> tuple[float, Result]:
    """Do something twice and time the second."""
    make()
    start = perf_counter()
    result = make()
    return perf_counter() - start, result
