"""The crew's packet: everything that is needed on site, as a tagged PDF.

Rules of this file
------------------
- What is said goes into the typesetter as values, as one JSON text; the source that it compiles is a file of this folder.
- PDF/UA-1: the typesetter refuses a document with a picture that has no words or a heading out of order.
- The same plan, language, paper and choice give the same bytes: no date, no name of a machine.
- One compiler a thread; it keeps its fonts.
"""

import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal

import orjson
import typst

from service.paper.cutting import cuttings
from service.paper.details import details
from service.paper.drawing import Drawing
from service.paper.elevation import count_elevations, elevations
from service.paper.lettering import FONTS, printable
from service.paper.reading import message, runs
from service.paper.sections import sections
from service.paper.site_words import attention, care, cautions, others, steps, what_is_built
from service.paper.templates import templates
from service.paper.tunnel import tunnel
from service.paper.words import Words
from service.planner.answer.layout_shapes import RunOut
from service.planner.answer.shapes import Plan

PaperSize = Literal["a4", "us-letter"]
MOST_DRAWINGS: Final = 400
"""Drawings of one packet at most, about two to a page [-]"""
MOST_MARKS: Final = 20_000
"""Rows of marks of one packet at most, about fifty to a page [-]"""
_WIDTH: Final = 180.0
"""Between the margins of either paper [mm]"""
_SCALE: Final = 40
"""Elevations are 1:40 or smaller, so that three stand on a page [-]"""
_LABELS: Final = (
    "cautions", "outcome", "wall", "order", "others", "cutting", "drilling", "marks", "screws", "steps", "tools",
    "parts", "hold", "signed", "as_built", "as_built_told", "spares", "care",
)  # fmt: skip
_compilers: Final = threading.local()


class PacketTooLong(Exception):
    """The packet would have more pages than are set."""

    def __init__(self, drawings: int, marks: int) -> None:
        super().__init__(f"{drawings} drawings and {marks} marks")
        self.drawings = drawings
        self.marks = marks


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """How a packet is wanted."""

    paper: PaperSize = "a4"
    """Paper to print on"""
    prices: bool = False
    """Whether the order list has prices"""


def packet(plan: Plan, words: Words, choice: Choice) -> bytes:
    """Typeset the packet of a plan.

    Parameters
    ----------
    plan
        The plan.
    words
        Writes in the crew's language.
    choice
        Paper, and whether with prices.

    Returns
    -------
        A PDF.

    Raises
    ------
    PacketTooLong
        When it would have more pages than are set.
    """
    data = orjson.dumps(_clean(_contents(plan, words, choice))).decode()
    pdf = compiler().compile(
        input=source("packet.typ"), format="pdf", sys_inputs={"data": data}, pdf_standards="ua-1", timestamp=0
    )
    assert isinstance(pdf, bytes), "one document gives one file"  # noqa: S101  # for the type checker
    return pdf


@cache
def source(name: str) -> bytes:
    """Read the source of a document."""
    return (Path(__file__).parent / name).read_bytes()


def compiler() -> typst.Compiler:
    """Give this thread's compiler."""
    held = getattr(_compilers, "held", None)
    if held is None:
        held = _compilers.held = typst.Compiler(font_paths=[FONTS], ignore_system_fonts=True)
    return held


