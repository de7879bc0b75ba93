"""What people are told of what is written down about them, and what of it they can have erased."""

from dataclasses import replace

import pytest
from django.urls import reverse

from kettlewell import clock
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add, setting_add
from kettlewell.records.models import Kitchen, Private
from kettlewell.records.settings import settings_of
from kettlewell.records.verify import verify


@pytest.fixture
def noted(marrowby, hand):
    """Two versions of an entry with a note."""
    now = clock.now()
    told = Told(
        id=uuid7(now),
        kind="change",
        happened_at=now,
        payload={"fryer": "F1"},
        private={"note": b"Ben slipped."},
    )
    first = entry_add(marrowby, told, hand)[0]
    again = replace(told, id=uuid7(now), replaces=first.pk, private={"note": b"Ben slipped!", "reason": b"x"})
    return first, entry_add(marrowby, again, hand)[0]


def test_the_notice_tells_how_long_things_are_kept_and_whom_to_ask(signed_in, cook, owner, marrowby, hand):
    page = signed_in(cook).get(reverse("notice", args=[marrowby.slug])).content.decode()
    assert "24 months" in page
    assert "until somebody erases it" in page
    assert owner.name in page
    values = {**settings_of(marrowby)["kitchen"][""], "records_months": "36", "notes_months": "40"}
    setting_add(marrowby, "kitchen", "", values, hand=hand)
    page = signed_in(cook).get(reverse("notice", args=[marrowby.slug])).content.decode()
    assert "36 months" in page
    assert "40 months" in page


def test_an_owner_erases_the_notes_of_an_entry_and_of_what_it_corrects(signed_in, owner, marrowby, noted):
    first, second = noted
    client, at = signed_in(owner), reverse("erase", args=[marrowby.slug, second.pk])
    assert (
        "Erase note and photo"
        in client.get(reverse("entry", args=[marrowby.slug, second.pk])).content.decode()
    )
    asked = client.get(at).content.decode()
    assert "24 months" in asked
    assert "Ben slipped!" in asked
    client.post(at)
    assert set(Private.objects.filter(entry__in=[first, second]).values_list("content", flat=True)) == {None}
    assert verify(Kitchen.objects.get(pk=marrowby.pk)) is None
    page = client.get(reverse("entry", args=[marrowby.slug, second.pk])).content.decode()
    assert "slipped" not in page
    assert "Erase note and photo" not in page


def test_a_cook_erases_nothing(signed_in, cook, marrowby, noted):
    client, at = signed_in(cook), reverse("erase", args=[marrowby.slug, noted[1].pk])
    assert client.post(at).status_code == 403
    assert Private.objects.filter(entry__in=noted, content=None).count() == 0


def test_the_kitchen_form_says_where_something_would_go_too_early(signed_in, owner, marrowby):
    client, at = signed_in(owner), reverse("thing", args=[marrowby.slug, "kitchen", "own"])
    values = {"name": "Marrowby", "timezone": "Europe/London", "notes_months": "12"}
    assert "kept longer than that" in client.post(at, values).content.decode()
    assert "e-mail" in client.post(at, {**values, "check_code_to": "nobody"}).content.decode()
    assert (
        client.post(at, {**values, "notes_months": "30", "check_code_to": "a@b.example"}).status_code == 302
    )
    assert settings_of(Kitchen.objects.get(pk=marrowby.pk))["kitchen"][""]["notes_months"] == "30"
