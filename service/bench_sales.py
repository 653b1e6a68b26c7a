"""Quotes and orders of realistic structures beside their plans: times, lengths of tokens, and what ordering together saves.

Rules of this file
------------------
- Every structure is quoted from the demo catalog with a key made for the run; one that cannot be built is left out.
- All times are of this process, in one run, with everything compiled before; the plan is the whole one, texts included.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from statistics import median, quantiles
from time import perf_counter
from typing import Final

import orjson
from pydantic import TypeAdapter

import service.store
from service.bench_specs import make_spec
from service.planner.asked.catalog import Catalog
from service.planner.asked.catalog_rules import read_catalog
from service.planner.asked.spec import Pricing, Spec
from service.planner.errors import SpecError
from service.planner.plan import Worked, make_plan, work_out
from service.planner.solver.effort import Effort
from service.planner.writing import ENGLISH, Writer
from service.sales.describing import describe_order
from service.sales.keys import Ring, new_ring, read_ring
from service.sales.orders import Structure, combine
from service.sales.quotes import dated, describe, pinned, read_pins, worked_again
from service.sales.shapes import OrderRequest
from service.sales.tokens import sign, verify

_SPEC: Final[TypeAdapter[Spec]] = TypeAdapter(Spec)
_DEMO: Final = Path(service.store.__file__).with_name("catalogs") / "demo.json"
_REVISION: Final = "r-00000000000000000000000000000000"
_UNITS: Final = 3_000_000
_DAYS: Final = 30
ORDERS: Final = (1, 2, 10, 40, 100)
"""Walls of the orders that are made [-]"""


def sales(count: int, seed: int) -> Iterator[str]:
    """Quote structures, order them, and give the lines of the tables.

    Parameters
    ----------
    count
        How many structures.
    seed
        Seed of the structures.
    """
    catalog, ring, now = (
        read_catalog(json.loads(_DEMO.read_text("utf-8"))),
        read_ring(new_ring()),
        datetime.now(UTC),
    )
    specs = list(_buildable(catalog, count, seed))
    planned, quoted, read, tokens = [], [], [], []
    for spec in specs:
        start = perf_counter()
        orjson.dumps(make_plan(spec, catalog, _REVISION))
        planned.append(perf_counter() - start)
        start = perf_counter()
        tokens.append(_quote(spec, catalog, ring, now))
        quoted.append(perf_counter() - start)
        start = perf_counter()
        worked_again(read_pins(verify(ring, tokens[-1])), spec, catalog)
        read.append(perf_counter() - start)
    yield "| operation | a second | median ms | 99th percentile ms |"
    yield "| --- | ---: | ---: | ---: |"
    for name, seconds in (
        ("whole plan", planned),
        ("quote made", quoted),
        ("quote verified and worked out again", read),
    ):
        highest = quantiles(seconds, n=100)[98]
        yield f"| {name} | {len(seconds) / sum(seconds):.0f} | {median(seconds) * 1e3:.1f} | {highest * 1e3:.1f} |"
    lengths = sorted(map(len, tokens))
    yield ""
    yield f"Tokens: {lengths[0]} to {lengths[-1]} characters, median {median(lengths):.0f}."
    yield ""
    yield from _orders(specs, catalog)


def _buildable(catalog: Catalog, count: int, seed: int) -> Iterator[Spec]:
    """Draw structures and leave out what the demo catalog cannot build."""
    for index in range(count):
        spec = _SPEC.validate_python(make_spec(Random(f"{seed}/{index}"), ""))  # noqa: S311 - no secret
        try:
            work_out(spec, catalog, Effort(_UNITS))
        except SpecError:
            continue
        yield replace(spec, pricing=Pricing())


def _quote(spec: Spec, catalog: Catalog, ring: Ring, now: datetime) -> str:
    """Make a quote as the service does, its answer's bytes included."""
    asked = dated(spec, now)
    worked = work_out(asked, catalog, Effort(_UNITS))
    claims = {"iss": "bench", "aud": "dealer", **pinned(asked, _REVISION, worked, _UNITS, now, _DAYS)}
    token = sign(ring, claims)
    orjson.dumps(describe(token, read_pins(claims), asked, worked))
    return token


def _orders(specs: Sequence[Spec], catalog: Catalog) -> Iterator[str]:
    """Order ever more walls together, with what that takes and saves."""
    yield "| walls | planned s | ordered s | apart | together | saved |"
    yield "| ---: | ---: | ---: | ---: | ---: | ---: |"
    for walls in ORDERS:
        if walls <= len(specs):
            yield _order(specs[:walls], catalog)


def _order(specs: Sequence[Spec], catalog: Catalog) -> str:
    start = perf_counter()
    worked: list[Worked] = [work_out(spec, catalog, Effort(_UNITS)) for spec in specs]
    middle = perf_counter()
    structures = [Structure(id=f"w{at}", reference="", worked=each) for at, each in enumerate(worked)]
    made = combine(structures)
    day = datetime.now(UTC).date().isoformat()
    orjson.dumps(describe_order(made, OrderRequest(), day, Writer(ENGLISH, "imperial")))
    end = perf_counter()
    apart, total = made.apart / 100, made.bill.total / 100
    return (
        f"| {len(specs)} | {middle - start:.2f} | {end - middle:.2f} | {apart:,.2f} | {total:,.2f}"
        f" | {1 - total / apart:.1%} |"
    )
