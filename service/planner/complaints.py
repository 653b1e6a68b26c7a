"""Complaints of the validator as messages: what is wrong with a field of a request or a catalog.

Rules of this file
------------------
- Kinds of complaint are pydantic's own and those of ``fields.py``; a kind that is not listed is told by its name.
- Nothing of what was sent is repeated.
"""

import re
from collections.abc import Mapping
from typing import Any, Final

from service.planner.messages import Length, Message, Number, Value, filled, say

_QUOTED: Final = re.compile(r"'([^']*)'")
_OBJECT: Final = say("field.object", "must be an object")
_TEXT: Final = say("field.text", "must be text")
_INTEGER: Final = say("field.integer", "must be a whole number")
_NUMBER: Final = say("field.number", "must be a number")
_LIST: Final = say("field.list", "must be a list")
_UNKNOWN: Final = say("field.unknown", "is not a field here")
_MISSING: Final = say("field.missing", "is required")
_CHOICE: Final = say("field.choice", "must be one of {allowed}")
_LEAST: Final = say("field.least", "must be {least} at least")
_MOST: Final = say("field.most", "must be {most} at most")

_SAID: Final[Mapping[str, Message]] = {
    "missing": _MISSING,
    "union_tag_not_found": _MISSING,
    "unexpected_keyword_argument": _UNKNOWN,
    "invalid_key": _UNKNOWN,
    "extra_forbidden": _UNKNOWN,
    "dataclass_type": _OBJECT,
    "dict_type": _OBJECT,
    "model_attributes_type": _OBJECT,
    "string_type": _TEXT,
    "int_type": _INTEGER,
    "int_from_float": _INTEGER,
    "int_parsing": _INTEGER,
    "float_type": _NUMBER,
    "float_parsing": _NUMBER,
    "bool_type": say("field.flag", "must be true or false"),
    "tuple_type": _LIST,
    "list_type": _LIST,
    "none_required": say("field.null", "must be null"),
    "finite_number": say("field.finite", "must be a finite number"),
    "greater_than_equal": _LEAST,
    "less_than_equal": _MOST,
    "greater_than": say("field.more_than", "must be more than {least}"),
    "less_than": say("field.less_than", "must be less than {most}"),
    "too_short": say("field.entries_least", "needs {least} entries at least"),
    "too_long": say("field.entries_most", "may have {most} entries at most"),
    "string_too_short": say("field.characters_least", "needs {least} characters at least"),
    "string_too_long": say("field.characters_most", "may have {most} characters at most"),
    "string_pattern_mismatch": say("field.pattern", "must be of the form {pattern}"),
    "literal_error": _CHOICE,
    "enum": _CHOICE,
    "union_tag_invalid": _CHOICE,
    "length_text": say(
        "field.length_text", "a length is a number in millimetres or a text with its unit, such as {examples}"
    ),
    "measure_type": say("field.measure_type", "must be a number, or a text with its number and unit"),
    "measure_range": say("field.between", "must lie between {least} and {most}"),
    "measure_unit": say(
        "field.measure_unit", "is more than is plausible without its unit: give it with the unit"
    ),
    "no_such_day": say("field.no_such_day", "is no day of the calendar"),
    "length_type": say("field.length_type", "a length is a number in millimetres or a text with its unit"),
    "length_range": say("field.between", "must lie between {least} and {most}"),
    "money": say("field.money", "must be an amount of money as text, such as {example}, up to 9999999.99"),
    "money_zero": say("field.money_zero", "must be more than zero"),
}
"""What is said for each kind of complaint"""

_LIMITS: Final[Mapping[str, tuple[str, ...]]] = {
    "least": ("ge", "gt", "min_length", "least"),
    "most": ("le", "lt", "max_length", "greatest"),
}
"""What the validator calls a limit"""

_SIZES: Final = frozenset({"length_range"})
"""Kinds whose limits are lengths [nm]"""


def _limit(kind: str, value: Any) -> Value:  # noqa: ANN401  # a number of any kind, or what it could be made of
    """A limit as a value."""
    if kind in _SIZES:
        return Length(value)
    return Number(value) if isinstance(value, float) else value if isinstance(value, int) else str(value)


def choices(complaint: Mapping[str, Any]) -> tuple[str, ...]:
    """List what the validator would have taken, where it is one of a few."""
    context = complaint.get("ctx", {})
    return tuple(_QUOTED.findall(context.get("expected") or context.get("expected_tags") or ""))


def said(complaint: Mapping[str, Any]) -> Message:
    """Say what is wrong with a field.

    Parameters
    ----------
    complaint
        One entry of what pydantic's ``ValidationError.errors()`` lists.
    """
    kind, context = complaint["type"], complaint.get("ctx", {})
    message = _SAID.get(kind)
    if message is None:
        return say("field.other", "is not as the contract says ({kind})", kind=kind)
    words: dict[str, Value] = {
        "allowed": choices(complaint),
        "pattern": str(context.get("pattern", "")),
        "examples": ("24 in", "12' 6 1/2\"", "1.83 m"),
        "example": '"48.00"',
    }
    for name, given in _LIMITS.items():
        for its in given:
            if its in context:
                words[name] = _limit(kind, context[its])
    return filled(message, words)
