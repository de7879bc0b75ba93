"""The month sheet: one page for a fryer and a month, as it may hang in a binder."""

from calendar import monthrange
from collections.abc import Iterator
from datetime import date

from django.utils.translation import gettext as _

from kettlewell.pages.blocks import Block, Heading, Table, Text
from kettlewell.records.models import Entry
from kettlewell.web.inspection.days import days_of, done_words, people_of
from kettlewell.web.inspection.findings import FOUND, POURED, measured, poured, told_on
from kettlewell.web.inspection.gathered import Gathered

DONE = (*POURED, "settled", "call", "answer", "order", "closed")


def last_of(month: date) -> date:
    """Return the last day of the month of a day."""
    return month.replace(day=monthrange(month.year, month.month)[1])


def month_sheet(gathered: Gathered, fryer: str) -> Iterator[Block]:
    """Yield a fryer's month: a row for each day on which something was written."""
    name = gathered.names.of("fryers", fryer)
    month = gathered.reader.month(gathered.since)
    yield Heading(text=f"{name} · {month}")
    entries = [entry for entry in gathered.standing((*FOUND, *DONE)) if entry.fryer == fryer]
    yield Table(
        columns=[_("Day"), _("Found"), _("Oil then, %"), _("Verdict"), _("Done"), _("By")],
        rows=[row for day in days_of(entries, gathered) for row in rows_of(day, gathered)],
        widths=[0.6, 1.7, 0.9, 1.3, 2.6, 1],
        empty=_("Nothing was written down in this month."),
    )
    yield Text(
        text=poured([entry for entry in entries if entry.kind in POURED], gathered.reader), weight="strong"
    )


def rows_of(day: list[Entry], gathered: Gathered) -> Iterator[list[str]]:
    """Yield a row for each thing found on a day, the first with all that was done; one row if nothing was."""
    found = [entry for entry in day if entry.kind in FOUND]
    number = str(day[0].at.astimezone(gathered.reader.zone).day)
    done = done_words([entry for entry in day if entry.kind not in FOUND], gathered)
    first = [number, done, people_of(day, gathered)]
    for entry in found:
        number, done, by = first
        yield [number, measured(entry, gathered), *told_on(entry, gathered), done, by]
        first = ["", "", ""]
    if not found:
        number, done, by = first
        yield [number, "", "", "", done, by]
