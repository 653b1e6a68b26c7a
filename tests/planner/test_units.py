"""Lengths in and out: exact nanometres.

One inch is 25.4 mm exactly (international yard and pound agreement of 1959; NIST SP 811, 2008, B.8).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.planner.units import INCH, MILLIMETRE, SIXTEENTH, length_text, parse_length, to_millimetres


@pytest.mark.parametrize(
    ("text", "sixteenths"),
    [
        ("24 in", 384),
        ("12' 6 1/2\"", 2408),
        ("5 ft", 960),
        ("23 15/16 in", 383),
        ('23-15/16"', 383),
        ("2 ft 6", 480),
        ("2'-0\"", 384),
        (" 24 IN ", 384),
        ("5 Ft 3 1/2 In", 1016),
        ("1,5 in", 24),
        ("-2' 6\"", -480),
        ("12′ 6½″", 2408),
        ("3/4 in", 12),
        ("½ in", 8),
        ("5'", 960),
        ("2 feet 1 inch", 400),
        ("0", 0),
        ("-3 in", -48),
    ],
)
def test_trade_lengths_are_read_exactly(text: str, sixteenths: int) -> None:
    """Feet, inches, fractions, primes and vulgar fractions."""
    assert parse_length(text) == sixteenths * SIXTEENTH


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1.83 m", 1830),
        ("1830 MM", 1830),
        ("183 cm", 1830),
        ("0.1 mm", 0.1),
        ("1,2 m", 1200),
        (" 1,25 M", 1250),
    ],
)
def test_metric_lengths_are_read_exactly(text: str, millimetres: float) -> None:
    """Metres, centimetres and millimetres."""
    assert parse_length(text) == round(millimetres * MILLIMETRE)


@pytest.mark.parametrize(
    "text",
    ["", "5", "five ft", "1/0 in", "1,200 mm", "1e3 mm", "--3 in", "3 in in", "NaN mm", "٣ in", "5 in\n"],
)
def test_what_is_not_a_length_is_refused(text: str) -> None:
    """No unit, no number, no zero denominator, a comma that may mean thousands, digits of the published pattern only."""
    with pytest.raises(ValueError, match="a length is"):
        parse_length(text)


def test_two_strips_and_a_kerf_fill_four_feet_exactly() -> None:
    """2 x 23 15/16 in + 1/8 in = 48 in; nothing is lost to rounding."""
    assert 2 * parse_length("23 15/16 in") + parse_length("1/8 in") == parse_length("4 ft")


@given(st.integers(min_value=0, max_value=200_000))
def test_imperial_text_reads_back(sixteenths: int) -> None:
    """What is written for the crew is what was meant."""
    assert parse_length(length_text(sixteenths * SIXTEENTH, "imperial")) == sixteenths * SIXTEENTH


@given(st.integers(min_value=0, max_value=2 * 10**12))
def test_text_is_the_nearest_mark(length: int) -> None:
    """Texts are off by half a sixteenth or half a millimetre at most."""
    assert abs(parse_length(length_text(length, "imperial")) - length) * 2 <= SIXTEENTH
    assert abs(parse_length(length_text(length, "metric")) - length) * 2 <= MILLIMETRE


def test_millimetres_on_the_wire_are_whole_where_they_are() -> None:
    """3651.25 stays, 5.0 is 5."""
    assert to_millimetres(INCH * 575 // 4) == 3651.25
    assert repr(to_millimetres(5 * MILLIMETRE)) == "5"
