"""What is said of a number that somebody typed."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.utils import translation

from kettlewell.records.numbers import NumberField

PERCENT = NumberField(min_value=0, max_value=100, max_digits=5, decimal_places=2)


def said_of(typed):
    try:
        PERCENT.clean(typed)
    except ValidationError as error:
        return error.messages
    return []


@pytest.mark.parametrize(
    ("typed", "meant"), [("145", "14.5"), ("1455", "14.55"), ("150", "15"), ("145.5", "14.55")]
)
def test_of_a_number_that_is_too_large_it_is_asked_whether_its_comma_stands_wrong(typed, meant):
    assert {"At most 100.", f"Did you mean {meant}?"} <= set(said_of(typed))


def test_it_is_asked_with_the_comma_of_the_language():
    with translation.override("de"):
        assert "14,5" in said_of("145")[-1]


def test_where_no_comma_makes_it_right_nothing_is_asked():
    assert not [said for said in said_of("99999") if "mean" in said]


@pytest.mark.parametrize("typed", ["14.5", "14,5", "100", "0"])
def test_what_can_be_is_taken(typed):
    assert PERCENT.clean(typed) == Decimal(typed.replace(",", "."))
