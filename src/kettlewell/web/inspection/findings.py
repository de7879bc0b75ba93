"""The parts on the oil: what was found, what was done about it, what was poured and changed."""

from collections.abc import Collection, Iterator
from decimal import Decimal

from django.utils.translation import gettext as _

from kettlewell.bridge.verdicts import told_message
from kettlewell.core.decision import VerdictKey
from kettlewell.pages.blocks import Block, Heading, Table, Text
from kettlewell.records.models import Entry
from kettlewell.telling import N_, Reader
from kettlewell.telling.verdicts import VERDICTS
from kettlewell.web.entry.lines import LATE, replaced_by
from kettlewell.web.entry.sentences import doubts, typed
from kettlewell.web.inspection.days import days_of, done_words, people_of
from kettlewell.web.inspection.gathered import Gathered

FOUND = ("reading", "laboratory", "senses")
POURED = ("change", "top_up", "move", "store", "return", "care")
COVERAGE = 2  # of an expanded uncertainty (GUM): two standard deviations
READ, READ_AT = N_("{tpc_pct} %"), N_("{tpc_pct} % in oil of {oil_temp_c} °C")
LEVEL = N_("{mean} ± {expanded}")


def readings(gathered: Gathered) -> Iterator[Block]:
    """Yield what was measured and noticed in each fryer, with the verdicts as they were told."""
    yield Heading(text=_("Readings and verdicts"))
    yield Text(
        text=_("“Oil then” is what the program believed of the true value, ± two standard deviations."),
        weight="small",
    )
    found = gathered.standing(FOUND)
    for name, entries in gathered.fryers(found):
        yield Heading(text=name, level=2)
        yield Table(
            columns=[_("When"), _("What was found"), _("By"), _("Oil then, %"), _("Verdict")],
            rows=[row_of(entry, gathered) for entry in entries],
            widths=[1.7, 2.2, 1, 0.9, 1.4],
            empty="",
        )
    if not found:
        yield Text(text=_("None in this period."))


def row_of(entry: Entry, gathered: Gathered) -> list[str]:
    """Return a row: when, what was found, by whom, what was believed then, what was told."""
    said = [measured(entry, gathered), *doubts(entry.kind, entry.payload, gathered.reader)]
    return [gathered.when(entry), " ".join(said), gathered.by(entry), *told_on(entry, gathered)]


def measured(entry: Entry, gathered: Gathered) -> str:
    """Return a reading in figures, for it stands under its fryer; anything else in its sentence."""
    if entry.kind != "reading":
        return gathered.said(entry)
    told = typed(entry.payload, gathered.reader)
    text = READ_AT if told.get("oil_temp_c") else READ
    figures = {name: told.get(name) for name in ("tpc_pct", "oil_temp_c")}
    return " ".join(filter(None, [gathered.reader.say(text, **figures), gathered.note(entry)]))


def told_on(entry: Entry, gathered: Gathered) -> tuple[str, str]:
    """Return what was believed (mean and expanded uncertainty) and told on an entry at its fryer."""
    verdict = next((each for each in gathered.verdicts.get(entry.pk, ()) if each.fryer == entry.fryer), None)
    if verdict is None:
        return "", ""
    reader, told = gathered.reader, verdict.payload
    mean, expanded = float(told["tpc_mean_pct"]), COVERAGE * float(told["tpc_sd_pct"])
    level = reader.say(LEVEL, mean=reader.number(mean, digits=1), expanded=reader.number(expanded, digits=1))
    return level, reader.say(VERDICTS[VerdictKey(told["verdict"])])


def deviations(gathered: Gathered) -> Iterator[Block]:
    """Yield every verdict to change the oil at once and every call, with what was done."""
    yield Heading(text=_("What was wrong, and what was done"))
    settled = gathered.answers("settled")
    rows = [
        [
            gathered.when(verdict),
            gathered.names.of("fryers", verdict.fryer),
            gathered.reader.tell(told_message(verdict.payload["reason"])),
            done(settled.get(verdict.pk), gathered) or filled_after(verdict, gathered),
        ]
        for verdict in asked(gathered)
    ]
    yield Table(
        columns=[_("When"), _("Fryer"), _("Change before frying, because"), _("What was done")],
        rows=rows,
        widths=[1.5, 0.9, 2.1, 2.1],
        empty=_("No verdict in this period asked for a change before frying."),
    )
    yield Heading(text=_("Calls for the chef"), level=2)
    answers = gathered.answers("answer")
    yield Table(
        columns=[_("When"), _("Call"), _("Answer")],
        rows=[
            [
                gathered.when(call),
                f"{gathered.said(call)} ({gathered.by(call)})",
                done(answers.get(call.pk), gathered) or _("Nothing is written down."),
            ]
            for call in gathered.standing(["call"])
        ],
        widths=[1.5, 2.5, 2.5],
        empty=_("None in this period."),
    )
    yield Heading(text=_("Complaints and recalls"), level=2)
    yield told_plainly(gathered, ("complaint", "recall"))


