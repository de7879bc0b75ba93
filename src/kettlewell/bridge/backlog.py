"""What stood on paper for days, told at once: all that can be is written, each once."""

from collections.abc import Sequence

from django.core.exceptions import ValidationError
from django.db import transaction

from kettlewell.bridge.verdicts import with_verdicts, written_down
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import is_late

Outcome = Entry | ValidationError


def record_each(kitchen: Kitchen, tolds: Sequence[Told], hand: Hand) -> list[Outcome]:
    """Write in one transaction each entry that can be true; return for each the entry, or why it cannot be.

    They are written in the order in which they happened, those of one time as they are told. None that is
    told late gets a verdict: ``tell_now`` ends a backlog. Of the others each fryer's last gets the one that
    follows from all. Raises PermissionDenied for who may not write one of them, and then none is.
    """
    found: dict[int, Outcome] = {}
    with transaction.atomic():
        for place in sorted(range(len(tolds)), key=lambda place: tolds[place].happened_at):
            try:
                found[place] = written_down(kitchen, tolds[place], hand)[0]
            except ValidationError as error:
                found[place] = error
    kitchen.refresh_from_db()
    fresh = {each.fryer: each for each in found.values() if isinstance(each, Entry) and not is_late(each)}
    for entry in fresh.values():
        with_verdicts(kitchen, entry, hand, new=False)
    return [found[place] for place in range(len(tolds))]
