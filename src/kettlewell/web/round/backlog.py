"""The sheet for a paper book: days down, fryers across, typed in at once and told without verdicts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.utils.translation import ngettext

from kettlewell.book import Fryer
from kettlewell.bridge.backlog import record_each
from kettlewell.bridge.meters import meters_at_hand
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.verdicts import late_entries
from kettlewell.records.access import Act
from kettlewell.records.ids import uuid7, uuid7_of
from kettlewell.records.kinds import ANSWERS
from kettlewell.records.ledger import Told
from kettlewell.records.models import Entry
from kettlewell.records.selectors import written_between
from kettlewell.telling import N_, Reader
from kettlewell.telling.verdicts import named
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.forms import CONDITIONS, UNKNOWN, errors_in
from kettlewell.web.entry.lines import replaced_by
from kettlewell.web.entry.sent import entry_id
from kettlewell.web.entry.sentences import figure
from kettlewell.web.entry.times import ClockField, DayField

DAYS = 14
ALSO = (("oil_temp_c", _("Oil temperature")), ("topped", _("Topped up, kg")), ("changed", _("Filled fresh")))
# how what is typed in a box of a cell is told: the kind of entry, and the field of it
BOXES = {
    "tpc_pct": ("reading", "tpc_pct"),
    "oil_temp_c": ("reading", "oil_temp_c"),
    "topped": ("top_up", "amount"),
    "changed": ("change", ""),
}
UNITS = {"tpc_pct": "%", "oil_temp_c": "°C", "topped": "kg", "changed": _("Filled fresh")}
TOPPED = N_("{kg} kg topped up")
TOPPED_SOME = N_("topped up")
KINDS = ("reading", "change", "top_up")  # in the order in which they are told of one time


class PeriodForm(forms.Form):
    """Which fortnight, and what of a day beside its readings."""

    since = DayField(label=_("From"))
    also = forms.MultipleChoiceField(
        choices=ALSO, required=False, label=_("Also on the sheet"), widget=forms.CheckboxSelectMultiple
    )


class SheetForm(forms.Form):
    """What holds for all readings of a sheet."""

    at = forms.TimeField(
        label=_("Readings were taken at"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    )
    sound = forms.ChoiceField(
        label=_("No food, no bubbles, probe clear, steady?"), choices=ANSWERS, widget=forms.RadioSelect
    )
    meter = forms.ChoiceField(label=_("Meter"), required=False)

    def __init__(self, data: QueryDict | None, *, visit: Visit) -> None:
        """Offer the meters, and nine o'clock."""
        super().__init__(data, initial={"at": time(9), "sound": "unknown"})
        meters = [(found.meter.key, found.meter.name) for found in meters_at_hand(visit.kitchen)]
        self.fields["meter"].choices = [*meters, UNKNOWN]  # type: ignore[attr-defined]
        self.initial["meter"] = meters[0][0] if meters else UNKNOWN[0]

    def told(self) -> dict[str, str]:
        """Return what a reading says of how it was taken."""
        meter = self.cleaned_data["meter"]
        known = {} if meter in ("", UNKNOWN[0]) else {"meter": meter}
        return {**known, **dict.fromkeys(CONDITIONS, self.cleaned_data["sound"])}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """What is typed of a cell, or ticked: by what name it is sent, and in which unit."""

    name: str
    unit: str
    value: str
    ticked: bool


