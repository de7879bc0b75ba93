"""How long notes, photos and names are kept, and that the chain over them still verifies."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from kettlewell import clock
from kettlewell.bridge.settings import SettingChange, settings_change
from kettlewell.records.models import Entry, Kitchen, Person, Private
from kettlewell.records.people import seat_remove
from kettlewell.records.retention import MONTH, retention_apply
from kettlewell.records.settings import settings_of
from kettlewell.records.verify import verify

DAY = timedelta(days=1)


@pytest.fixture
def keep(marrowby, hand):
    """Return a way to set how long a kitchen keeps what is written in it."""

    def kept(**months):
        values = {**settings_of(marrowby)["kitchen"][""], **months}
        settings_change(marrowby, [SettingChange(thing="kitchen", key="", values=values)], hand)

    return kept


@pytest.fixture
def noted(marrowby, write):
    return write(private={"note": b"The oil foamed."})


def note_of(entry):
    return Private.objects.get(entry=entry, field="note").content


def apply(kitchen, *, after):
    return retention_apply(Kitchen.objects.get(pk=kitchen.pk), now=clock.now() + after)


def test_where_nothing_is_set_nothing_is_ever_erased(marrowby, noted):
    assert apply(marrowby, after=1000 * MONTH) == 0
    assert note_of(noted)


@pytest.mark.parametrize(("months", "erased"), [(29.9, False), (30.1, True)])
def test_a_note_goes_once_it_was_kept_for_as_long_as_is_set(marrowby, noted, keep, months, erased):
    keep(records_months="24", notes_months="30")
    assert apply(marrowby, after=months * MONTH) == erased
    assert (note_of(noted) is None) == erased
    assert verify(Kitchen.objects.get(pk=marrowby.pk)) is None


@pytest.mark.parametrize("records", ["36", None])
def test_notes_that_go_before_records_may_are_refused(keep, records):
    with pytest.raises(ValidationError, match="kept longer"):
        keep(notes_months="23", **({"records_months": records} if records else {}))


def test_whatever_is_set_nothing_goes_before_the_records_may(marrowby, noted, hand):
    """As a setting that was written down by a version that did not check it, or by somebody else's hand."""
    from kettlewell.records.ledger import setting_add  # noqa: PLC0415 - past the rules on purpose

    values = {**settings_of(marrowby)["kitchen"][""], "records_months": "24", "notes_months": "1"}
    setting_add(marrowby, "kitchen", "", values, hand=hand)
    assert apply(marrowby, after=23.9 * MONTH) == 0
    assert apply(marrowby, after=24.1 * MONTH) == 1


def test_that_it_was_done_is_an_entry_by_nobody_and_one_a_week_at_most(marrowby, noted, write, keep):
    keep(records_months="1", notes_months="1")
    assert apply(marrowby, after=2 * MONTH) == 1
    last = Entry.objects.filter(kitchen=marrowby).last()
    assert (last.kind, last.person, last.payload["entries"]) == ("erased", None, [str(noted.pk)])
    write(private={"note": b"Again."})
    assert apply(marrowby, after=2 * MONTH + 6 * DAY) == 0
    assert apply(marrowby, after=2 * MONTH + 8 * DAY) == 1


def test_photos_stay_where_notes_alone_go(marrowby, write, keep):
    entry = write(private={"note": b"n", "photo": b"\xff\xd8\xff\xe0 photo"})
    keep(records_months="1", notes_months="1")
    apply(marrowby, after=2 * MONTH)
    kept = {private.field: private.content is not None for private in entry.privates.all()}
    assert kept == {"note": False, "photo": True}


def test_who_left_long_ago_has_no_name_any_more_and_who_is_there_has(marrowby, cook, owner, hand, keep):
    keep(records_months="24", names_months="24")
    seat_remove(marrowby, cook, hand=replace(hand, now=clock.now()))
    assert apply(marrowby, after=23.9 * MONTH) == 0
    assert apply(marrowby, after=24.1 * MONTH) > 0
    names = dict(Person.objects.values_list("pk", "name"))
    assert (names[cook.pk], names[owner.pk]) == ("", owner.name)
    assert verify(Kitchen.objects.get(pk=marrowby.pk)) is None
    assert apply(marrowby, after=30 * MONTH) == 0


def test_who_signed_a_row_of_a_file_goes_with_the_notes_and_who_has_a_place_here_stays(
    marrowby, owner, write, keep
):
    signed = write(private={"name": b"AB"})
    keep(records_months="1", notes_months="1")
    assert apply(marrowby, after=2 * MONTH) == 1
    assert Private.objects.get(entry=signed).content is None
    assert Person.objects.get(pk=owner.pk).name
    assert Private.objects.filter(entry__kind="setting", content=None).count() == 0
