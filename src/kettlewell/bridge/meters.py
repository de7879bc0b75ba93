"""What is said of a kitchen's meters, from its day book."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any, cast
from uuid import UUID

from django.db.models import Max, Q

from kettlewell.book import Kitchen as KitchenValue
from kettlewell.book import Meter, MeterCheck
from kettlewell.book.kinds import COUNTING
from kettlewell.book.payloads import payload_of, value_of
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import history_of, setup_of
from kettlewell.bridge.standing import basis_of, minute_after, problem_of
from kettlewell.core.metering.checks import Decision, decide_check
from kettlewell.core.metering.pairs import SideBySide, side_by_side
from kettlewell.core.outlook.lookback import LookBack, Relied, last_good, look_back
from kettlewell.core.outlook.meters import SPREAD_OVER, MeterReport, first_in_use, meter_reports
from kettlewell.folder import Setup
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import last_of_meter, last_that_counts, settled_after, with_people
from kettlewell.telling import Message

Head = tuple[int, str, bool]

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
        """What is said of the first meter that is in use, and was not found off if there is one."""
        return first_in_use(self.reports)

    def of(self, meter: str) -> MeterReport | None:
        """Return what is said of one meter; None for one the kitchen lacks."""
        return next((report for report in self.reports if report.meter.key == meter), None)


def meters_standing(kitchen: Kitchen, now: datetime) -> MetersStanding:
    """Return all that is said of the meters now; computed once a minute and after each entry."""
    return _standing(kitchen.pk, head_of(kitchen, now), minute_after(now), with_worth=True)


def meters_checked(kitchen: Kitchen, now: datetime) -> MetersStanding:
    """Return what the checks say of the meters now, without what their readings are worth in each oil."""
    return _standing(kitchen.pk, head_of(kitchen, now), minute_after(now), with_worth=False)


def head_of(kitchen: Kitchen, now: datetime) -> Head:
    """Return what an answer goes out from: the last entry that counts, and whether a replay is under way."""
    seq, last_hash = last_that_counts(kitchen)
    return seq, last_hash, replays.pending(kitchen, now)


@lru_cache(maxsize=64)
def _standing(pk: UUID, head: Head, at: datetime, *, with_worth: bool) -> MetersStanding:
    kitchen, (upto_seq, _hash, recomputing) = Kitchen.objects.get(pk=pk), head
    setup = setup_of(kitchen, at_seq=upto_seq)
    if problem := problem_of(setup.kitchen):
        return MetersStanding(setup=setup, at=at, problem=problem)
    history = history_of(kitchen, at_seq=upto_seq)
    basis = basis_of(kitchen, history, at, upto_seq=upto_seq, recomputing=recomputing)
    lately = book_of(kitchen, since=at - SPREAD_OVER, upto_seq=upto_seq) if with_worth else None
    reports = meter_reports(history, basis.entries, now=at, since=basis.since, lately=lately)
    return MetersStanding(setup=setup, at=at, reports=reports)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterAtHand:
    """A meter as the day book leaves it: whether it is in use, and what was decided at its last check."""

    meter: Meter
    in_use: bool
    last: Decision | None


def meters_at_hand(kitchen: Kitchen) -> tuple[MeterAtHand, ...]:
    """Return every meter of a kitchen as the day book leaves it; nothing is computed for that."""
    return _at_hand(kitchen.pk, last_that_counts(kitchen))


@lru_cache(maxsize=64)
def _at_hand(pk: UUID, head: tuple[int, str]) -> tuple[MeterAtHand, ...]:
    kitchen, (upto_seq, _hash) = Kitchen.objects.get(pk=pk), head
    value = setup_of(kitchen, at_seq=upto_seq).kitchen
    return tuple(at_hand(kitchen, value, meter, upto_seq) for meter in value.meters)


def at_hand(kitchen: Kitchen, value: KitchenValue, meter: Meter, upto_seq: int) -> MeterAtHand:
    """Return a meter as the day book left it at an entry."""
    order, check = (
        last_of_meter(kitchen, kind, meter.key, upto_seq=upto_seq) for kind in ("meter_order", "meter_check")
    )
    return MeterAtHand(
        meter=meter,
        in_use=order is None or bool(order.payload["back"]),
        last=decide_check(check_of(check), value) if check else None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class InDoubt:
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
    doubted: tuple[InDoubt, ...]


def decided(kitchen: Kitchen, check: Entry) -> Decision:
    """Return what to do with a meter after a check that is written down, by today's settings."""
    return decide_check(check_of(check), setup_of(kitchen).kitchen)


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
    told = sorted(
        doubted_since(failed, found.relied),
        key=lambda doubted: (-doubted.relied.not_stand, doubted.reading.at),
    )
    return LookedBack(since=found.since, good=found.good, doubted=tuple(told))


@lru_cache(maxsize=16)
def _looked_back(pk: UUID, failed_pk: UUID, known: int) -> LookBack | None:  # noqa: ARG001 - a cache's key
    kitchen, failed = Kitchen.objects.get(pk=pk), Entry.objects.get(pk=failed_pk)
    check, stood = check_of(failed), meters_standing(kitchen, failed.at)
    report = stood.of(check.meter)
    if report is None:
        return None
    good = last_good(report.checks, check)
    begins = good.at if good else check.at - replays.IN_THE_REQUEST
    history = history_of(kitchen)
    since = beliefs.fitting(beliefs.newest(kitchen, before=begins), history)
    after = since.covers_to if since else begins - replays.IN_THE_REQUEST
    entries = book_of(kitchen, since=after, upto_seq=last_that_counts(kitchen)[0])
    return look_back(history, entries, check, report=report, since=since)


def doubted_since(failed: Entry, relied: Sequence[Relied]) -> Iterator[InDoubt]:
    """Yield the verdicts told anew after a failed check, with what the day book has of them."""
    numbers = {int(told_anew.reading.ref.removeprefix("#")): told_anew for told_anew in relied}
    readings = Entry.objects.filter(kitchen=failed.kitchen, seq__in=numbers)
    verdicts = Entry.objects.filter(kind="verdict", about__in=readings).order_by("-seq")
    told = {verdict.about_id: verdict for verdict in verdicts}
    answers = with_people(settled_after(failed).filter(about__in=told.values()))
    settled = {answer.about_id: answer for answer in answers}
    for reading in readings:
        verdict = told.get(reading.pk)
        yield InDoubt(
            relied=numbers[reading.seq],
            reading=reading,
            verdict=verdict,
            settled=settled.get(verdict.pk) if verdict else None,
        )


def compared(kitchen: Kitchen, now: datetime, *, meter: str, against: str | None, oil: str) -> SideBySide:
    """Return a meter beside another instrument in one oil, from the pairs of the last year."""
    entries = book_of(kitchen, since=now - COMPARED_OVER, upto_seq=last_that_counts(kitchen)[0])
    return side_by_side(history_of(kitchen), entries, meter=meter, against=against, oil=oil)


def comparison_payload(found: SideBySide, now: datetime) -> dict[str, Any]:
    """Return a comparison as it is written down when it is taken over; ValueError where it may not be."""
    return payload_of(found.adopted(now))[1]
