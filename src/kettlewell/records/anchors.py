"""Check codes that left the house: what an owner who computed the chain anew could not change."""

from datetime import datetime, timedelta

from kettlewell.records.models import Anchor, Kitchen
from kettlewell.records.retention import keeping_of
from kettlewell.records.verify import kitchens

EVERY = timedelta(days=1)


def anchors_due(now: datetime) -> list[tuple[Kitchen, str]]:
    """Return the kitchens whose check code is to be sent, and where to: daily, where something is new."""
    found = ((kitchen, keeping_of(kitchen).check_code_to) for kitchen in kitchens() if kitchen.head_seq)
    return [(kitchen, to) for kitchen, to in found if to and is_due(kitchen, now)]


def is_due(kitchen: Kitchen, now: datetime) -> bool:
    """Tell whether the last check code that was sent is another, and a day old."""
    sent = anchor_of(kitchen)
    return sent is None or (sent.hash != kitchen.head_hash and abs(now - sent.sent_at) >= EVERY)


def anchor_of(kitchen: Kitchen) -> Anchor | None:
    """Return the last check code that was sent; None where none was."""
    return Anchor.objects.filter(kitchen=kitchen).first()


def anchor_keep(kitchen: Kitchen, *, now: datetime) -> None:
    """Remember that the check code a kitchen was read with was sent."""
    sent = {"seq": kitchen.head_seq, "hash": kitchen.head_hash, "sent_at": now}
    Anchor.objects.update_or_create(kitchen=kitchen, defaults=sent)
