"""The part on old oil: what stands in the yard, and who took what."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kettlewell.bridge.old_oil import old_oil
from kettlewell.pages.blocks import Block, Heading, Table, Text
from kettlewell.records.models import Entry
from kettlewell.web.book.collecting import hand_over, there, why
from kettlewell.web.inspection.gathered import Gathered


def disposal(gathered: Gathered) -> Iterator[Block]:
    """Yield the balance of old oil when printed, and the hand-overs of the period."""
    found = old_oil(gathered.visit.kitchen, gathered.visit.now)
    yield Heading(text=_("Old oil"), follows=True)
    yield Text(text=there(found, gathered.reader), weight="strong")
    yield Text(text=" ".join(why(found, gathered.reader)), weight="small")
    yield Table(
        columns=[
            _("Day"),
            _("How much"),
            _("Who took it"),
            _("Where it goes"),
            _("Waste code"),
            _("Paid"),
            _("Receipt"),
        ],
        rows=[handed(entry, gathered) for entry in gathered.standing(["collected"])],
        widths=[1, 1.3, 1.2, 1.2, 0.8, 0.8, 0.6],
        empty=_("None in this period."),
    )


def handed(entry: Entry, gathered: Gathered) -> list[str]:
    """Return a hand-over as a row."""
    shown, said = hand_over(entry, gathered.reader), entry.payload
    receipt = _("Yes") if shown.receipt else _("No")
    told = [said.get(name, "") for name in ("carrier", "receiver", "waste_code")]
    return [shown.day, shown.amount, *told, shown.paid, receipt]
