"""Who may see and do what in a kitchen."""

from datetime import timedelta

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.utils import timezone

from kettlewell.records.access import Act, place_of, seats_of
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen, Role, Seat
from kettlewell.records.people import SeatTerms, seat_set

MAY = {
    "owner": {Act.READ, Act.RECORD, Act.SET_UP, Act.PEOPLE},
    "area_manager": {Act.READ, Act.RECORD, Act.SET_UP, Act.PEOPLE},
    "cook": {Act.READ, Act.RECORD},
    "inspector": {Act.READ},
}


@pytest.fixture
def today():
    return timezone.now().date()


@pytest.mark.parametrize("act", Act)
@pytest.mark.parametrize("role", MAY)
def test_each_role_may_do_its_own_acts_and_no_other(request, marrowby, today, role, act):
    person = request.getfixturevalue(role)
    if act in MAY[role]:
        place = place_of(person, marrowby.slug, act, today)
        assert (place.kitchen, place.person, place.may(act)) == (marrowby, person, True)
    else:
        with pytest.raises(PermissionDenied):
            place_of(person, marrowby.slug, act, today)


def test_every_role_is_tried_here():
    assert set(MAY) == {role.value for role in Role}


@pytest.mark.parametrize("act", Act)
def test_to_a_stranger_the_kitchen_is_not_there(marrowby, stranger, today, act):
    for slug in (marrowby.slug, "no-such-kitchen"):
        for person in (stranger, AnonymousUser()):
            with pytest.raises(Http404):
                place_of(person, slug, act, today)


@pytest.mark.parametrize("role", MAY)
def test_nobody_of_one_kitchen_sees_another(request, marrowby, today, role):
    person = request.getfixturevalue(role)
    other = Kitchen.objects.create(slug="another")
    with pytest.raises(Http404):
        place_of(person, other.slug, Act.READ, today)
    assert [seat.kitchen for seat in seats_of(person, today)] == [marrowby]


def test_an_inspector_sees_the_kitchen_to_the_end_of_the_last_day(marrowby, inspector):
    last_day = Seat.objects.get(person=inspector).ends_on
    assert place_of(inspector, marrowby.slug, Act.READ, last_day).person == inspector
    with pytest.raises(Http404):
        place_of(inspector, marrowby.slug, Act.READ, last_day + timedelta(days=1))


def test_who_has_a_role_in_two_kitchens_has_each_where_it_is(marrowby, owner, cook, today):
    other = Kitchen.objects.create(slug="another")
    seat_set(other, cook, SeatTerms(role=Role.OWNER), hand=Hand(person=cook, now=timezone.now()))
    assert place_of(cook, other.slug, Act.PEOPLE, today).kitchen == other
    with pytest.raises(PermissionDenied):
        place_of(cook, marrowby.slug, Act.PEOPLE, today)


def test_a_closed_account_opens_nothing(marrowby, cook, today):
    cook.is_active = False
    cook.save()
    with pytest.raises(Http404):
        place_of(cook, marrowby.slug, Act.READ, today)
