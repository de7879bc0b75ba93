"""Bringing a kitchen's folder into the server's day book."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from kettlewell.cli import given
from kettlewell.cli.screen import Line, complain
from kettlewell.core.decision import VerdictKey
from kettlewell.telling import N_, Reader
from kettlewell.telling.slips import slips_in
from kettlewell.telling.verdicts import VERDICTS

if TYPE_CHECKING:
    from kettlewell.bridge.folders import Brought

FOUNDED = N_("{kitchen} is set up here now.")
FIRST_IN = N_("{name} owns it, signs in as {sign_in} with the password {password}, and then changes it.")
OWNED = N_("{name} owns it, and signs in as always.")
NOTHING_NEW = N_("No row was new.")
VERDICT = N_("{fryer}: {verdict}")
NOT_IN = N_("Not in the day book:")


def imported(folder: Path, owner: str, reader: Reader) -> "Brought":
    """Bring a folder into the day book, and print what became of it; return that.

    Raises ValueError for a folder that nothing can be said of, and for what is refused as a whole.
    """
    from django.core.exceptions import ValidationError  # noqa: PLC0415
    from django.utils import translation  # noqa: PLC0415

    from kettlewell.bridge.folders import folder_bring  # noqa: PLC0415

    found = given.read(folder)
    with translation.override(str(reader.locale).replace("_", "-").lower()):
        try:
            brought = folder_bring(found, reader.now, owner=owner)
        except ValidationError as error:
            raise ValueError(" ".join(error.messages)) from None
        given.show_lines(told(brought, reader))
        for complaint in complaints(brought, reader):
            complain(complaint)
    happened = [entry for entry in found.log.entries if entry.at <= reader.now]
    for slip in slips_in(happened, found.kitchen_at(reader.now), reader.now):
        complain(reader.tell(slip))
    return brought


def told(brought: "Brought", reader: Reader) -> Iterator[Line]:
    """Yield what became of a folder, and how the owner of a kitchen that is new signs in."""
    from kettlewell.records.settings import kitchen_name  # noqa: PLC0415

    if founder := brought.founder:
        yield Line(text=reader.say(FOUNDED, kitchen=kitchen_name(brought.kitchen)))
        sentence = FIRST_IN if founder.password else OWNED
        values = {"sign_in": founder.person.sign_in, "password": founder.password}
        yield Line(text=reader.say(sentence, name=str(founder.person), **values))
    if brought.written:
        yield Line(
            text=reader.count(brought.written, "{number} row was written.", "{number} rows were written.")
        )
    else:
        yield Line(text=reader.say(NOTHING_NEW))
    for fryer, verdict in brought.verdicts.items():
        said = reader.say(VERDICTS[VerdictKey(verdict.payload["verdict"])])
        yield Line(text=reader.say(VERDICT, fryer=fryer, verdict=said))


def complaints(brought: "Brought", reader: Reader) -> Iterator[str]:
    """Yield the rows that are in no day book, and why."""
    if brought.problems:
        yield reader.say(NOT_IN)
    for problem in brought.problems:
        yield f"  {reader.tell(problem.message)}"