def told_plainly(gathered: Gathered, kinds: Collection[str]) -> Table:
    """Return what stands of some kinds: when, what it says, by whom."""
    return Table(
        columns=[_("When"), _("What"), _("By")],
        rows=[
            [gathered.when(entry), gathered.said(entry), gathered.by(entry)]
            for entry in gathered.standing(kinds)
        ],
        widths=[1.6, 3.8, 1],
        empty=_("None in this period."),
    )


def asked(gathered: Gathered) -> list[Entry]:
    """Return the verdicts that asked for a change before frying, on entries that stand."""
    return [
        verdict
        for verdict in gathered.standing(["verdict"])
        if verdict.asks and (verdict.about is None or replaced_by(verdict.about) is None)
    ]


def unsettled(gathered: Gathered) -> list[Entry]:
    """Return the last of these verdicts on each fryer, where nobody has said what was done."""
    settled = gathered.answers("settled")
    last = {verdict.fryer: verdict for verdict in asked(gathered)}
    return [verdict for verdict in last.values() if verdict.pk not in settled]


def done(answer: Entry | None, gathered: Gathered) -> str:
    """Return what was done, by whom and when; "" where nobody said."""
    if answer is None:
        return ""
    looked = gathered.answers("reviewed").get(answer.pk)
    told = [answer, *([looked] if looked else [])]
    return " ".join(f"{gathered.said(each)} ({gathered.by(each)}, {gathered.when(each)})" for each in told)


def filled_after(verdict: Entry, gathered: Gathered) -> str:
    """Return what the day book tells where nobody said what was done: the next fresh fill, or nothing."""
    fills = (entry for entry in gathered.standing(["change"]) if entry.fryer == verdict.fryer)
    fill = next((entry for entry in fills if entry.at >= verdict.at), None)
    if fill is None:
        return _("Nothing is written down.")
    told = {"when": gathered.when(fill), "who": gathered.by(fill)}
    return _("Filled fresh %(when)s (%(who)s). Of the old oil and the food nothing is written down.") % told


def changes(gathered: Gathered) -> Iterator[Block]:
    """Yield what was filled, topped up, moved and cared for in each fryer."""
    yield Heading(text=_("Changes, top-ups and care"))
    found = gathered.standing(POURED)
    for name, entries in gathered.fryers(found):
        yield Heading(text=name, level=2)
        yield Text(text=poured(entries, gathered.reader), weight="strong")
        yield Table(
            columns=[_("Day"), _("What"), _("By")],
            rows=[
                [gathered.day(day[0]), done_words(day, gathered), people_of(day, gathered)]
                for day in days_of(entries, gathered)
            ],
            widths=[1.2, 3.8, 1.4],
            empty="",
        )
    if not found:
        yield Text(text=_("None in this period."))


def poured(entries: list[Entry], reader: Reader) -> str:
    """Return how often a bath was filled and how much oil was put in, with what is not known."""
    fills = sum(entry.kind == "change" for entry in entries)
    tops = [entry for entry in entries if entry.kind == "top_up"]
    known = [Decimal(entry.payload["mass_kg"]) for entry in tops if entry.payload.get("mass_kg")]
    filled = reader.count(fills, "Filled fresh {number} time.", "Filled fresh {number} times.")
    topped = reader.count(
        len(tops),
        "Topped up {number} time, with {kg} kg where the amount is known.",
        "Topped up {number} times, with {kg} kg where the amount is known.",
        kg=reader.number(float(sum(known)), digits=1),
    )
    return f"{filled} {topped}"


def corrections(gathered: Gathered) -> Iterator[Block]:
    """Yield what was corrected or undone, and what was written down late."""
    yield Heading(text=_("Corrected, undone, written down late"), follows=True)
    yield Table(
        columns=[_("Written"), _("It had said"), _("It says now"), _("Why"), _("By")],
        rows=[
            [
                gathered.reader.date(entry.received_at),
                gathered.said(entry.replaces),
                gathered.said(entry),
                gathered.notes.get((entry.pk, "reason"), ""),
                gathered.by(entry),
            ]
            for entry in gathered.entries
            if entry.replaces
        ],
        widths=[1.4, 1.7, 1.7, 1, 0.8],
        empty=_("Nothing of this period was corrected or undone."),
    )
    yield Heading(text=_("Looked through"), level=2)
    yield told_plainly(gathered, ("review",))
    yield Heading(text=_("Written down late"), level=2)
    yield Table(
        columns=[_("When"), _("Written"), _("What"), _("By")],
        rows=[
            [
                gathered.when(entry),
                gathered.reader.date(entry.received_at),
                " ".join([gathered.said(entry), *([_("From a sheet of paper.")] if on_paper(entry) else [])]),
                gathered.by(entry),
            ]
            for entry in late(gathered)
        ],
        widths=[1.5, 1.5, 2.8, 0.9],
        empty=_("Nothing of this period was written down more than half an hour late, or from paper."),
    )


def late(gathered: Gathered) -> list[Entry]:
    """Return what was written down long after it happened, or stood on paper first.

    Settings may count from an earlier day.
    """
    return [
        entry
        for entry in gathered.entries
        if on_paper(entry)
        or (entry.received_at - entry.at > LATE and entry.kind not in ("setting", "undone"))
    ]


def on_paper(entry: Entry) -> bool:
    """Tell whether an entry stood on a sheet of paper first."""
    return bool(entry.payload.get("source") == "paper")
