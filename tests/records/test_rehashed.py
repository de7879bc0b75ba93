"""Who owns the database computes the whole chain anew, or cuts its end off: a head noted elsewhere tells.

Without one nothing could: verify calls such a book whole, which is shown too.
"""

import random
from datetime import timedelta

import pytest
from django.db import transaction

from kettlewell import clock
from kettlewell.cli.verified import heads_noted, verified
from kettlewell.records import triggers
from kettlewell.records.canonical import sha256
from kettlewell.records.ledger import document
from kettlewell.records.models import Entry, Kitchen, Private
from kettlewell.telling import reader

pytestmark = [pytest.mark.sqlite, pytest.mark.slow]
TIMES = 200
SEED = 20261130
READINGS = 24


@pytest.fixture
def book(marrowby, write):
    """Return the readings of a day book that is whole."""
    readings = [write(private={"note": f"note {number}".encode()}) for number in range(READINGS)]
    assert stands(verified(words()))
    return readings


@pytest.fixture
def behind_the_triggers(drop_triggers):
    """Return a way to try a change of the database with its triggers gone, and put back after it."""

    def tried(change, heads):
        with transaction.atomic():
            drop_triggers()
            change()
            triggers.install()
            found = stands(verified(words())), [stands(heads_noted([head], words())) for head in heads]
            transaction.set_rollback(True)
        return found

    return tried


def words():
    return reader("UTC", clock.now(), locale="en")


def stands(told):
    return all(stands for _line, stands in told)


def chained_anew(kitchen):
    """Compute every hash of a day book again, and what else goes by them."""
    before, last_setting = "", None
    for entry in Entry.objects.filter(kitchen=kitchen).order_by("seq"):
        entry.previous = before
        entry.hash = before = sha256(document(entry))
        Entry.objects.filter(pk=entry.pk).update(previous=entry.previous, hash=entry.hash)
        last_setting = entry if entry.kind == "setting" else last_setting
    settings = {"settings_seq": last_setting.seq, "settings_hash": last_setting.hash}
    Kitchen.objects.filter(pk=kitchen.pk).update(head_hash=before, **settings)


def cut_off(kitchen, last):
    """Take away all that follows an entry, as though it had been the last."""
    gone = Entry.objects.filter(kitchen=kitchen, seq__gt=last.seq)
    Private.objects.filter(entry__in=gone)._raw_delete("default")
    gone._raw_delete("default")
    Kitchen.objects.filter(pk=kitchen.pk).update(head_seq=last.seq, head_hash=last.hash)


def edited(draw, entry):
    """Change what one entry says, in a way that its reader could believe."""
    field = draw.choice(["payload", "happened_at", "received_at"])
    if field == "payload":
        payload = {**entry.payload, "tpc_pct": f"{draw.uniform(2, 40):.2f}"}
        Entry.objects.filter(pk=entry.pk).update(payload=payload)
        return
    by = timedelta(seconds=draw.uniform(1, 86_400))
    moved = {field: getattr(entry, field) - by}
    if field == "happened_at":
        moved["at"] = entry.at - by
    Entry.objects.filter(pk=entry.pk).update(**moved)


def test_of_two_hundred_chains_computed_anew_each_is_found_by_a_head_noted_after_the_edit(
    marrowby, book, behind_the_triggers
):
    draw = random.Random(SEED)  # noqa: S311 - the same each time
    for _time in range(TIMES):
        place, noted = sorted((draw.randrange(1, READINGS), draw.randrange(1, READINGS)))

        def change(place=place):
            edited(draw, book[place])
            chained_anew(marrowby)

        heads = [book[noted].hash, book[place - 1].hash]
        # whole without a head; not what was noted after the edit; what was noted before it still proves
        assert behind_the_triggers(change, heads) == (True, [False, True])


def test_of_two_hundred_tails_cut_off_each_is_found_by_a_head_noted_in_it(
    marrowby, book, behind_the_triggers
):
    draw = random.Random(SEED)  # noqa: S311 - the same each time
    for _time in range(TIMES):
        last, noted = sorted(draw.sample(range(READINGS), 2))
        heads = [book[noted].hash, book[last].hash]
        found = behind_the_triggers(lambda last=last: cut_off(marrowby, book[last]), heads)
        assert found == (True, [False, True])
