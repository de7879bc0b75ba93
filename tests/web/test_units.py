"""No number on a page is parted from its unit at the end of a line."""

import pytest
from django.http import HttpResponse
from django.urls import reverse

from kettlewell import settings as served
from kettlewell.telling import unparted
from kettlewell.web.account.middleware import numbers_with_units

SAID = [
    ("12,5 % at 170 °C", "12,5\N{NO-BREAK SPACE}% at 170\N{NO-BREAK SPACE}°C"),
    ("5 kg of oil", "5\N{NO-BREAK SPACE}kg of oil"),
    ("(± 0.4 points)", "(±\N{NO-BREAK SPACE}0.4\N{NO-BREAK SPACE}points)"),
    ("0,4 Punkte", "0,4\N{NO-BREAK SPACE}Punkte"),
    ("Lot 7 good until 3 lunches", "Lot 7 good until 3 lunches"),
]


@pytest.fixture
def as_served(settings):
    settings.MIDDLEWARE = served.MIDDLEWARE


@pytest.mark.parametrize(("said", "kept"), SAID)
def test_a_number_holds_on_to_its_unit_and_to_nothing_else(said, kept):
    assert unparted(said) == kept


def test_what_a_page_sends_back_stays_as_it_was():
    page = '<input value="5 kg"><p>5 kg</p>'
    answer = numbers_with_units(lambda _request: HttpResponse(page))(None)
    assert answer.content.decode() == '<input value="5 kg"><p>5\N{NO-BREAK SPACE}kg</p>'


def test_what_is_no_page_stays_as_it_was():
    answer = numbers_with_units(lambda _request: HttpResponse("<5 kg<", content_type="text/csv"))(None)
    assert answer.content == b"<5 kg<"


@pytest.mark.usefixtures("as_served")
def test_the_server_answers_so(marrowby, cook, signed_in):
    page = signed_in(cook).get(reverse("line", args=(marrowby.slug,))).content.decode()
    assert "24\N{NO-BREAK SPACE}%" in page
    assert "24 %" not in page
