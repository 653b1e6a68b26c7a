"""The descriptor: the schema of the spec, and how a form presents it.

Rules of this file
------------------
- `schema` is JSON Schema 2020-12 of the spec as the contract has it; `presentation` is ours and never contradicts it.
- A default or a limit that is a length is written as people type it, in both kinds of display units.
- A question without a place in the schema is a mistake here and stops the service's tests, not a grower.
"""

from copy import deepcopy
from functools import cache
from typing import Any, Final

from pydantic import TypeAdapter

from service.form.asking import GROUPS, Group, Option, Question
from service.form.shapes import FieldOut, FormOut, GroupOut, OptionOut, UnitOut
from service.form.words import WORDS
from service.planner.asked.catalog import Catalog
from service.planner.asked.spec import Spec
from service.planner.messages import Message, say
from service.planner.pointers import read_pointer
from service.planner.rules import LIMITS
from service.planner.units import (
    FOOT,
    INCH,
    METRE,
    MILLIMETRE,
    SIXTEENTH,
    DisplayUnits,
    from_millimetres,
    round_down,
    round_up,
)
from service.planner.writing import Language, Writer

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_UNITS: Final[tuple[DisplayUnits, ...]] = ("imperial", "metric")
_LENGTH: Final = say(
    "form.type_length", "A number with its unit: ft, in, mm, cm or m, such as 5 ft, 4' 6 1/2\" or 1.2 m."
)
_TEMPERATURE: Final = say("form.type_temperature", "A number with its unit: 60 °F or 15 °C.")
_SPEED: Final = say("form.type_speed", "A number with its unit: mph, km/h, m/s or kn.")
_COUNT: Final = say("form.type_count", "A whole number.")


@cache
def schema() -> dict[str, Any]:
    """The schema of the spec; whoever changes it copies it first."""
    return {"$schema": DIALECT, **TypeAdapter(Spec).json_schema()}


def describe(
    catalog: Catalog, catalog_id: str, revision: str, language: Language, messages: dict[str, str]
) -> FormOut:
    """Describe the form.

    Parameters
    ----------
    catalog
        What is offered.
    catalog_id, revision
        Name it.
    language
        Of every text.
    messages
        What may be said of a field, by code.
    """
    maker = _Maker(catalog, language)
    return {
        "catalog": {"id": catalog_id, "revision": revision, "title": catalog.document.title},
        "language": language.tag,
        "schema": deepcopy(schema()),
        "presentation": {
            "groups": [maker.group(group, unfolded=place == 0) for place, group in enumerate(GROUPS)],
            "words": {word.code.removeprefix("form.ui."): maker.text(word) for word in WORDS},
            "messages": messages,
        },
    }


def node_of(pointer: str) -> dict[str, Any]:
    """The schema of a field, references followed; of an entry where the pointer has a `0`."""
    node = schema()
    for step in read_pointer(pointer):
        inner = _plain(node)
        node = inner["items"] if step == "0" else inner["properties"][step]
    return node


def _plain(node: dict[str, Any]) -> dict[str, Any]:
    """A schema without its references and its null."""
    while "$ref" in node or any(key in node for key in ("anyOf", "oneOf")):
        if "$ref" in node:
            node = schema()["$defs"][node["$ref"].rpartition("/")[2]]
            continue
        held = [inner for inner in node.get("anyOf", node.get("oneOf", ())) if inner.get("type") != "null"]
        node = next((inner for inner in held if "$ref" in inner), held[0])
    return node