@dataclass(slots=True, kw_only=True)
class Cell:
    """A fryer on a day: what the day book has of it, what was typed, and what is wrong with that."""

    day: date
    fryer: str
    column: str
    name: str
    number: int
    asks: tuple[str, ...]
    typed: Mapping[str, str]
    there: list[str] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)
    errors: list[str] = field(default_factory=list)
    unlikely: bool = False

    def box(self, what: str) -> str:
        """Return by what name something of this cell is sent."""
        return f"{what}.{self.day:%Y%m%d}.{self.number}"

    @property
    def sure(self) -> str:
        """By what name it is sent that what is unlikely is right."""
        return self.box("sure")

    @property
    def boxes(self) -> Iterator[Box]:
        """Yield what is asked of it: what the day book has not, and what was typed and is not written."""
        for what, (kind, _name) in BOXES.items():
            value = self.typed[what]
            if kind not in self.kinds and (what in self.asks or value):
                yield Box(name=self.box(what), unit=str(UNITS[what]), value=value, ticked=what == "changed")

    def said(self) -> dict[str, dict[str, str]]:
        """Return by kind of entry what was typed; nothing of what the day book has already."""
        told: dict[str, dict[str, str]] = {}
        for what, (kind, name) in BOXES.items():
            if (value := self.typed[what].strip()) and kind not in self.kinds:
                told.setdefault(kind, {}).update({name: value} if name else {})
        return {kind: told[kind] for kind in KINDS if kind in told}


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A fortnight: its days, the fryers across, and what is asked of each."""

    days: tuple[date, ...]
    fryers: tuple[Fryer, ...]
    asks: tuple[str, ...]
    cells: Mapping[tuple[date, str], Cell]

    def rows(self, visit: Visit) -> Iterator[tuple[str, list[Cell]]]:
        """Yield the days as they are written, each with its cells."""
        for day in self.days:
            yield visit.reader.written_day(day), [self.cells[day, fryer.key] for fryer in self.fryers]


@in_kitchen(Act.RECORD)
def backlog(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Show a fortnight of a paper book to be typed in; write what can be, and keep the rest on the page."""
    asked = PeriodForm(request.GET)
    sheet = sheet_of(visit, asked, request.POST)
    form = SheetForm(request.POST if request.method == "POST" else None, visit=visit)
    typed = any(cell.typed[what].strip() for cell in sheet.cells.values() for what in BOXES)
    if form.is_bound and not typed:
        form.add_error(None, _("Nothing is typed in yet."))
    if form.is_bound and form.is_valid():
        try:
            sheet_id = entry_id(request, visit.now)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            written = write(visit, sheet, form, sheet_id)
            told = ngettext("%(number)s entry written down.", "%(number)s entries written down.", written)
            messages.success(request, told % {"number": written})
            if not any(cell.errors for cell in sheet.cells.values()):
                return redirect(f"{request.path}?{request.GET.urlencode()}")
            sheet = with_what_stands(visit, sheet)
    return render(request, "web/round/backlog.html", context_of(visit, asked, sheet, form))


def context_of(visit: Visit, asked: PeriodForm, sheet: Sheet, form: SheetForm) -> dict[str, Any]:
    """Return what the page shows."""
    wrong = [cell for cell in sheet.cells.values() if cell.errors]
    query = "".join(f"&also={what}" for what in sheet.asks[1:])
    address = reverse("backlog", args=(visit.kitchen.slug,))
    return {
        "asked": asked,
        "sheet": sheet,
        "fryers": [named(fryer) for fryer in sheet.fryers],
        "rows": list(sheet.rows(visit)),
        "form": form,
        "wrong": wrong,
        "entry_id": uuid7(visit.now),
        "earlier": f"{address}?since={sheet.days[0] - timedelta(days=DAYS)}{query}",
        "later": f"{address}?since={sheet.days[-1] + timedelta(days=1)}{query}",
        "ends": sheet.days[-1] >= visit.reader.today,
        "untold": bool(late_entries(visit.kitchen)),
    }


