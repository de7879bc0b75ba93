"""The one call: from a kitchen and its day book to what to do with every bath."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from kettlewell.book import (
    Entry,
    OfService,
    Reading,
    history_of,
    in_order,
)
from kettlewell.book.naming import completed
from kettlewell.core.belief.response import response_of
from kettlewell.core.belief.seen import NO_DOUBT
from kettlewell.core.belief.walk import Origin, Settings, walk_to
from kettlewell.core.decision import URGENCY, Reason, VerdictKey
from kettlewell.core.outlook.card import BathAnswers, answers, wall_card
from kettlewell.core.outlook.cautions import cautions_of
from kettlewell.core.outlook.cooling import cooling_of
from kettlewell.core.outlook.handing import Handing, handed_over, in_bath
from kettlewell.core.outlook.here import Here, here_of, outlooks_at
from kettlewell.core.outlook.life import life_of
from kettlewell.core.outlook.outlook import Outlook
from kettlewell.core.outlook.pace import Pace, pace_of
from kettlewell.core.outlook.soundness import flags_of, moved_flag, off_flag, silence, slow_flag, thermostat
from kettlewell.core.outlook.values import Assessment, Cooling, Flag, Lack, Unanswered
from kettlewell.core.outlook.verdict import Finding, findings_of, verdict_of, without_idle_doubt
from kettlewell.core.version import MODEL_VERSION

EXPLAINED = 0.5  # of the difference: chosen, no source
LACKS = {
    Lack.SERVICE: "no service of the week names it; say when it fries",
    Lack.LIMIT: "No limit judges the oil of this fryer. Set a limit of your own on polar compounds, "
    "or confirm one that is shown as unverified.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What to do with the baths of a kitchen, most urgent first, and the fryers that have no answer."""

    assessments: tuple[Assessment, ...]
    unanswered: tuple[Unanswered, ...]


def assess(
    settings: Settings,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Iterable[Entry] | None = None,
    since: Origin = None,
    of: Collection[str] | None = None,
) -> tuple[Assessment, ...]:
    """Return what to do with every bath of a kitchen, or with those ``of`` it, most urgent first.

    As ``answer`` tells it, of the fryers that have an answer; raises ValueError where none has.
    """
    found = answer(settings, entries, now=now, planned=planned, since=since, of=of)
    if found.unanswered and not found.assessments:
        first = found.unanswered[0]
        raise ValueError(f"fryer {first.fryer}: {LACKS[first.lacks]}")
    return found.assessments


