"""What is said of a kitchen's meters, from its day book."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any, cast
from uuid import UUID

from django.db.models import Max, Q

from kettlewell.book import Message, MeterCheck
from kettlewell.book.kinds import COUNTING
from kettlewell.book.payloads import payload_of, value_of
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import setup_of
from kettlewell.bridge.standing import basis_of, minute_after, problem_of
from kettlewell.core.metering.checks import Decision, decide
from kettlewell.core.metering.pairs import SideBySide, side_by_side
from kettlewell.core.outlook.lookback import LookBack, Relied, last_good, look_back
from kettlewell.core.outlook.meters import SPREAD_OVER, MeterReport, meter_reports
from kettlewell.folder import Setup
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import last_that_counts, settled_after

COMPARED_OVER = timedelta(days=365)


@dataclass(frozen=True, slots=True, kw_only=True)
class MetersStanding:
    """What is said of the meters at a time; ``problem`` says why nothing can be."""

    setup: Setup
    at: datetime
    reports: tuple[MeterReport, ...] = ()
    problem: Message | None = None

    @property
    def in_use(self) -> MeterReport | None:
        """What is said of the first meter that is in use."""
        return next((report for report in self.reports if report.in_use), None)

    def of(self, meter: str) -> MeterReport | None:
        """Return what is said of one meter; None for one the kitchen lacks."""
        return next((report for report in self.reports if report.meter.key == meter), None)


def meters_standing(kitchen: Kitchen, now: datetime) -> MetersStanding:
    """Return what stands of the meters now; computed once a minute and after each entry."""
    return _standing(kitchen.pk, last_that_counts(kitchen), minute_after(now), replays.pending(kitchen, now))


@lru_cache(maxsize=64)
def _standing(pk: UUID, head: tuple[int, str], at: datetime, recomputing: bool) -> MetersStanding:  # noqa: FBT001 - a cache's key
    kitchen, upto_seq = Kitchen.objects.get(pk=pk), head[0]
    setup = setup_of(kitchen, at_seq=upto_seq)
    if problem := problem_of(setup.kitchen):
        return MetersStanding(setup=setup, at=at, problem=problem)
    basis = basis_of(kitchen, setup.kitchen, at, upto_seq=upto_seq, recomputing=recomputing)
    lately = book_of(kitchen, since=at - SPREAD_OVER, upto_seq=upto_seq)
    reports = meter_reports(setup.kitchen, basis.entries, now=at, since=basis.since, lately=lately)
    return MetersStanding(setup=setup, at=at, reports=reports)


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubted:
    """A verdict told anew after a failed check: its entry and reading, and how it was settled, if it was."""

    relied: Relied
    reading: Entry
    verdict: Entry | None
    settled: Entry | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LookedBack:
    """What a failed check says of the verdicts since the last good one, the most doubtful first."""

    since: datetime
    good: MeterCheck | None
    doubted: tuple[Doubted, ...]


def decided(kitchen: Kitchen, check: Entry) -> Decision:
    """Return what to do with a meter after a check that is written down, by today's settings."""
    return decide(check_of(check), setup_of(kitchen).kitchen)


def check_of(check: Entry) -> MeterCheck:
    """Return the core's value of a check that is written down."""
    return cast("MeterCheck", value_of(check.kind, check.payload, at=check.at, ref=f"#{check.seq}"))


def looked_back(kitchen: Kitchen, failed: Entry) -> LookedBack | None:
    """Return what a failed check says of the verdicts since the last good one; None where nothing can be."""
    before = Q(at__lte=failed.at) | Q(replaces__at__lte=failed.at)
    entries = Entry.objects.filter(before, kitchen=kitchen, kind__in=[*COUNTING, "undone"])
    known = max(entries.aggregate(last=Max("seq"))["last"] or 0, kitchen.settings_seq)
    found = _looked_back(kitchen.pk, failed.pk, known)
    if found is None:
        return None
    told = sorted(told_of(failed, found.relied), key=lambda one: (-one.relied.not_stand, one.reading.at))
    return LookedBack(since=found.since, good=found.good, doubted=tuple(told))


@lru_cache(maxsize=16)
def _looked_back(pk: UUID, failed_pk: UUID, known: int) -> LookBack | None:  # noqa: ARG001 - a cache's key
    kitchen, failed = Kitchen.objects.get(pk=pk), Entry.objects.get(pk=failed_pk)
    check, stood = check_of(failed), meters_standing(kitchen, failed.at)
    report, value = stood.of(check.meter), stood.setup.kitchen
    if report is None:
        return None
    good = last_good(report.checks, check)
    begins = good.at if good else check.at - replays.IN_THE_REQUEST
    since = beliefs.fitting(beliefs.newest(kitchen, before=begins), value)
    after = since.covers_to if since else begins - replays.IN_THE_REQUEST
    entries = book_of(kitchen, since=after, upto_seq=last_that_counts(kitchen)[0])
    return look_back(value, entries, check, report=report, since=since)


def told_of(failed: Entry, relied: Sequence[Relied]) -> Iterator[Doubted]:
    """Yield the verdicts told anew after a failed check, with what the day book has of them."""
    numbers = {int(one.reading.ref.removeprefix("#")): one for one in relied}
    readings = Entry.objects.filter(kitchen=failed.kitchen, seq__in=numbers)
    verdicts = Entry.objects.filter(kind="verdict", about__in=readings).order_by("-seq")
    told = {verdict.about_id: verdict for verdict in verdicts}
    settled = {answer.about_id: answer for answer in settled_after(failed).filter(about__in=told.values())}
    for reading in readings:
        verdict = told.get(reading.pk)
        yield Doubted(
            relied=numbers[reading.seq],
            reading=reading,
            verdict=verdict,
            settled=settled.get(verdict.pk) if verdict else None,
        )


def compared(kitchen: Kitchen, now: datetime, *, meter: str, against: str | None, oil: str) -> SideBySide:
    """Return a meter beside another instrument in one oil, from the pairs of the last year."""
    entries = book_of(kitchen, since=now - COMPARED_OVER, upto_seq=last_that_counts(kitchen)[0])
    return side_by_side(setup_of(kitchen).kitchen, entries, meter=meter, against=against, oil=oil)


def comparison_payload(found: SideBySide, now: datetime) -> dict[str, Any]:
    """Return a comparison as it is written down when it is taken over; ValueError where it may not be."""
    return payload_of(found.adopted(now))[1]
