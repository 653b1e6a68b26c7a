"""Writing: messages turned into the words of a language, for one choice of display units.

Rules of this file
------------------
- A language is a value: its texts by code come from outside (`service/words/`), English stands in the messages.
- What goes out as a value is the same in every language; only the text differs.
- Nothing here knows what is said.
"""

from collections.abc import Callable, Container, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from msgspec import Struct
from pydantic import ConfigDict, with_config
from typing_extensions import TypeAliasType, TypedDict

from service.planner.messages import (
    All,
    Bore,
    Counted,
    Length,
    Message,
    Money,
    Noun,
    Number,
    Share,
    Value,
    filled,
    say,
)
from service.planner.records import record
from service.planner.units import INCH, MILLIMETRE, WRITE_LENGTH, DisplayUnits, sixty_fourths, to_millimetres

FINEST: Final = 6
"""Decimals of an inch at most [-]"""
_AND: Final = say("list.and", "{first} and {last}")
_BOTH_UNITS: Final = say("list.both_units", "{metric} ({imperial})")
_MONEY: Final = say("unit.money", "{currency} {amount}")
_PERCENT: Final = say("unit.percent", "{number} %")


MessageCode = TypeAliasType("MessageCode", str)
"""The code of a message; the contract lists them all"""


@with_config(ConfigDict(use_attribute_docstrings=True, extra="forbid"))
class Told(TypedDict):
    """What a person reads."""

    code: MessageCode
    """Names the text for ever, in every language"""
    text: str
    """The text, in the language of the answer"""
    values: dict[str, Any]
    """What stands in the text, by name; lengths in millimetres, their names end in `_mm`"""


def one_or_several(number: int) -> int:
    """Choose between two forms the English way: 0 where there is one, 1 else [-]."""
    return int(number != 1)


@record
class Language:
    """The texts of a language and how it writes numbers."""

    tag: str
    """BCP 47 language tag"""
    decimal: str
    """Its decimal mark"""
    texts: Mapping[str, tuple[str, ...]]
    """Its texts by code, in as many forms as it has; what is missing is said in English"""
    form: Callable[[int], int]
    """Which form it takes for how many"""


ENGLISH: Final = Language(tag="en", decimal=".", texts={}, form=one_or_several)
"""The language in which the messages are written"""


class Writer(Struct, frozen=True, gc=False):
    """Writes messages in a language."""

    language: Language
    """The language"""
    units: DisplayUnits | None = None
    """Units of lengths in texts; both where it is not known what was asked for"""

    def told(self, message: Message) -> Told:
        """What goes out for a message: code, text and values."""
        values = message.values
        if not values:
            return {"code": message.code, "text": self._template(message), "values": {}}
        words: dict[str, Any] = {}
        out: dict[str, Any] = {}
        for name, value in values.items():
            kind = type(value)
            if kind is str or kind is int:
                words[name] = out[name] = value
            elif kind is Length:  # most values by far
                words[name] = self.length(value)  # type: ignore[arg-type]  # its kind says so
                out[f"{name}_mm"] = to_millimetres(value.size)  # type: ignore[union-attr]  # see above
            else:
                words[name] = self.word(value)
                out[_name(name, value)] = _plain(value)
        return {"code": message.code, "text": self._template(message).format_map(words), "values": out}

    def text(self, message: Message) -> str:
        """Write a message."""
        words = {name: self.word(value) for name, value in message.values.items()}
        return self._template(message).format_map(words)

    def word(self, value: Value) -> str:
        """Write a value."""
        kind = type(value)
        return value if kind is str else _WRITE[kind](self, value)  # type: ignore[return-value]  # kind says so

    def _template(self, message: Message) -> str:
        """The form of a message's text that fits its count."""
        forms = self.language.texts.get(message.code)
        if not message.several:
            return forms[0] if forms else message.text
        count: Any = message.values["count"]
        if forms:
            return forms[self.language.form(count)]
        return message.several if one_or_several(count) else message.text

    def noun(self, noun: Noun, number: int = 1) -> str:
        """Write a noun for so many things."""
        forms = self.language.texts.get(noun.code)
        if forms:
            return forms[self.language.form(number)]
        return noun.many if one_or_several(number) else noun.one

    def number(self, number: Number) -> str:
        """Write a number with the language's decimal mark."""
        value, decimals = number.value, number.decimals
        text = f"{value:g}" if decimals is None else f"{value:.{decimals}f}"
        return text if self.language.decimal == "." else text.replace(".", self.language.decimal)

    def length(self, length: Length) -> str:
        """Write a length."""
        size = length.size
        if length.decimals is not None:
            return self._fine(size, length.decimals)
        if self.units is not None:
            return WRITE_LENGTH[self.units](size)
        metric = f"{self.number(Number(to_millimetres(size)))} mm"
        return self.text(filled(_BOTH_UNITS, {"metric": metric, "imperial": WRITE_LENGTH["imperial"](size)}))

    def _fine(self, size: int, decimals: int) -> str:
        """Write a length finer than a tape reads [nm]."""
        if self.units == "imperial":
            return f"{self.number(Number(size / INCH, decimals))} in"
        return f"{self.number(Number(size / MILLIMETRE, decimals - 1))} mm"

    def bore(self, bore: Bore) -> str:
        """Write the size of a drill."""
        if self.units == "imperial":
            return sixty_fourths(bore.size)
        return f"{self.number(Number(round(bore.size / MILLIMETRE, 1)))} mm"

    def told_apart(self, message: Message) -> Told:
        """What goes out for a message in which no two different measures are written the same."""
        decimals = 2
        while decimals <= FINEST and (alike := self._alike(message)):
            message, decimals = _finer(message, alike, decimals), decimals + 1
        return self.told(message)

    def _alike(self, message: Message) -> set[Length | Number]:
        """Find different measures that are written the same."""
        written: dict[tuple[type, str], set[Length | Number]] = {}
        for measure in _measures(message):
            written.setdefault((type(measure), self.word(measure)), set()).add(measure)
        return set().union(*[same for same in written.values() if len(same) > 1])

    def _money(self, money: Money) -> str:
        amount = self.number(Number(money.hundredths / 100, 2))
        return self.text(filled(_MONEY, {"currency": money.currency, "amount": amount}))

    def _share(self, share: Share) -> str:
        number = self.number(Number(share.percent, share.decimals))
        return self.text(filled(_PERCENT, {"number": number}))

    def _all(self, every: All) -> str:
        *first, last = [self.word(thing) for thing in every.things]
        return self.text(filled(_AND, {"first": ", ".join(first), "last": last})) if first else last


