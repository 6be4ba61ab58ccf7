"""Numbers of a wire: what is one, what is none, what says there is none."""

from __future__ import annotations

from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine.numbers import missing_reason, number_reader, parse_number


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("0", 0.0), ("-0", 0.0), ("+12", 12.0), ("12.", 12.0), (".5", 0.5), ("-.5", -0.5),
        ("007", 7.0), ("1e3", 1000.0), ("1.5E-03", 0.0015), ("1e+300", 1e300), ("82.40", 82.4),
    ],
)  # fmt: skip
def test_digits_with_one_point_and_a_short_exponent_are_a_number(text: str, number: float) -> None:
    assert parse_number(text) == number


@pytest.mark.parametrize(
    "text",
    [
        "", ".", "-", "+", "e3", "1e", "1e1234", "1_0", "nan", "NaN", "inf", "-Infinity", "0x10",
        "1,5", "1.2.3", "--1", "+-1", "1 2", " 1", "1\n", "12m", "\u0661\u0662", "\uff11", "1e999",
        "1d3", "\u22125",
    ],
)  # fmt: skip
def test_what_python_or_a_person_might_take_for_a_number_is_none(text: str) -> None:
    """Some of these `float` accepts: 1_0, nan, inf, blanks, digits of other scripts."""
    assert parse_number(text) is None


def test_the_other_decimal_sign_is_never_guessed() -> None:
    """1,234 can be 1.234 or 1234; only the set-up knows."""
    assert parse_number("1,234", ",") == 1.234
    assert parse_number("1.234", ",") is None
    assert parse_number("1,234", ".") is None
    assert parse_number("1,2,3", ",") is None


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_finite_number_reads_back_exactly(number: float) -> None:
    assert parse_number(repr(number)) == number


@given(st.text(max_size=12))
def test_whatever_is_read_python_reads_the_same(text: str) -> None:
    number = parse_number(text)
    assert number is None or (isfinite(number) and number == float(text))


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("", "empty"), ("-", "placeholder"), ("----", "placeholder"), ("***", "placeholder"),
        ("??", "placeholder"), ("NaN", "placeholder"), ("NULL", "placeholder"),
        ("N/A", "placeholder"), ("n/a", "placeholder"), ("-1", ""), ("off", ""), ("-*", ""),
    ],
)  # fmt: skip
def test_missing_is_neither_a_number_nor_an_error(text: str, reason: str) -> None:
    assert missing_reason(text) == reason


def test_a_sentinel_is_compared_as_a_number() -> None:
    read = number_reader(".", (-9999.0, -999.25))
    assert read("-9999.00") == "sentinel"
    assert read("-9.9925e2") == "sentinel"
    assert read("9999") == 9999.0


def test_a_field_is_a_number_or_one_reason() -> None:
    read = number_reader(",", (), ("offline",))
    assert read("1,5") == 1.5
    assert read("Offline") == "placeholder"
    assert read("nan") == "bad_number"
    assert read("1e999") == "bad_number"
    assert read("") == "empty"
