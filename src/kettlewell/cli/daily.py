"""What `serve` does by itself each day: copies, check codes that leave the house, what is erased in time."""

import threading
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import DatabaseError, connections

from kettlewell import clock
from kettlewell.cli.backups import home_of_file, passphrase, take_if_due
from kettlewell.records.access_log import Event, tell
from kettlewell.records.anchors import anchor_keep, anchors_due
from kettlewell.records.models import Kitchen
from kettlewell.records.retention import retention_apply
from kettlewell.records.settings import kitchen_name
from kettlewell.records.verify import kitchens
from kettlewell.telling import N_, Reader

LOOK_AGAIN_S = 600.0
SUBJECT = N_("{kitchen}: check code of {day}")
BODY = N_(
    "Day book of {kitchen} up to entry {number}, written by {time} UTC.\n\n{head}\n\n"
    "Keep this message. `kettlewell verify --head` with this code shows that nothing written before "
    "was changed."
)
Chore = Callable[[], None]


def begin(reader: Reader) -> None:
    """Do what each day asks for as long as the process lives, beside what it does.

    Raises ValueError where copies are wanted and there could be none.
    """
    chores: list[Chore] = [erase_in_time, partial(send_check_codes, reader)]
    if settings.BACKUPS:
        folder = Path(settings.BACKUPS).expanduser()
        chores.append(partial(take_if_due, home_of_file(reader), folder, passphrase(reader)))
    threading.Thread(target=_keep_on, args=(chores,), daemon=True).start()


def _keep_on(chores: Sequence[Chore]) -> None:
    never = threading.Event()
    while True:
        for chore in chores:
            chore()
        connections.close_all()
        never.wait(LOOK_AGAIN_S)


def erase_in_time() -> None:
    """Erase notes, photos and names that were kept for as long as their kitchens want to."""
    try:
        for kitchen in kitchens():
            if erased := retention_apply(kitchen, now=clock.now()):
                tell(Event.ERASED, None, kitchen=kitchen.slug, entries=erased)
    except DatabaseError as error:
        tell(Event.ERASING_FAILED, None, why=error)


def send_check_codes(reader: Reader) -> None:
    """Send each kitchen's check code to the address of its choice, once a day, where something is new."""
    if not settings.EMAIL_HOST:
        return
    try:
        for kitchen, to in anchors_due(clock.now()):
            check_code(kitchen, to, reader).send()
            anchor_keep(kitchen, now=clock.now())
            tell(Event.CHECK_CODE_SENT, None, kitchen=kitchen.slug, number=kitchen.head_seq)
    except (DatabaseError, OSError) as error:  # those of smtplib are OSErrors
        tell(Event.CHECK_CODE_FAILED, None, why=error)


def check_code(kitchen: Kitchen, to: str, reader: Reader) -> EmailMessage:
    """Return the message that takes a kitchen's check code out of the house."""
    name, now = kitchen_name(kitchen), clock.now()
    subject = reader.say(SUBJECT, kitchen=name, day=reader.written_day(now.date()))
    told = {"number": str(kitchen.head_seq), "head": kitchen.head_hash, "time": reader.date(now)}
    return EmailMessage(subject, reader.say(BODY, kitchen=name, **told), to=[to])
