"""The parts on the kitchen: what there is, its limits, how the oil is watched, its people, its meters."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kettlewell.bridge.meter_pictures import meter_chart
from kettlewell.bridge.meters import decided, meters_checked
from kettlewell.core.metering.checks import DecisionKey
from kettlewell.marks.theme import printed
from kettlewell.pages.blocks import Block, Facts, Heading, Picture, Table, Text
from kettlewell.records.roster import people_of
from kettlewell.records.settings import Things, stood_at
from kettlewell.telling.meters import chart_in_words, meter_words
from kettlewell.web.account.people_forms import ROLES
from kettlewell.web.inspection.findings import told_plainly
from kettlewell.web.inspection.gathered import Gathered
from kettlewell.web.setup.facts import columns, past_changes, things_shown
from kettlewell.web.setup.known import SECTIONS, LimitShown, limits_shown

TABLES = ("fryers", "oils", "products", "services")
OFF = (DecisionKey.ADJUST, DecisionKey.OUT)
CHECKED = ("meter_check", "meter_order", "comparison")


def kitchen(gathered: Gathered) -> Iterator[Block]:
    """Yield the kitchen as it was set up on the last of the days, and what its limits say and rest on."""
    things, reader = stood_at(gathered.visit.kitchen, gathered.ends), gathered.reader
    yield Heading(text=_("The kitchen and its limits"))
    until = {"day": reader.written_day(gathered.until)}
    yield Text(text=_("As it was set up on %(day)s.") % until, weight="small")
    titles = dict(SECTIONS)
    for thing in TABLES:
        yield Heading(text=str(titles[thing]), level=2)
        shown = things_shown(gathered.visit.kitchen, thing, things, reader)
        names = columns(thing, things)
        yield Table(
            columns=[_("Name"), *names],
            rows=[[each.name, *(fact.text for fact in each.main)] for each in shown],
            widths=[1.2] + [1.0] * len(names),
            empty=_("None yet."),
        )
    yield Heading(text=_("Your own limits"), level=2)
    own = things_shown(gathered.visit.kitchen, "limits", things, reader)
    yield Facts(rows=[(each.name, "; ".join(fact.text for fact in each.facts)) for each in own])
    yield Heading(text=_("Limits of the place"), level=2)
    place = things.get("kitchen", {}).get("", {}).get("jurisdiction", "")
    limits = limits_shown(place, reader)
    yield Facts(rows=[(limit.quantity, limit_words(limit)) for limit in limits])
    if not limits:
        yield Text(text=_("None found."))
    yield Text(text=_("Local rules and your authority come first: ask them when in doubt."), weight="small")
    yield Heading(text=_("What was set otherwise"), level=2)
    yield Table(
        columns=[_("From"), _("What"), _("How"), _("By")],
        rows=[row for thing, title in SECTIONS for row in changes(gathered, thing, str(title), things)],
        widths=[1.6, 1.6, 2.4, 1],
        empty=_("None in this period."),
    )


def changes(gathered: Gathered, thing: str, title: str, things: Things) -> Iterator[list[str]]:
    """Yield a row for each setting of a sort that counts from one of these days on."""
    for pasts in past_changes(gathered.visit.kitchen, thing, things, gathered.reader).values():
        for past in reversed(pasts):
            if gathered.begins <= past.entry.at < gathered.ends:
                told = "; ".join(f"{fact.label}: {fact.text}" for fact in past.facts)
                how = _("removed") if past.removed else told
                yield [past.when, title, how, gathered.by(past.entry)]


def limit_words(limit: LimitShown) -> str:
    """Return what a limit of a place demands, how it binds, and where it is written."""
    bound = f"{limit.bound} ({limit.force})" if limit.bound else _("none found")
    since = _("In force since %(since)s.") % {"since": limit.since} if limit.since else ""
    source = (
        _("Source: %(source)s (%(grade)s).") % {"source": limit.source, "grade": limit.grade}
        if limit.source
        else ""
    )
    unverified = _("From memory: not used for verdicts.") if limit.unverified else ""
    told = [f"{bound}.", f"{limit.instrument}." if limit.instrument else "", since, source, unverified]
    return " ".join(filter(None, told))


def procedure(_gathered: Gathered) -> Iterator[Block]:
    """Yield in a page how the oil is watched."""
    yield Heading(text=_("How the oil is watched"), follows=True)
    for text in (
        _(
            "Each fryer's oil is read with a hand meter, hot, free of food and bubbles, and written down "
            "at once."
        ),
        _(
            "Every fill, top-up, load and filtering is written down too. From all of it the program works"
            " out how far the oil has aged, and how sure that is."
        ),
        _(
            "The meter is checked in reference oil of known value. Its error is learnt and taken off; a "
            "meter that fails is taken out of use, and what was told by it is looked at again."
        ),
        _(
            "A verdict says: fry on, change after this service, change before frying, or measure again. "
            "It asks for a change when the chance of going over a limit in the coming service is more "
            "than the kitchen accepts."
        ),
        _("Oil that smells, smokes or foams is changed, whatever the number."),
        _(
            "When oil has to be changed before frying, the program asks what was done with the oil and "
            "with the food, and keeps asking until it is said."
        ),
        _("Nothing is rubbed out. A correction stands beside what it corrects, with who, when and why."),
    ):
        yield Text(text=text)
    yield Text(
        text=_(
            "Hot oil burns: it is switched off and cooled before it is drained, by people trained to do it."
        ),
        weight="framed",
    )


def people(gathered: Gathered) -> Iterator[Block]:
    """Yield who has a place in the kitchen, and as what."""
    yield Heading(text=_("People"), follows=True)
    roles, reader = dict(ROLES), gathered.reader
    yield Table(
        columns=[_("Name"), _("Role"), _("Trained to drain hot oil"), _("Last day")],
        rows=[
            [
                str(seat.person),
                str(roles.get(seat.role, seat.role)),
                _("Yes") if seat.trained_to_drain else _("No"),
                reader.written_day(seat.ends_on) if seat.ends_on else "",
            ]
            for seat in people_of(gathered.visit.kitchen)
        ],
        widths=[2, 1.5, 1.2, 1],
        empty=_("None yet."),
    )
    yield Heading(text=_("Trained"), level=2)
    yield told_plainly(gathered, ("training",))


def meters(gathered: Gathered) -> Iterator[Block]:
    """Yield each meter's checks, its chart, and the verdicts looked at again after one that failed."""
    yield Heading(text=_("Meters"))
    visit, reader = gathered.visit, gathered.reader
    stands = meters_checked(visit.kitchen, visit.now)
    value = stands.setup.kitchen
    for report in stands.reports:
        yield Heading(text=report.meter.name, level=2)
        yield Text(text=meter_words(report, reader))
        checks = [entry for entry in gathered.standing(CHECKED) if entry.payload["meter"] == report.meter.key]
        yield Table(
            columns=[_("When"), _("What"), _("By")],
            rows=[[gathered.when(entry), gathered.said(entry), gathered.by(entry)] for entry in checks],
            widths=[1.6, 3.8, 1],
            empty=_("No check in this period."),
        )
        if report.last:
            chart = meter_chart(report, report.last, value, reader, theme=printed)
            yield Picture(svg=str(chart), alt=chart_in_words(report, report.last, reader))
    yield Heading(text=_("Verdicts looked at again"), level=2)
    yield told_plainly(gathered, ("relied",))


def failed_checks(gathered: Gathered) -> int:
    """Return in how many checks of the period a meter was found off."""
    checks = gathered.standing(["meter_check"])
    return sum(decided(gathered.visit.kitchen, check).key in OFF for check in checks)
