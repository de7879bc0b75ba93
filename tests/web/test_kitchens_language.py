"""Cards and pages are printed in the kitchen's own language, where it has one; screens in the reader's."""

import io

import pikepdf
import pytest
from django.conf import settings

from kettlewell.book import Language
from kettlewell.records.ledger import setting_add
from kettlewell.records.settings import settings_of

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
PRINTED = (
    "card/pocket/",
    "fryers/F1/card/pocket/",
    "inspection/blank/",
    "inspection/teaching/",
    "inspection/month/",
    "inspection/book/",
)


@pytest.fixture
def german(marrowby, hand):
    """A kitchen that prints German."""
    values = settings_of(marrowby)["kitchen"][""]
    setting_add(marrowby, "kitchen", "", {**values, "language": "de"}, hand=hand)


@pytest.fixture
def filled(write):
    """Both fryers filled three days ago and read since."""
    for fryer in ("F1", "F2"):
        write("change", {"fryer": fryer}, ago=3)
        write("reading", {"fryer": fryer, "tpc_pct": "9", "oil_temp_c": "170", **SOUND}, ago=0.8)


@pytest.fixture
def fetched(signed_in, cook, marrowby):
    """Return a way to fetch a page as a cook who reads English."""

    def fetch(address):
        headers = {"accept-language": "en-GB"}
        return signed_in(cook).get(f"/k/{marrowby.slug}/{address}", headers=headers)

    return fetch


@pytest.mark.parametrize("address", PRINTED)
def test_every_sheet_is_printed_in_it(filled, german, fetched, address):
    assert str(pikepdf.open(io.BytesIO(fetched(address).content)).Root.Lang) == "de"


@pytest.mark.parametrize("address", PRINTED)
def test_without_one_it_is_that_of_whoever_prints(filled, fetched, address):
    assert str(pikepdf.open(io.BytesIO(fetched(address).content)).Root.Lang) == "en"


def test_on_the_page_of_the_card_the_card_alone_is_in_it(filled, german, fetched):
    text = fetched("card/").content.decode()
    assert '<html lang="en' in text
    assert '<article lang="de"' in text
    assert "Verbrennungsgefahr" in text
    assert "For a pocket (PDF)" in text


def test_the_line_stays_in_the_readers_language(filled, german, fetched):
    assert "Wall card to print" in fetched("").content.decode()


def test_the_setting_knows_what_the_program_speaks():
    assert [str(language) for language in Language] == [code for code, _name in settings.LANGUAGES]
