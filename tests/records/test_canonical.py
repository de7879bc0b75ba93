"""The canonical form: RFC 8785, with every number a decimal string."""

import json
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from hashlib import sha256 as digest

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book.plain import decimal_text, time_text
from kettlewell.records.canonical import canonical, salted_digest, sha256

PLAIN = st.recursive(
    st.none() | st.booleans() | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=4)
    ),
    max_leaves=12,
)


def test_names_are_sorted_as_rfc_8785_section_3_2_3_says():
    """By UTF-16 code units: the example of RFC 8785, section 3.2.3."""
    told = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical(told)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


def test_texts_and_literals_are_written_as_in_rfc_8785_section_3_2_4():
    """The example of RFC 8785, section 3.2.2, without its numbers: bytes of section 3.2.4."""
    told = {
        "string": "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"\u002f",
        "literals": [None, True, False],
    }
    assert canonical(told) == (
        b'{"literals":[null,true,false],"string":"\xe2\x82\xac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


@pytest.mark.parametrize("number", [1, 1.5, Decimal("1.5"), float("nan")])
def test_a_bare_number_is_refused_however_deep(number):
    with pytest.raises(TypeError, match="decimal strings"):
        canonical({"a": [{"b": number}]})


@given(PLAIN)
def test_what_is_written_is_read_again(told):
    assert json.loads(canonical(told)) == told


@given(st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), st.text("ab"), max_size=6))
def test_the_order_in_which_it_was_told_does_not_matter(told):
    assert sha256(told) == sha256(dict(reversed(told.items())))


@given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9))
def test_a_decimal_is_written_so_that_it_says_the_same(number):
    text = decimal_text(number)
    assert Decimal(text) == number
    assert "e" not in text.lower()
    assert text == decimal_text(Decimal(text))


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_float_is_written_as_the_shortest_text_that_is_read_as_it(number):
    assert float(decimal_text(number)) == number


@pytest.mark.parametrize(
    ("number", "text"),
    [
        ("15.50", "15.5"),
        ("1E+3", "1000"),
        ("-0.0", "0"),
        ("0.00", "0"),
        ("100", "100"),
        ("1E-7", "0.0000001"),
    ],
)
def test_one_number_has_one_text(number, text):
    assert decimal_text(Decimal(number)) == text


@pytest.mark.parametrize("number", [float("nan"), float("inf"), Decimal("NaN")])
def test_what_is_no_number_has_no_text(number):
    with pytest.raises(ValueError, match="is not a number that can be written down"):
        decimal_text(number)


def test_a_moment_is_written_in_utc_to_the_microsecond():
    summer = datetime(2026, 7, 1, 14, 5, tzinfo=timezone(timedelta(hours=1)))
    assert time_text(summer) == "2026-07-01T13:05:00.000000Z"
    assert datetime.fromisoformat(time_text(summer)) == summer.astimezone(UTC)


def test_the_digest_of_a_note_is_of_its_salt_and_its_bytes():
    assert salted_digest(b"salt", b"note") == digest(b"saltnote").hexdigest()