def _clean(value: Any) -> Any:  # noqa: ANN401  # any JSON
    """Replace what the font cannot write, in every text but the drawings, which have done so."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, list):
        return [_clean(inner) for inner in value]
    if isinstance(value, dict):
        return {name: inner if name == "svg" else _clean(inner) for name, inner in value.items()}
    return value


def _pictures(drawings: Iterable[Drawing]) -> list[dict[str, Any]]:
    return [
        {
            "svg": drawing.svg.decode(),
            "alt": f"{drawing.title}. {drawing.description}",
            "width": drawing.width,
        }
        for drawing in drawings
    ]


def _drawings(plan: Plan, words: Words) -> dict[str, list[dict[str, Any]]]:
    """Draw everything that the packet shows."""
    return {
        "elevations": _pictures(elevations(plan, words, _WIDTH, _SCALE)),
        "cuttings": _pictures(cuttings(plan, words, _WIDTH)),
        "templates": _pictures(templates(plan, words, _WIDTH)),
        "sections": _pictures(sections(plan, words, _WIDTH)),
        "details": _pictures(details(plan, words, _WIDTH)),
    }


def _contents(plan: Plan, words: Words, choice: Choice) -> dict[str, Any]:
    """Gather what the packet says."""
    marks = sum(len(run["marks"]) for run in runs(plan))
    sheets = count_elevations(plan, _WIDTH, _SCALE)
    if marks > MOST_MARKS or sheets > MOST_DRAWINGS:
        raise PacketTooLong(sheets, marks)
    drawn = _drawings(plan, words)
    count = sum(map(len, drawn.values()))
    if count > MOST_DRAWINGS:
        raise PacketTooLong(count, marks)
    return {
        **drawn,
        "language": words.language,
        "paper": choice.paper,
        "title": words("packet"),
        "footer": f"{plan['reference']}  {plan['plan_id']}"[:110],
        "words": {name: words(f"packet_{name}") for name in _LABELS},
        "cover": _cover(plan, words),
        "cautions": cautions(plan),
        "attention": attention(plan),
        "outcome": words(f"outcome_{plan['summary']['outcome']}"),
        "tunnel": _pictures([tunnel(plan, words, _WIDTH, themed=False)])[0],
        **_order(plan, words, choice),
        "others": others(plan),
        "runs": [_run(run, words) for run in runs(plan)],
        "marks_head": [words("head_from_zero"), words("head_what"), words("head_done")],
        "built_head": [words("head_post"), words("head_planned"), words("head_built"), words("head_note")],
        "steps": steps(plan),
        "care": care(words),
        "spares": [
            words("spare", count=f"{line['spare']:g}", sku=line["sku"], item=message(line["description"]))
            for line in plan["bill_of_materials"]["lines"]
            if line["spare"]
        ],
    }


def _cover(plan: Plan, words: Words) -> list[list[str]]:
    """Say what is built, from what."""
    catalog = plan["catalog"]
    return [
        [words("cover_job"), plan["reference"] or "-"],
        [words("cover_what"), what_is_built(plan, words)],
        [words("cover_plan"), plan["plan_id"]],
        [words("cover_catalog"), f"{catalog['title']}, {catalog['revision']}"],
        [words("cover_where"), "_" * 40],
        [words("cover_when"), "_" * 40],
    ]


def _order(plan: Plan, words: Words, choice: Choice) -> dict[str, Any]:
    """List what is bought, with prices only where asked for."""
    bill = plan["bill_of_materials"]
    lines = [
        [
            line["sku"],
            message(line["description"]),
            f"{line['packs']:g}",
            f"{line['quantity']:g} {_unit(line['unit'], words)}",
        ]
        + ([line["pack_price"], line["amount"]] if choice.prices else [])
        for line in bill["lines"]
    ]
    head = [words("head_sku"), words("head_item"), words("head_packs"), words("head_holds")]
    total = words("total", currency=bill["currency"], total=bill["total"]) if choice.prices else None
    prices = [words("head_price"), words("head_amount")] if choice.prices else []
    return {"order_head": head, "price_head": prices, "order": lines, "total": total}


def _unit(code: str, words: Words) -> str:
    """Name a unit of UN/CEFACT Recommendation 20."""
    return words.role("unit", code)


def _run(run: RunOut, words: Words) -> dict[str, Any]:
    """List what is marked along a run, and its posts."""
    return {
        "title": words("run", run=run["id"]),
        "marks": [[mark["x_text"], message(mark["at"])] for mark in run["marks"]],
        "posts": [[support["label"], _post(run, support["x_mm"])] for support in run["supports"]],
    }


def _post(run: RunOut, x_mm: float) -> str:
    """A support's distance from zero as the marks write it."""
    return min(run["marks"], key=lambda mark: abs(mark["x_mm"] - x_mm))["x_text"]
