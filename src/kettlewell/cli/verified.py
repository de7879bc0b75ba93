"""Verifying the server's day books: it reads, and changes nothing."""

import re
from collections.abc import Iterator, Sequence
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

from kettlewell.cli.screen import Line
from kettlewell.telling import N_, Reader

if TYPE_CHECKING:
    from kettlewell.records.chain import Break
    from kettlewell.records.models import Entry, Kitchen

BROKEN = 1
MINUTE = timedelta(minutes=1)
HEAD = "[0-9a-f]{16,64}"  # of 64 digits the first 16 are enough: nobody finds another entry that has them
WHOLE = N_("{kitchen}: whole up to entry {number}, written {time} UTC. Head: {head}")
EMPTY = N_("{kitchen}: nothing was written yet.")
UNBROKEN = N_(
    "{kitchen}: the chain is unbroken up to entry {number}, written {time} UTC (head then: {head}). "
    "Of what follows nothing is said."
)
UNBROKEN_TO_ITS_END = N_(
    "{kitchen}: the chain is unbroken up to its last entry, {number}, written {time} UTC. Head: {head}"
)
UNGUARDED = N_("The database no longer guards the day book: {trigger} is gone or changed. Serve renews it.")
WAS_UNGUARDED = N_(
    "{trigger} was gone or changed when the server started on {time} UTC, and was renewed. "
    "Before that the database did not guard the day book."
)
MISSPELT = N_("{table}, row {row}: {column} is not written as the program writes it. Somebody edited it.")
MISNAMED = N_("{table}: person {person} has another name than the day book says.")
LOST = N_("{table}: person {person}, of whom entries speak, is gone or cannot be read.")
STRAY = N_("{kitchen}: there are entries, but the kitchen itself was removed or cannot be read.")
DAMAGED = N_("The database is damaged: {error}")
KNOWN_HEAD = N_(
    "{kitchen}: the head {head} is that of entry {number}, written {time} UTC. "
    "What was written up to it is as it was when the head was noted."
)
UNKNOWN_HEAD = N_(
    "The head {head} is in no day book here as far as it is unbroken: what was written up to it is another."
)
SHORT_HEAD = N_("{head} is no head: it has 16 to 64 digits 0-9 and letters a-f.")
SET_BACK = N_(
    "{kitchen}: entry {number} was received {hours} h {minutes} min before the entry it follows: "
    "the server's clock was put back, or was wrong before."
)
FAULTS = {
    "edited": N_("{kitchen}: entry {number} was edited ({entry})."),
    "removed": N_("{kitchen}: entry {number} was removed."),
    "inserted": N_("{kitchen}: entry {number} was inserted ({entry})."),
    "reordered": N_("{kitchen}: entry {number} stands in another place than it was written ({entry})."),
    "erased": N_("{kitchen}: a name or note of entry {number} is gone, and no entry says so ({entry})."),
    "settings": N_("{kitchen}: its last setting is entry {number}, but it goes by another one ({entry})."),
    "unreadable": N_("{kitchen}: its day book cannot be read."),
    "seats": N_("{kitchen}: what someone may do here is not what entry {number} says (person {entry})."),
    "tablets": N_("{kitchen}: a tablet is not what entry {number} says (tablet {entry})."),
}


def verified(reader: Reader) -> Iterator[tuple[Line, bool]]:
    """Yield a line for each kitchen's day book and each other finding, and whether it stands."""
    from django.db import DatabaseError  # noqa: PLC0415

    try:
        yield from around(reader)
        yield from books(reader)
    except DatabaseError as error:
        yield Line(text=reader.say(DAMAGED, error=str(error))), False


def heads_noted(heads: Sequence[str], reader: Reader) -> Iterator[tuple[Line, bool]]:
    """Yield for each head that was noted elsewhere what it proves, and whether it is found.

    Raises ValueError for what can be no head. The first digits of one will do, groups of them too.
    """
    from kettlewell.records.verify import entry_with_head, kitchens, unbroken_to, verify  # noqa: PLC0415

    noted = {head: "".join(head.split()).lower() for head in heads}
    for head, digits in noted.items():
        if not re.fullmatch(HEAD, digits):
            raise ValueError(reader.say(SHORT_HEAD, head=head))
    if not noted:
        return
    unbroken = [last for kitchen in kitchens() if (last := unbroken_to(kitchen, verify(kitchen)))]
    for head, digits in noted.items():
        found = next((entry for last in unbroken if (entry := entry_with_head(digits, upto=last))), None)
        if found is None:
            yield Line(text=reader.say(UNKNOWN_HEAD, head=head)), False
        else:
            told = {"kitchen": str(found.kitchen.slug), "head": head, "number": str(found.seq)}
            yield Line(text=reader.say(KNOWN_HEAD, **told, time=reader.date(found.received_at))), True


