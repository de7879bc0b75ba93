"""The records are looked through now and then, and that is an entry."""

from datetime import timedelta

import pytest
from django.core.exceptions import PermissionDenied

from kettlewell import clock
from kettlewell.records.models import Entry
from kettlewell.records.settings import day_in

OFFERED = "Look through the records"


def reviews():
    return [entry.payload for entry in Entry.objects.filter(kind="review")]


def test_the_day_book_offers_it_to_those_who_set_the_kitchen_up(owner, cook, page):
    assert OFFERED in page(owner, "book")
    assert OFFERED not in page(cook, "book")


def test_the_first_begins_with_the_book_and_the_next_after_the_last(owner, marrowby, started_at, page, send):
    begun, today = day_in(marrowby, started_at), day_in(marrowby, clock.now())
    shown = page(owner, "review")
    assert f'value="{begun}"' in shown
    assert f'value="{today}"' in shown
    yesterday = today - timedelta(days=1)
    send(owner, "review", {"first_day": str(begun), "last_day": str(yesterday), "note": "Probe replaced."})
    assert reviews() == [{"first_day": str(begun), "last_day": str(yesterday)}]
    again = page(owner, "review")
    assert f'name="first_day" value="{today}"' in again
    assert "Probe replaced." in again
    assert "were looked through." in page(owner, "book")


def test_the_next_begins_today_where_today_was_looked_through(owner, marrowby, page, send):
    today = str(day_in(marrowby, clock.now()))
    send(owner, "review", {"first_day": today, "last_day": today})
    assert f'name="first_day" value="{today}"' in page(owner, "review")


@pytest.mark.parametrize(("first", "last"), [(1, 0), (0, 2), (3, 2)])
def test_days_in_the_wrong_order_or_to_come_are_refused(owner, marrowby, send, first, last):
    today = day_in(marrowby, clock.now())
    sent = {"first_day": str(today + timedelta(days=first)), "last_day": str(today + timedelta(days=last))}
    answer = send(owner, "review", sent)
    assert list(answer.context["form"].errors) == ["last_day"]
    assert reviews() == []


def test_a_cook_does_not_write_it(write):
    with pytest.raises(PermissionDenied):
        write("review", {"first_day": "2026-01-01", "last_day": "2026-01-02"})


def test_a_wrong_day_is_corrected(owner, marrowby, page, send):
    today = str(day_in(marrowby, clock.now()))
    send(owner, "review", {"first_day": today, "last_day": today})
    entry = Entry.objects.get(kind="review")
    assert f'name="last_day" value="{today}"' in page(owner, "correct", entry.pk)
    yesterday = str(day_in(marrowby, clock.now()) - timedelta(days=1))
    send(owner, "correct", {"first_day": yesterday, "last_day": today, "reason": "A day more"}, entry.pk)
    assert reviews()[-1]["first_day"] == yesterday
