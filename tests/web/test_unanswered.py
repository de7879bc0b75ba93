"""A fryer that has no answer costs no other its own: each page says what it lacks."""

import pytest
from addresses import second_kitchen
from cast import SETTINGS
from django.urls import reverse

from kettlewell.bridge.standing import standing
from kettlewell.core.outlook.values import Lack, Unanswered
from kettlewell.records.ledger import setting_add
from kettlewell.records.models import Kitchen

LACKS = "No service of the week names this fryer: say when it fries."
NO_ANSWER = "No answer yet: call the chef"


@pytest.fixture
def one_idle(marrowby, hand):
    """No service names the second fryer."""
    for key in ("lunch", "dinner"):
        values = {**SETTINGS["services", key], "fryers": ["F1"]}
        setting_add(marrowby, "services", key, values, hand=hand)


@pytest.mark.usefixtures("one_idle")
def test_what_is_missing_is_named_fryer_by_fryer(marrowby, hand):
    stands = standing(Kitchen.objects.get(pk=marrowby.pk), hand.now)
    assert [told.fryer for told in stands.assessments] == ["F1"]
    assert stands.unanswered == (Unanswered(fryer="F2", name="Fish", lacks=Lack.SERVICE),)


@pytest.mark.usefixtures("one_idle")
def test_the_line_shows_the_others_and_what_one_lacks(marrowby, cook, owner, page):
    text = page(cook, "line")
    assert text.count('class="strip"') == 2
    assert LACKS in text
    assert NO_ANSWER in text
    assert reverse("act", args=(marrowby.slug, "F2", "senses")) in text
    assert reverse("act", args=(marrowby.slug, "F2", "call")) in text
    assert "Set up the kitchen" not in text
    assert "Set up the kitchen" in page(owner, "line")


@pytest.mark.usefixtures("one_idle")
def test_it_stands_before_what_may_be_fried_in_and_behind_what_is_to_be_changed(cook, page, write):
    def places():
        text = page(cook, "line")
        return text.index('data-verdict="unanswered"'), text.index("Fries (F1)")

    write("change", {"fryer": "F1"}, ago=0.2)
    unanswered, first = places()
    assert unanswered < first
    write("senses", {"fryer": "F1", "spoiled": True})
    unanswered, first = places()
    assert first < unanswered


@pytest.mark.usefixtures("one_idle")
def test_its_own_page_says_what_it_lacks_and_keeps_its_entries(cook, page, write):
    write("top_up", {"fryer": "F2", "unit": "mark"}, ago=0.1)
    text = page(cook, "fryer", "F2")
    assert LACKS in text
    assert "Fish (F2) topped up to the mark." in text
    assert LACKS in page(cook, "reading-at", "F2", without="")


@pytest.mark.usefixtures("one_idle")
def test_all_fryers_can_be_read(cook, page):
    text = page(cook, "reading")
    assert "/fryers/F1/read/" in text
    assert "/fryers/F2/read/" in text
    assert NO_ANSWER in text


@pytest.mark.usefixtures("one_idle")
def test_the_wall_card_names_it_and_its_own_card_leads_to_what_it_lacks(marrowby, cook, page, signed_in):
    text = page(cook, "card")
    assert text.index("<h3>Fries (F1)") < text.index("<h3>Fish (F2)") < text.index(NO_ANSWER)
    for own in ("fryer-card", "fryer-pocket"):
        answer = signed_in(cook).get(reverse(own, args=(marrowby.slug, "F2")))
        assert answer.url == reverse("fryer", args=(marrowby.slug, "F2"))


@pytest.mark.usefixtures("one_idle")
def test_what_if_leads_to_what_it_lacks(marrowby, cook, signed_in):
    answer = signed_in(cook).get(reverse("what-if", args=(marrowby.slug, "F2")))
    assert answer.url == reverse("fryer", args=(marrowby.slug, "F2"))


@pytest.mark.usefixtures("one_idle")
def test_the_list_of_kitchens_names_it(marrowby, owner, signed_in, hand):
    second_kitchen(marrowby, owner, hand.now)
    assert "No answer yet: Fish (F2)" in signed_in(owner).get("/").content.decode()
