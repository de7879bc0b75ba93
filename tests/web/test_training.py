"""Who was trained in what: written from the page of the person, read by everyone and the inspector."""

import pytest
from django.core.exceptions import PermissionDenied, ValidationError

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry


@pytest.fixture
def train(marrowby, owner):
    """Return a way to write as the owner that somebody was trained."""

    def trained(person, *topics, by=owner):
        now = clock.now()
        payload = {"trained": str(person.pk), "trained_in": list(topics)}
        told = Told(id=uuid7(now), kind="training", happened_at=now, payload=payload)
        return record(marrowby, told, Hand(person=by, now=now)).entry

    return trained


def test_the_page_of_a_person_leads_to_it_and_lists_it(owner, cook, marrowby, signed_in, page, send):
    shown = page(owner, "person", cook.pk)
    assert "Nothing is written down yet." in shown
    assert f"/training/?person={cook.pk}" in shown
    form = signed_in(owner).get(f"/k/{marrowby.slug}/training/?person={cook.pk}").context["form"]
    assert form["trained"].value() == str(cook.pk)
    unknown = signed_in(owner).get(f"/k/{marrowby.slug}/training/?person=xyzzy")
    assert unknown.context["form"]["trained"].value() is None
    sent = {"trained": str(cook.pk), "trained_in": ["draining", "emergency"], "at": "2026-07-01T12:00"}
    send(owner, "training", sent)
    entry = Entry.objects.get(kind="training")
    assert entry.payload == {"trained": str(cook.pk), "trained_in": ["draining", "emergency"]}
    after = page(owner, "person", cook.pk)
    assert "Draining hot oil, What to do at a fire and a burn" in after
    assert "1 Jul 2026" in after


def test_the_inspector_reads_the_list(inspector, cook, owner, train, page):
    train(cook, "readings")
    train(owner, "records")
    shown = page(inspector, "trainings")
    assert shown.index("Cora Cook") < shown.index("Taking readings")
    assert "These records" in shown
    assert "Staff training" in page(inspector, "book")


def test_what_was_undone_is_in_no_list(cook, owner, train, send, page):
    entry = train(cook, "readings")
    send(owner, "undo", {"why": "slip"}, entry.pk)
    assert "Taking readings" not in page(cook, "trainings")
    assert "Nothing is written down yet." in page(owner, "person", cook.pk)


def test_only_those_who_set_the_kitchen_up_write_it(cook, train):
    with pytest.raises(PermissionDenied):
        train(cook, "readings", by=cook)


def test_only_people_of_the_kitchen_are_named_and_inspectors_are_not_offered(
    owner, cook, inspector, stranger, train, page
):
    with pytest.raises(ValidationError, match="does not work in this kitchen"):
        train(stranger, "readings")
    shown = page(owner, "training")
    assert str(cook.pk) in shown
    assert str(inspector.pk) not in shown
    assert str(stranger.pk) not in shown


def test_somebody_was_trained_in_something(train, cook):
    with pytest.raises(ValidationError) as error:
        train(cook)
    assert set(error.value.message_dict) == {"trained_in"}