def answer(
    settings: Settings,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Iterable[Entry] | None = None,
    since: Origin = None,
    of: Collection[str] | None = None,
) -> Answer:
    """Return what to do with every bath of a kitchen, or with those ``of`` it, and what has no answer.

    ``settings`` are a kitchen's, as they always were or as a history. ``entries`` come in any order;
    those after ``now`` are left aside. ``planned`` are loads (kg), hot hours (h) and top-ups (kg) of
    coming services; what is not planned is taken as usual. With ``since`` the walk goes on from a
    state, and ``entries`` may hold only what came after it, or it begins with other
    coefficients. TPC is in % m/m, times are aware. A fryer without services or without any limit that
    judges its oil has no answer, which costs no other its own.

    Raises ValueError for a time without a zone, a kitchen without fryers or services, an entry that
    names what no settings ever had, and a state that does not fit.
    """
    plan = check_plan(settings, planned or (), now)
    here = here_of(walk_to(settings, entries, now=now, planned=plan, since=since), now)
    fryers = [(here.index(fryer.key), fryer.key) for fryer in here.settings.fryers]
    asked = outlooks_at(here, [i for i, key in fryers if of is None or key in of])
    mine = judged(here, asked)
    rest = [i for i, key in fryers if of is not None and key not in of]
    others = judged(here, outlooks_at(here, rest)) if any(bath.must_cool for bath in mine) else []
    pace = pace_of(here)
    told = [assessment_of(here, bath, pace, handing_of(here, bath, [*mine, *others])) for bath in mine]
    told.sort(key=urgency)
    return Answer(
        assessments=tuple(told),
        unanswered=tuple(outlook for outlook in asked if isinstance(outlook, Unanswered)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Fryer ``i`` of a kitchen: its outlook, what its readings would lead to, its verdict, how it cools."""

    i: int
    outlook: Outlook
    answers: BathAnswers
    finding: Finding
    cooling: Cooling | None

    @property
    def must_cool(self) -> bool:
        """Whether its work is to be taken over while it cools to be drained by hand."""
        return self.cooling is not None


def judged(here: Here, outlooks: Iterable[Outlook | Unanswered]) -> list[Judged]:
    """Return the verdict on the fryers that have an outlook."""
    baths = [outlook for outlook in outlooks if isinstance(outlook, Outlook)]
    places = [here.index(outlook.fryer.key) for outlook in baths]
    found = answers(here, places, baths) if baths else []
    baths = [without_idle_doubt(outlook, each) for outlook, each in zip(baths, found, strict=True)]
    return [
        Judged(
            i=i,
            outlook=outlook,
            answers=answer,
            finding=finding,
            cooling=cooling_of(outlook, finding.key, here.place.residues.at(outlook.fryer.key).off_since),
        )
        for i, outlook, answer, finding in zip(places, baths, found, findings_of(baths, found), strict=True)
    ]


def urgency(assessment: Assessment) -> tuple[bool, int, bool, float, str]:
    """Return what to sort by: in use, verdict, what no number overrides first, then what passes soonest.

    Chances alike to nine digits are alike: what the last bits of a number say is the machine's.
    """
    verdict = assessment.verdict
    sooner = -float(f"{verdict.passing_probability_next:.9g}")
    overrides = verdict.reason.code in (Reason.RECALLED, Reason.SPOILED)
    return not assessment.in_use, URGENCY.index(verdict.key), not overrides, sooner, assessment.fryer


def check_plan(settings: Settings, planned: Iterable[Entry], now: datetime) -> list[Entry]:
    """Return the plan in order; raises ValueError for what cannot be planned."""
    plan, kitchen = in_order(planned), history_of(history_of(settings).at(now))
    completed(kitchen, kitchen, plan)
    for entry in plan:
        where = entry.ref or "plan"
        if entry.at < now:
            raise ValueError(f"{where}: {entry.at} lies before {now}: it belongs among the entries")
        if not isinstance(entry, OfService):
            raise ValueError(f"{where}: a {type(entry).__name__} cannot be planned")  # noqa: TRY004 - input
    return plan


def assessment_of(here: Here, bath: Judged, pace: Pace, handing: Handing) -> Assessment:
    """Return everything that is said about one fryer."""
    outlook, i = bath.outlook, bath.i
    fryer, last, due = outlook.fryer, outlook.last(), outlook.due()
    mean_pct, sd_pct = outlook.tpc_pct.tolist()
    steady, lowest = pace.steady(i), min(limit.tpc_pct for limit in outlook.limits)
    return Assessment(
        fryer=fryer.key,
        name=fryer.name,
        at=outlook.now,
        model_version=MODEL_VERSION,
        filled_at=outlook.fill.filled_at,
        last_reading_at=last.reading.at if last else None,
        last_reading_pct=last.reading.tpc_pct if last else None,
        reads_off_pct=reads_off(here, i, last.reading, mean_pct) if last else None,
        tpc_mean_pct=mean_pct,
        tpc_sd_pct=sd_pct,
        fresh_tpc_pct=float(pace.fresh_tpc_pct[i]),
        rate_pct_per_h=float(pace.rate_pct_per_h[i]),
        rate_sd_pct_per_h=float(pace.rate_sd_pct_per_h[i]),
        turnover_per_service=float(pace.turnover[i]),
        steady_state_tpc_pct=steady,
        in_use=outlook.in_use,
        metered=outlook.metered,
        empty=outlook.fill.empty,
        forecast=outlook.services(),
        life=life_of(
            outlook.chances,
            outlook.coming,
            bath.finding.key,
            steady_below_limit=steady is not None and steady < lowest,
        ),
        read_by=outlook.coming.begins[due],
        by_house_rule=due < outlook.due_by_odds(),
        verdict=verdict_of(outlook, bath.finding, due, handing),
        limits=outlook.limits,
        notes=outlook.notes,
        flags=asked_of(here, bath, least_rate=bool(pace.least[i])),
        in_bath=in_bath(outlook.kitchen, fryer, here.place.residues),
        cooling=bath.cooling,
        cautions=cautions_of(outlook.kitchen, fryer, bath.finding.key, cools=bath.must_cool),
        card=wall_card(outlook, bath.finding.key, bath.answers),
    )


def reads_off(here: Here, i: int, reading: Reading, tpc_pct: float) -> float | None:
    """Return by how many points a meter probably reads too high; None where that explains too little.

    It is what it is believed to show of the oil of fryer ``i`` at ``tpc_pct``, less that. It is told where
    the reading lies further from there than the meter can show, and at least half of that is the meter's.
    """
    meter = here.place.baths.meter_index(reading.meter)
    response = response_of(here.belief, meter, int(here.belief.oil[0, i])).of_kitchen(0)
    off_pct = float(response.offset_pct + response.gain * tpc_pct - tpc_pct)
    apart_pct = reading.tpc_pct - tpc_pct
    told = abs(apart_pct) > here.place.baths.meters[meter].resolution_pct
    return off_pct if told and off_pct / apart_pct >= EXPLAINED else None


def asked_of(here: Here, bath: Judged, *, least_rate: bool) -> tuple[Flag, ...]:
    """Return what to ask about a bath: of its readings, of its meters and thermostat, and of silent days."""
    outlook, i = bath.outlook, bath.i
    off = outlook.rests_on
    of_meters = [] if off is None else [off_flag(off, outlook.kitchen.meters)]
    for meter, moved in here.moved.items():
        name = here.place.baths.meters[meter].name
        if i in moved.baths and (asked := moved_flag(outlook.fill, moved, name)):
            of_meters.append(asked)
    of_fill = flags_of(outlook.fill, outlook.now, settled=outlook.evidence.doubt == NO_DOUBT)
    slow = slow_flag(outlook.fill, outlook.known) if least_rate else None
    hot = here.place.hot_readings.get(outlook.fryer.key, ())
    of_fryer = thermostat(hot, outlook.now, outlook.known)
    return (*of_meters, *of_fill, *([slow] if slow else []), *of_fryer, *silence(here.place, outlook.now))


def handing_of(here: Here, bath: Judged, others: Iterable[Judged]) -> Handing:
    """Return who can take the work while a bath drained by hand cools: only those in use that fry on."""
    if not bath.must_cool:
        return Handing()
    fit = [
        other.outlook.fryer
        for other in sorted(others, key=lambda other: other.i)
        if other is not bath and other.finding.key is VerdictKey.FRY_ON and other.outlook.in_use
    ]
    return handed_over(bath.outlook.kitchen, bath.outlook.fryer, fit, here.place.residues)