def typed(size: int, units: DisplayUnits) -> str:
    """Write a length [nm] as somebody would type it."""
    if units == "metric":
        metres = abs(size) >= METRE and not size % (10 * MILLIMETRE)
        return f"{size / METRE:g} m" if metres else f"{round(size / MILLIMETRE, 1):g} mm"
    if size and not size % FOOT and abs(size) >= 2 * FOOT and size not in {2 * FOOT, 3 * FOOT}:
        return f"{size // FOOT} ft"
    if size % SIXTEENTH or not size % INCH:
        return f"{round(size / INCH, 3):g} in"
    whole, rest = divmod(size // SIXTEENTH, 16)
    return f"{whole} {rest}/16 in" if rest % 2 else f"{size / INCH:g} in"


class _Maker:
    """Makes the parts of one descriptor.

    Parameters
    ----------
    catalog
        What is offered.
    language
        Of every text.
    """

    def __init__(self, catalog: Catalog, language: Language) -> None:
        self._catalog = catalog
        self._writer = Writer(language)

    def text(self, message: Message | None) -> str:
        """Write a message."""
        return self._writer.text(message) if message else ""

    def group(self, group: Group, *, unfolded: bool) -> GroupOut:
        """Describe a group."""
        return {
            "name": group.name,
            "title": self.text(group.title),
            "open": unfolded,
            "fields": [self.field(question) for question in group.questions],
        }

    def field(self, question: Question, under: str = "") -> FieldOut:
        """Describe a question.

        Parameters
        ----------
        question
            The question.
        under
            Pointer of the entry that it is asked of.
        """
        node = node_of(under + question.pointer)
        made: FieldOut = {
            "pointer": question.pointer,
            "kind": question.kind,
            "label": self.text(question.label),
            "help": self.text(question.help),
            "required": question.needed,
            "default": {units: _default(question, node, units) for units in _UNITS},
            "example": dict(zip(_UNITS, question.example, strict=True)),
        }
        if question.picture:
            made["picture"] = question.picture
        if question.kind in {"count", "length", "measure"}:
            made["unit"] = self._unit(question)
            made["limits"] = {units: _limits(question, node, units) for units in _UNITS}
        if question.kind == "choice":
            made["options"] = self._options(question)
        if question.when:
            made["when"] = {"pointer": question.when.pointer, "is": list(question.when.values)}
        if question.entries:
            made["entries"] = [self.field(entry, f"{question.pointer}/0") for entry in question.entries]
            made["most"] = _plain(node)["maxItems"]
        return made

    def _unit(self, question: Question) -> UnitOut:
        if question.kind == "count":
            return {"how": self.text(_COUNT), "symbols": []}
        if question.kind == "length":
            return {"how": self.text(_LENGTH), "symbols": ["ft", "in", "mm", "cm", "m"]}
        if "temperature" in question.pointer:
            return {"how": self.text(_TEMPERATURE), "symbols": ["°F", "°C"]}
        return {"how": self.text(_SPEED), "symbols": ["mph", "km/h", "m/s", "kn"]}

    def _options(self, question: Question) -> list[OptionOut]:
        offered = question.stocked(self._catalog) if question.stocked else ()
        held: tuple[Option, ...] = (
            *question.options,
            *(Option(value=size.value, label=size.label) for size in offered),
        )
        return [{"value": option.value, "label": self.text(option.label)} for option in held]


def _default(question: Question, node: dict[str, Any], units: DisplayUnits) -> Any:  # noqa: ANN401  # a JSON value
    """What a question begins with, as people write it."""
    if question.limit:
        return typed(getattr(LIMITS[units], question.limit), units)
    held = node.get("default", question.start)
    if isinstance(held, int | float) and question.kind == "length":
        return typed(from_millimetres(held), units)
    if isinstance(held, int | float) and question.kind == "measure":
        return _measure(question, held, units)
    return held


def _measure(question: Question, value: float, units: DisplayUnits) -> str:
    """Write a temperature or a speed as people write it."""
    if "temperature" in question.pointer:
        return f"{value:g} °C" if units == "metric" else f"{value * 9 / 5 + 32:.0f} °F"
    return f"{value:g} m/s" if units == "metric" else f"{value / 0.44704:.0f} mph"


def _limits(question: Question, node: dict[str, Any], units: DisplayUnits) -> dict[str, str]:
    """The least and the greatest answer, as people write them."""
    plain = _number(node)
    least, greatest = plain["minimum"], plain["maximum"]
    if question.kind == "count":
        return {"least": str(least), "greatest": str(greatest)}
    if question.kind == "measure":
        return {"least": _measure(question, least, units), "greatest": _measure(question, greatest, units)}
    lower, upper = from_millimetres(least), from_millimetres(greatest)
    return {
        "least": typed(round_up(lower, _step(lower, units)), units),
        "greatest": typed(round_down(upper, _step(upper, units)), units),
    }


def _step(size: int, units: DisplayUnits) -> int:
    """The step that a limit is written in [nm]."""
    if units == "metric":
        return MILLIMETRE
    return FOOT if abs(size) >= 4 * FOOT else INCH // 8


def _number(node: dict[str, Any]) -> dict[str, Any]:
    """The part of a field's schema that is a number."""
    return node if "minimum" in node else next(filter(None, map(_inner_number, node.get("anyOf", ()))))


def _inner_number(node: dict[str, Any]) -> dict[str, Any] | None:
    if "minimum" in node:
        return node
    return next(filter(None, map(_inner_number, node.get("anyOf", ()))), None)