_WRITE: Final[Mapping[type, Callable[[Writer, Any], str]]] = {
    int: lambda _, count: str(count),
    Length: Writer.length,
    Bore: Writer.bore,
    Number: Writer.number,
    Share: Writer._share,  # noqa: SLF001  # the table of this file
    Money: Writer._money,  # noqa: SLF001  # see above
    Noun: Writer.noun,
    Counted: lambda writer, counted: f"{counted.number} {writer.noun(counted.noun, counted.number)}",
    All: Writer._all,  # noqa: SLF001  # see above
    Message: Writer.text,
    tuple: lambda writer, things: ", ".join(
        [thing if type(thing) is str else writer.word(thing) for thing in things]
    ),
}
"""How each kind of value is written"""


def _measures(message: Message) -> Iterator[Length | Number]:
    """List the measures in a message and the messages in it."""
    for value in message.values.values():
        if isinstance(value, Message):
            yield from _measures(value)
        elif isinstance(value, (Length, Number)):
            yield value


def _finer(message: Message, alike: Container[Value], decimals: int) -> Message:
    """Give some measures of a message so many decimals."""

    def finer(value: Value) -> Value:
        if isinstance(value, Message):
            return _finer(value, alike, decimals)
        if isinstance(value, Length) and value in alike:
            return Length(value.size, max(decimals, (value.decimals or 0) + 1))
        if isinstance(value, Number) and value in alike:
            return Number(value.value, decimals if value.decimals is None else value.decimals + 1)
        return value

    return replace(message, values={name: finer(value) for name, value in message.values.items()})


def _name(name: str, value: Value) -> str:
    """The name that a value goes out under: it ends in the unit, where it has one of its own."""
    inner = value.things if isinstance(value, All) else value if isinstance(value, tuple) else (value,)
    kind = type(inner[0]) if inner else str
    return f"{name}_mm" if kind in (Length, Bore) else f"{name}_percent" if kind is Share else name


def _plain(value: Value) -> Any:  # noqa: ANN401  # a JSON value
    """A value as it goes out: a noun by its code, an inner message by code and values."""
    return _PLAIN[type(value)](value)


def _message(message: Message) -> dict[str, Any]:
    return {
        "code": message.code,
        "values": {_name(name, value): _plain(value) for name, value in message.values.items()},
    }


_PLAIN: Final[Mapping[type, Callable[[Any], Any]]] = {
    str: lambda text: text,
    int: lambda count: count,
    Length: lambda length: to_millimetres(length.size),
    Bore: lambda bore: to_millimetres(bore.size),
    Number: lambda number: number.value,
    Share: lambda share: share.percent,
    Money: lambda money: {"amount": f"{money.hundredths / 100:.2f}", "currency": money.currency},
    Noun: lambda noun: noun.code,
    Counted: lambda counted: counted.number,
    All: lambda every: [_plain(thing) for thing in every.things],
    Message: _message,
    tuple: lambda things: [thing if type(thing) is str else _plain(thing) for thing in things],
}
"""How each kind of value goes out"""
