"""The descriptor on the wire.

Rules of this file
------------------
- Typed dictionaries, for the contract only; every field says what a page does with it.
"""

from typing import Any, Literal, NotRequired

from pydantic import ConfigDict, with_config
from typing_extensions import TypedDict

_DOCUMENTED = with_config(ConfigDict(use_attribute_docstrings=True))


@_DOCUMENTED
class UnitOut(TypedDict):
    """How a measure is typed."""

    how: str
    """In words"""
    symbols: list[str]
    """The units that are read"""


@_DOCUMENTED
class OptionOut(TypedDict):
    """One answer to choose."""

    value: Any
    """What is sent; null is sent as null or left out"""
    label: str
    """What it is called"""


@_DOCUMENTED
class FieldOut(TypedDict):
    """One question of the form."""

    pointer: str
    """RFC 6901 pointer into the spec; within `entries` relative to the entry"""
    kind: Literal["count", "length", "measure", "choice", "flag", "list"]
    """A whole number; a length or another measure as a text with its unit; one of `options`; true or false; a list"""
    label: str
    """The question"""
    help: str
    """What to measure, or what it is for; empty where there is nothing to say"""
    required: bool
    """Whether a plan needs it"""
    default: dict[str, Any]
    """What is taken where it is left empty, by display units, as people write it; null for nothing"""
    example: dict[str, str]
    """Something that could be typed, by display units"""
    picture: NotRequired[str]
    """Names the part of the element's sketch that shows what to measure"""
    unit: NotRequired[UnitOut]
    """How it is typed"""
    limits: NotRequired[dict[str, dict[str, str]]]
    """`least` and `greatest`, by display units, as people write them"""
    options: NotRequired[list[OptionOut]]
    """What may be chosen; of stock only what this catalog offers"""
    when: NotRequired[dict[str, Any]]
    """`pointer` of another field and `is`, its values that make this one matter; else it is left out of the spec"""
    entries: NotRequired[list["FieldOut"]]
    """What is asked of each entry of a list"""
    most: NotRequired[int]
    """Entries at most"""


@_DOCUMENTED
class GroupOut(TypedDict):
    """Questions that belong together."""

    name: str
    """Names the group"""
    title: str
    """Its heading"""
    open: bool
    """Whether it is shown at once; others are folded and may stay so"""
    fields: list[FieldOut]
    """In order"""


@_DOCUMENTED
class PresentationOut(TypedDict):
    """How a form shows the spec."""

    groups: list[GroupOut]
    """In order"""
    words: dict[str, str]
    """What the form itself says, by name; brackets hold what is filled in"""
    messages: dict[str, str]
    """What may be said of a field, by the `code` of a problem's errors; braces hold its `values`"""


@_DOCUMENTED
class FormCatalogOut(TypedDict):
    """The catalog that the options are from."""

    id: str
    """Its id"""
    revision: str
    """Its active revision"""
    title: str
    """Its title"""


@_DOCUMENTED
class FormOut(TypedDict):
    """A form for the spec, with what one catalog offers and without any price."""

    catalog: FormCatalogOut
    language: str
    """BCP 47 tag of every text"""
    schema: dict[str, Any]
    """JSON Schema 2020-12 of the spec"""
    presentation: PresentationOut
