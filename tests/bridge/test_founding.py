"""A kitchen is founded without a screen, and refused by the same fields."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from kettlewell.bridge.founding import (
    FirstOwner,
    Founding,
    RefusedOwnerError,
    first_kitchen_found,
    kitchen_found,
)
from kettlewell.records.first_start import set_up_code
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Kitchen, Person, Role
from kettlewell.records.settings import settings_of

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
QUAY = {"name": "Quay Café", "jurisdiction": "GB", "timezone": "Europe/London"}
NORA = {"name": "Nora Quay", "sign_in": "Nora", "password": "batter and vinegar"}


def founded(values=QUAY, limit_pct="24", **owner):
    founding = Founding(values=values, house_limit_pct=limit_pct and Decimal(limit_pct))
    return first_kitchen_found(founding, FirstOwner(**{**NORA, "code": set_up_code(), **owner}), NOW)


@pytest.mark.django_db
def test_the_first_kitchen_has_its_owner_its_settings_and_its_limit():
    kitchen, nora = founded()
    assert (kitchen.slug, nora.sign_in) == ("quay-cafe", "nora")
    assert [(seat.person, seat.role) for seat in kitchen.seats.all()] == [(nora, Role.OWNER)]
    things = settings_of(kitchen)
    assert things["kitchen"] == {"": QUAY}
    assert things["limits"]["house"]["value"] == "24"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("values", "limit_pct", "field"),
    [
        (QUAY, None, "house_limit_pct"),
        ({**QUAY, "jurisdiction": ""}, None, "house_limit_pct"),
        ({**QUAY, "name": ""}, "24", "name"),
        ({**QUAY, "risk": "0.7"}, "24", "risk"),
    ],
)
def test_what_makes_no_kitchen_is_refused_by_field_and_leaves_nobody(values, limit_pct, field):
    with pytest.raises(ValidationError) as refused:
        founded(values, limit_pct)
    assert not isinstance(refused.value, RefusedOwnerError)
    assert list(refused.value.error_dict) == [field]
    assert not Kitchen.objects.exists()
    assert not Person.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("code", ["", "aaaa-aaaa-aaaa-aaaa", "all but the last letter", "ä"])
def test_who_cannot_see_what_the_server_printed_sets_nothing_up(code):
    with pytest.raises(RefusedOwnerError) as refused:
        founded(code=set_up_code()[:-1] if code == "all but the last letter" else code)
    assert list(refused.value.error_dict) == ["code"]
    assert not Person.objects.exists()


@pytest.mark.django_db
def test_the_code_is_taken_however_it_is_copied():
    founded(code=f" {set_up_code().upper().replace('-', ' ')} ")
    assert Kitchen.objects.exists()


@pytest.mark.django_db
def test_who_cannot_be_the_owner_is_refused_by_field():
    with pytest.raises(RefusedOwnerError) as refused:
        founded(password="short")
    assert list(refused.value.error_dict) == ["password"]
    founded()
    with pytest.raises(RefusedOwnerError, match="in the meantime"):
        founded(sign_in="other")
    assert Kitchen.objects.count() == 1


@pytest.mark.django_db
def test_a_further_kitchen_gets_an_address_of_its_own():
    _kitchen, nora = founded()
    second = kitchen_found(Founding(values=QUAY, house_limit_pct=Decimal(25)), Hand(person=nora, now=NOW))
    assert second.slug == "quay-cafe-2"
    assert nora.seats.count() == 2
