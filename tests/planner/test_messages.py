"""Messages are written in a language and keep their values."""

import pytest

from service.planner.messages import (
    All,
    Counted,
    Length,
    Message,
    Money,
    Number,
    Share,
    filled,
    names_in,
    noun,
    say,
    say_count,
)
from service.planner.units import INCH, MILLIMETRE
from service.planner.writing import ENGLISH, Language, Writer

SHEET = noun("test.sheet", "sheet", "sheets")
HALF = Language(
    tag="fr",
    decimal=",",
    texts={
        "test.sheet": ("plaque", "plaques"),
        "test.need": ("Il faut {sheets}.",),
        "test.bad": ("{count} champ est à corriger.", "{count} champs sont à corriger."),
        "list.and": ("{first} et {last}",),
        "unit.money": ("{amount} {currency}",),
    },
    form=lambda number: int(number > 1),
)


def test_every_kind_of_value_is_written_in_its_language_and_goes_out_the_same_in_all() -> None:
    """Decimal comma, French plural (none is singular), currency after the amount; values do not change."""
    sheets = say("test.need", "It needs {sheets}.", sheets=Counted(0, SHEET))
    assert Writer(ENGLISH).told(sheets) == {
        "code": "test.need",
        "text": "It needs 0 sheets.",
        "values": {"sheets": 0},
    }
    assert Writer(HALF).told(sheets) == {
        "code": "test.need",
        "text": "Il faut 0 plaque.",
        "values": {"sheets": 0},
    }
    many = say(
        "test.many",
        "{gap}, {speed}, {share}, {total}, {labels}, {ends}, {thing}, {inner}",
        gap=Length(INCH // 2),
        speed=Number(2.5),
        share=Share(12.5, 1),
        total=Money(123450, "USD"),
        labels=("P1", "P2"),
        ends=All(("front", "left", "back")),
        thing=SHEET,
        inner=sheets,
    )
    out = Writer(HALF, "imperial").told(many)
    assert (
        out["text"]
        == '1/2", 2,5, 12,5 %, 1234,50 USD, P1, P2, front, left et back, plaque, Il faut 0 plaque.'
    )
    assert out["values"] == Writer(ENGLISH, "metric").told(many)["values"]
    assert out["values"] == {
        "gap_mm": 12.7,
        "speed": 2.5,
        "share_percent": 12.5,
        "total": {"amount": "1234.50", "currency": "USD"},
        "labels": ["P1", "P2"],
        "ends": ["front", "left", "back"],
        "thing": "test.sheet",
        "inner": {"code": "test.need", "values": {"sheets": 0}},
    }


@pytest.mark.parametrize(
    ("count", "english", "french"),
    [
        (1, "1 field needs correction.", "1 champ est à corriger."),
        (0, "0 fields need correction.", "0 champ est à corriger."),
        (2, "2 fields need correction.", "2 champs sont à corriger."),
    ],
)
def test_a_sentence_takes_the_form_of_its_count(count: int, english: str, french: str) -> None:
    message = say_count(
        "test.bad", "{count} field needs correction.", "{count} fields need correction.", count=count
    )
    assert Writer(ENGLISH).text(message) == english
    assert Writer(HALF).text(message) == french


def test_lengths_are_in_both_units_where_none_were_asked_for() -> None:
    message = say("test.least", "must be {least} at least", least=Length(24 * INCH))
    assert Writer(ENGLISH).text(message) == "must be 609.6 mm (2' 0\") at least"
    assert Writer(ENGLISH, "metric").text(message) == "must be 610 mm at least"
    heights = say("test.heights", "at {heights}", heights=(Length(MILLIMETRE), Length(2 * MILLIMETRE)))
    assert Writer(ENGLISH, "metric").told(heights)["values"] == {"heights_mm": [1, 2]}


def test_a_message_of_a_table_takes_the_values_that_it_names() -> None:
    row: Message = say("test.row", "Cut {sheets} at {gap}, then look at {gap} again.")
    assert names_in(row.text) == ("sheets", "gap")
    put = filled(row, {"gap": Length(INCH), "sheets": Counted(1, SHEET), "other": "not named"})
    assert set(put.values) == {"sheets", "gap"}
    assert Writer(ENGLISH, "imperial").text(put) == 'Cut 1 sheet at 1", then look at 1" again.'
    with pytest.raises(KeyError):
        filled(row, {"gap": Length(INCH)})


def test_no_two_measures_of_a_text_that_tells_them_apart_are_written_the_same() -> None:
    """A thirty-second under the limit reads as the limit on a tape; digits are added until the two differ."""
    limit = say("test.limit", "{given} of {least}", given=Length(INCH - INCH // 50), least=Length(INCH))
    both = say(
        "test.both",
        "{limit} {force} N of {allowed} N",
        limit=limit,
        force=Number(41.2, 0),
        allowed=Number(40.9, 0),
    )
    assert Writer(ENGLISH, "imperial").told(both)["text"] == '1" of 1" 41 N of 41 N'
    assert Writer(ENGLISH, "imperial").told_apart(both)["text"] == "0.98 in of 1.00 in 41.2 N of 40.9 N"
    assert Writer(HALF, "metric").told_apart(both)["text"] == "24,9 mm of 25,4 mm 41,2 N of 40,9 N"
