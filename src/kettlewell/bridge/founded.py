"""The oil that a kitchen fries in when it is set up: filled before anybody wrote a day book."""

from datetime import datetime, time, timedelta
from itertools import takewhile

from django.db import transaction

from kettlewell.bridge.setups import history_of
from kettlewell.bridge.verdicts import record, tell_now
from kettlewell.core.belief.week import slots_over
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import is_spoken_of
from kettlewell.records.settings import day_in, settings_of, zone_of


def fryers_unspoken_of(kitchen: Kitchen) -> list[str]:
    """Return the fryers of which the day book says nothing yet."""
    fryers = settings_of(kitchen).get("fryers", {})
    return [key for key in fryers if not is_spoken_of(kitchen, "fryers", key)]


def filled_at(kitchen: Kitchen, days_ago: int, now: datetime) -> datetime:
    """Return when oil that was filled so many days ago is taken to be: before it fried anything that day.

    That is as its first service begins, or with the day where nobody fries; now, if that has not come.
    """
    day = day_in(kitchen, now) - timedelta(days=days_ago)
    begins = datetime.combine(day, time.min, zone_of(kitchen))
    slots = takewhile(lambda slot: slot.day <= day, slots_over(history_of(kitchen), begins))
    return min(next((slot.begins for slot in slots if slot.day == day), begins), now)


def oil_age_told(kitchen: Kitchen, ages: dict[str, int], hand: Hand) -> None:
    """Write by fryer how many days ago it was filled, all or none, and tell what follows now."""
    with transaction.atomic():
        for fryer, days_ago in ages.items():
            at = filled_at(kitchen, days_ago, hand.now)
            told = Told(id=uuid7(hand.now), kind="change", happened_at=at, payload={"fryer": fryer})
            record(kitchen, told, hand)
    tell_now(kitchen, hand)
