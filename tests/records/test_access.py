"""Who may see and do what in a kitchen."""

from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404

from kettlewell import clock
from kettlewell.records.access import Act, place_of, seats_of
from kettlewell.records.ledger import Hand, setting_add
from kettlewell.records.models import Kitchen, Role
from kettlewell.records.people import SeatTerms, seat_set

MAY = {
    "owner": {Act.READ, Act.RECORD, Act.SET_UP, Act.PEOPLE},
    "area_manager": {Act.READ, Act.RECORD, Act.SET_UP, Act.PEOPLE},
    "cook": {Act.READ, Act.RECORD},
    "inspector": {Act.READ},
}


@pytest.fixture
def now():
    return clock.now()


@pytest.mark.parametrize("act", Act)
@pytest.mark.parametrize("role", MAY)
def test_each_role_may_do_its_own_acts_and_no_other(request, marrowby, now, role, act):
    person = request.getfixturevalue(role)
    if act in MAY[role]:
        place = place_of(person, marrowby.slug, act, now)
        assert (place.kitchen, place.person, place.may(act)) == (marrowby, person, True)
    else:
        with pytest.raises(PermissionDenied):
            place_of(person, marrowby.slug, act, now)


def test_every_role_is_tried_here():
    assert set(MAY) == {role.value for role in Role}


@pytest.mark.parametrize("act", Act)
def test_to_a_stranger_the_kitchen_is_not_there(marrowby, stranger, now, act):
    for slug in (marrowby.slug, "no-such-kitchen"):
        for person in (stranger, AnonymousUser()):
            with pytest.raises(Http404):
                place_of(person, slug, act, now)


@pytest.mark.parametrize("role", MAY)
def test_nobody_of_one_kitchen_sees_another(request, marrowby, now, role):
    person = request.getfixturevalue(role)
    other = Kitchen.objects.create(slug="another")
    with pytest.raises(Http404):
        place_of(person, other.slug, Act.READ, now)
    assert [seat.kitchen for seat in seats_of(person, now)] == [marrowby]


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "UTC", "Pacific/Pago_Pago"])
def test_a_seat_lasts_to_the_end_of_its_last_day_on_the_kitchens_clocks(marrowby, cook, hand, zone):
    setting_add(marrowby, "kitchen", "", {"timezone": zone}, hand=hand)
    last_day = clock.now().date() + timedelta(days=30)
    seat_set(marrowby, cook, SeatTerms(role=Role.COOK, ends_on=last_day), hand=hand)
    midnight = datetime.combine(last_day + timedelta(days=1), time.min, ZoneInfo(zone))
    last_minute = (midnight - timedelta(minutes=1)).astimezone(UTC)
    assert place_of(cook, marrowby.slug, Act.READ, last_minute).person == cook
    assert [seat.kitchen for seat in seats_of(cook, last_minute)] == [marrowby]
    with pytest.raises(Http404):
        place_of(cook, marrowby.slug, Act.READ, midnight.astimezone(UTC))
    assert seats_of(cook, midnight.astimezone(UTC)) == []


def test_who_has_a_role_in_two_kitchens_has_each_where_it_is(marrowby, owner, cook, now):
    other = Kitchen.objects.create(slug="another")
    seat_set(other, cook, SeatTerms(role=Role.OWNER), hand=Hand(person=cook, now=clock.now()))
    assert place_of(cook, other.slug, Act.PEOPLE, now).kitchen == other
    with pytest.raises(PermissionDenied):
        place_of(cook, marrowby.slug, Act.PEOPLE, now)


def test_a_closed_account_opens_nothing(marrowby, cook, now):
    cook.is_active = False
    cook.save()
    with pytest.raises(Http404):
        place_of(cook, marrowby.slug, Act.READ, now)
