"""Messages: what a person is told, as a code, an English text and the values in it.

The path of a message::

    say("notice.flutes_along", "Flutes lie along the {wall}.", wall=Length(z))   where it is decided, anywhere in the planner
      -> Message(code, text, values)                                             travels as data in steps, checks, errors
      -> Writer(language, units)                                                 handed in from the edge, `writing.py`
      -> {"code": .., "text": .., "values": {"wall_mm": ..}}                     on the wire

Rules of this file
------------------
- A text is a whole sentence, a title or a noun, written as a literal where it is said, so that it can be found and
  translated (`python -m service words`). Its code is its name for ever: one code, one text. Nothing is glued together
  from halves of sentences; where the words differ, there are two codes.
- Braces hold names of values and nothing else. Every value is named in the text and every name has its value.
- Values are exact and know no language: lengths are nanometres, nouns are terms. A date is an ISO 8601 text, which
  reads the same everywhere; ids, labels and skus are texts that stand as they are.
"""

from collections.abc import Mapping
from string import Formatter
from typing import TypeAlias

from msgspec import Struct

from service.planner.keeping import remembered
from service.planner.records import record


class Length(Struct, frozen=True, gc=False):
    """A length, written in the display units; on the wire in millimetres, its name ending in ``_mm``."""

    size: int
    """[nm]"""
    decimals: int | None = None
    """Decimals of an inch, one fewer of a millimetre; as a tape reads where it is none [-]"""


class Bore(Struct, frozen=True, gc=False):
    """The size of a drill, in 64ths of an inch or tenths of a millimetre; on the wire as a length."""

    size: int
    """[nm]"""


class Number(Struct, frozen=True, gc=False):
    """A number with the language's decimal mark."""

    value: float
    """Any unit; the text names it [-]"""
    decimals: int | None = None
    """Decimals shown; as many as it has, six digits at most, where it is none [-]"""


class Share(Struct, frozen=True, gc=False):
    """A share of a hundred, written with its percent sign; its name on the wire ends in ``_percent``."""

    percent: float
    """[%]"""
    decimals: int = 0
    """Decimals shown [-]"""


class Money(Struct, frozen=True, gc=False):
    """An amount with its currency."""

    hundredths: int
    """Hundredths of the currency [-]"""
    currency: str
    """ISO 4217 code"""


@record
class Noun:
    """A thing that a text names; a term of the trade has one home and is used wherever the thing is said."""

    code: str
    """Its name on the wire"""
    one: str
    """English, one of it"""
    many: str
    """English, several of it"""


class Counted(Struct, frozen=True, gc=False):
    """How many there are of a thing, with its noun: 1 sheet, 2 sheets; on the wire the number."""

    number: int
    """How many [-]"""
    noun: Noun
    """Of what"""


class All(Struct, frozen=True, gc=False):
    """Several things of which each counts: a, b and c."""

    things: tuple["Value", ...]
    """At least one"""


@record
class Message:
    """What a person is told."""

    code: str
    """Its name for programs and translators, such as ``notice.kerf_loss``"""
    text: str
    """English, with the names of its values in braces"""
    values: Mapping[str, "Value"]
    """What stands for each name"""
    several: str = ""
    """English where ``count`` is not one; empty where the text has one form"""

    def __hash__(self) -> int:
        """Tell messages apart by their codes; their values need no hash."""
        return hash(self.code)


Value: TypeAlias = (
    "str | int | Length | Bore | Number | Share | Money | Noun | Counted | All | Message | tuple[Value, ...]"
)
"""What may stand in a text; an int is a count, a tuple is listed with commas, a message within a message is written
where it stands"""


def say(code: str, text: str, /, **values: Value) -> Message:
    """Say something.

    Parameters
    ----------
    code
        Its name, for ever.
    text
        English, with the names of its values in braces.
    **values
        What stands for each name.
    """
    return Message(code=code, text=text, values=values)


def say_count(code: str, one: str, several: str, /, *, count: int, **values: Value) -> Message:
    """Say something whose words depend on how many there are; a noun alone is better said as a `Counted` value.

    Parameters
    ----------
    code
        Its name, for ever.
    one, several
        English where there is one, and where there are none or several.
    count
        How many; a value of the text too.
    **values
        What stands for each other name.
    """
    values["count"] = count
    return Message(code=code, text=one, several=several, values=values)


def noun(code: str, one: str, many: str, /) -> Noun:
    """Name a thing.

    Parameters
    ----------
    code
        Its name on the wire.
    one, many
        English, without an article.
    """
    return Noun(code=code, one=one, many=many)


def filled(message: Message, words: Mapping[str, Value]) -> Message:
    """Put into a message of a table the values that its text names.

    Parameters
    ----------
    message
        Said without values.
    words
        Values by name; others than those named are left out.
    """
    names = names_in(message.text)
    if not names:
        return message
    return Message(
        code=message.code,
        text=message.text,
        several=message.several,
        values={name: words[name] for name in names},
    )


@remembered("messages")
def names_in(text: str) -> tuple[str, ...]:
    """List the names that a text holds in braces, each once."""
    return tuple(dict.fromkeys(name for _, name, _, _ in Formatter().parse(text) if name))