def sheet_of(visit: Visit, asked: PeriodForm, sent: QueryDict) -> Sheet:
    """Return the sheet that is asked for, or the last fortnight, with what was sent of it and what stands."""
    valid = asked.is_valid()
    today = visit.reader.today
    since = (asked.cleaned_data.get("since") if valid else None) or today - timedelta(days=DAYS - 1)
    days = tuple(since + timedelta(days=n) for n in range(DAYS) if since + timedelta(days=n) <= today)
    days = days or (today,)
    fryers = setup_of(visit.kitchen).kitchen.fryers
    asks = ("tpc_pct", *(asked.cleaned_data["also"] if valid else ()))
    cells: dict[tuple[date, str], Cell] = {}
    for day in days:
        for number, fryer in enumerate(fryers):
            cell = Cell(
                day=day,
                fryer=fryer.key,
                column=named(fryer),
                name=f"{named(fryer)}, {visit.reader.written_day(day)}",
                number=number,
                asks=asks,
                typed={},
            )
            cell.typed = {what: sent.get(cell.box(what), "") for what in (*BOXES, "sure")}
            cells[day, fryer.key] = cell
    return with_what_stands(visit, Sheet(days=days, fryers=fryers, asks=asks, cells=cells))


def with_what_stands(visit: Visit, sheet: Sheet) -> Sheet:
    """Return a sheet with what the day book has of its days."""
    zone = visit.reader.zone
    begin = datetime.combine(sheet.days[0], time(), zone)
    end = datetime.combine(sheet.days[-1] + timedelta(days=1), time(), zone)
    for cell in sheet.cells.values():
        cell.there, cell.kinds = [], set()
    for entry in written_between(visit.kitchen, begin, end):
        of_day = sheet.cells.get((entry.at.astimezone(zone).date(), entry.fryer))
        if of_day and entry.kind in KINDS and replaced_by(entry) is None:
            of_day.there.append(in_short(entry, visit.reader))
            of_day.kinds.add(entry.kind)
    return sheet


def in_short(entry: Entry, reader: Reader) -> str:
    """Return what an entry says as it stands in a cell."""
    if entry.kind == "reading":
        return f"{figure(entry.payload['tpc_pct'], reader)} %"
    if entry.kind == "change":
        return str(UNITS["changed"])
    mass = entry.payload.get("mass_kg")
    return reader.say(TOPPED, kg=figure(mass, reader)) if mass else reader.say(TOPPED_SOME)


def write(visit: Visit, sheet: Sheet, form: SheetForm, sheet_id: UUID) -> int:
    """Write what was typed; what cannot be is said in its cell. Return how many entries there are of it."""
    told: list[tuple[Cell, Told]] = []
    for cell in sheet.cells.values():
        try:
            told += [(cell, each) for each in told_of(visit, cell, form, sheet_id)]
        except ValidationError as error:
            cell.errors += error.messages
    outcomes = record_each(visit.kitchen, [each for _cell, each in told], visit.hand)
    for (cell, _told), outcome in zip(told, outcomes, strict=True):
        if isinstance(outcome, ValidationError):
            cell.errors += outcome.messages
            cell.unlikely |= "unlikely" in {error.code for error in errors_in(outcome)}
    return sum(isinstance(outcome, Entry) for outcome in outcomes)


def told_of(visit: Visit, cell: Cell, form: SheetForm, sheet_id: UUID) -> Iterator[Told]:
    """Yield what a cell tells; its entries have the same ids whenever the same sheet is sent."""
    if not (said := cell.said()):
        return
    zone = visit.reader.zone
    at = ClockField(zone, told=None).clean(f"{cell.day}T{form.cleaned_data['at']:%H:%M}")
    for kind, values in said.items():
        how = form.told() if kind == "reading" else {"unit": "kg"} if kind == "top_up" else {}
        yield Told(
            id=uuid7_of(midnight(cell.day, zone), f"{sheet_id} {kind} {cell.fryer}"),
            kind=kind,
            happened_at=at,
            payload={"fryer": cell.fryer, "source": "paper", **how, **values},
            sure=bool(cell.typed["sure"]),
        )


def midnight(day: date, zone: ZoneInfo) -> datetime:
    """Return when a day begins."""
    return datetime.combine(day, time(), zone)