def around(reader: Reader) -> Iterator[tuple[Line, bool]]:
    """Yield what is wrong though no day book that can be found is."""
    from kettlewell.records import triggers  # noqa: PLC0415
    from kettlewell.records.names import misnamed  # noqa: PLC0415
    from kettlewell.records.spelling import damage, misspelt  # noqa: PLC0415
    from kettlewell.records.verify import strays  # noqa: PLC0415

    for trigger in sorted(triggers.missing()):
        yield Line(text=reader.say(UNGUARDED, trigger=trigger)), False
    for lost in triggers.remembered():
        told = reader.say(WAS_UNGUARDED, trigger=lost.name, time=reader.date(lost.found_at))
        yield Line(text=told), True
    for error in damage():
        yield Line(text=reader.say(DAMAGED, error=error)), False
    for table, column, row in misspelt():
        yield Line(text=reader.say(MISSPELT, table=table, row=str(row), column=column)), False
    for person, is_there in misnamed():
        sentence = MISNAMED if is_there else LOST
        yield Line(text=reader.say(sentence, table="records_person", person=person)), False
    for stray in strays():
        yield Line(text=reader.say(STRAY, kitchen=stray)), False


def books(reader: Reader) -> Iterator[tuple[Line, bool]]:
    """Yield what is to be told of the day book of each kitchen."""
    from kettlewell.records.settings import kitchen_name  # noqa: PLC0415
    from kettlewell.records.verify import kitchens, unbroken_to, verify  # noqa: PLC0415

    for kitchen in kitchens():
        finding = verify(kitchen)
        last = unbroken_to(kitchen, finding)
        if finding is None:
            sentence = WHOLE if last else EMPTY
            yield Line(text=up_to(last, sentence, reader, kitchen=kitchen_name(kitchen))), True
        else:
            yield from broken(kitchen, finding, last, reader)
        if last:
            yield from ((Line(text=text), True) for text in clock_steps(kitchen, last, reader))


def broken(
    kitchen: "Kitchen", finding: "Break", last: "Entry | None", reader: Reader
) -> Iterator[tuple[Line, bool]]:
    """Yield what is wrong with the day book of a kitchen, and up to where its chain is unbroken."""
    name = str(kitchen.slug)  # not even its name is to be believed
    values = {"kitchen": name, "number": str(finding.seq), "entry": finding.entry}
    yield Line(text=reader.say(FAULTS[finding.fault], **values)), False
    if last:
        sentence = UNBROKEN_TO_ITS_END if last.seq == kitchen.head_seq else UNBROKEN
        yield Line(text=up_to(last, sentence, reader, kitchen=name)), False


def clock_steps(kitchen: "Kitchen", last: "Entry", reader: Reader) -> Iterator[str]:
    """Yield where the server's clock ran backwards, as far as the chain is unbroken."""
    from kettlewell.records.verify import set_back  # noqa: PLC0415

    for seq, by in set_back(kitchen, upto_seq=last.seq):
        hours, minutes = divmod(ceil(by / MINUTE), 60)
        values = {
            "kitchen": str(kitchen.slug),
            "number": str(seq),
            "hours": str(hours),
            "minutes": str(minutes),
        }
        yield reader.say(SET_BACK, **values)


def up_to(last: "Entry | None", sentence: str, reader: Reader, *, kitchen: str) -> str:
    """Return a sentence on the entry up to which the chain of a kitchen is unbroken."""
    if last is None:
        return reader.say(sentence, kitchen=kitchen)
    time = reader.date(last.received_at)
    return reader.say(sentence, kitchen=kitchen, number=str(last.seq), time=time, head=last.hash)
