"""The first page, which says it all, and the last, which says how to know that nothing was changed."""

from collections.abc import Iterator

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kettlewell.pages.blocks import Block, Facts, Heading, Text
from kettlewell.records.verify import unbroken_to, verify
from kettlewell.web.entry.codes import in_groups
from kettlewell.web.inspection.findings import asked, late, unsettled
from kettlewell.web.inspection.gathered import Gathered
from kettlewell.web.inspection.place import failed_checks


def first_page(gathered: Gathered, name: str) -> Iterator[Block]:
    """Yield what the period came to, and what is still open."""
    reader, found = gathered.reader, len(gathered.standing(["reading"]))
    begin, end = reader.written_day(gathered.since), reader.written_day(gathered.until)
    yield Heading(text=_("Records of frying oil"))
    yield Facts(
        rows=[
            (_("Kitchen"), name),
            (_("Period"), _("%(begin)s to %(end)s") % {"begin": begin, "end": end}),
            (_("Printed"), reader.date(gathered.visit.now)),
            (_("By"), str(gathered.visit.place.person)),
        ]
    )
    yield Heading(text=_("In short"), level=2)
    yield Facts(
        rows=[
            (_("Readings"), str(found)),
            (_("Change before frying"), changes_asked(gathered)),
            (_("Fresh fills"), str(len(gathered.standing(["change"])))),
            (_("Meter checks"), checks_made(gathered)),
            (_("Corrected or undone"), str(sum(entry.replaces_id is not None for entry in gathered.entries))),
            (_("Written down late"), str(len(late(gathered)))),
            (_("Day book"), wholeness(gathered)),
        ]
    )
    yield Heading(text=_("Still open"), level=2)
    still = unsettled(gathered)
    for verdict in still:
        values = {"fryer": gathered.names.of("fryers", verdict.fryer), "when": gathered.when(verdict)}
        yield Text(text=_("%(fryer)s, %(when)s: nobody wrote down what was done.") % values, weight="framed")
    answered = gathered.answers("answer")
    unanswered = [call for call in gathered.standing(["call"]) if call.pk not in answered]
    for call in unanswered:
        said = {"said": gathered.said(call), "when": gathered.when(call)}
        yield Text(text=_("%(when)s: %(said)s Nobody answered.") % said, weight="framed")
    if not still and not unanswered:
        yield Text(text=_("Nothing."))


def changes_asked(gathered: Gathered) -> str:
    """Return how often a change before frying was asked for, and of how many it is said what was done."""
    verdicts, settled = asked(gathered), gathered.answers("settled")
    said = sum(verdict.pk in settled for verdict in verdicts)
    return _("%(number)s; what was done is written down for %(said)s of them") % {
        "number": len(verdicts),
        "said": said,
    }


def checks_made(gathered: Gathered) -> str:
    """Return how often meters were checked, and in how many checks one was off."""
    number, off = len(gathered.standing(["meter_check"])), failed_checks(gathered)
    return _("%(number)s, of which %(off)s found a meter off") % {"number": number, "off": off}


def wholeness(gathered: Gathered) -> str:
    """Return whether the chain of the day book holds, as it was found when printed."""
    finding = verify(gathered.visit.kitchen)
    last = unbroken_to(gathered.visit.kitchen, finding)
    if last is None:
        return _("not as it was written: see the last page")
    if finding is None:
        return ngettext(
            "whole: its %(number)s entry is as it was written",
            "whole: its %(number)s entries are as they were written",
            last.seq,
        ) % {"number": last.seq}
    return _("as it was written up to entry %(number)s only: see the last page") % {"number": last.seq}


def chain(gathered: Gathered) -> Iterator[Block]:
    """Yield the head of the day book, and how it proves that nothing before it was changed."""
    kitchen = gathered.visit.kitchen
    yield Heading(text=_("How to know that nothing was changed"), follows=True)
    yield Text(
        text=_(
            "Each entry holds a code made from all that it says and from the code of the entry before. "
            "Whoever changes, removes or adds an older entry changes every code after it, and the last "
            "one too."
        )
    )
    yield Facts(
        rows=[(_("Last entry"), str(kitchen.head_seq)), (_("Its check code"), in_groups(kitchen.head_hash))]
    )
    yield Text(
        text=_(
            "Keep this page. Type the first four groups later on the kitchen's server, after “kettlewell "
            "verify --head”: it says whether the day book still has this entry. An export and the "
            "program's documentation let any other program check the codes."
        )
    )
    yield Text(
        text=_("The codes prove that what was written stayed. They do not prove that it was true."),
        weight="strong",
    )
