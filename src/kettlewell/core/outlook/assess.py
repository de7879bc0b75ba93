"""The one call: from a kitchen and its day book to what to do with every bath."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.arrays import Array
from kettlewell.core.belief.baths import Baths
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.replay import SPEAKS_OF_SERVICE, Walked, check_names, walk_to
from kettlewell.core.belief.service import combine, each, foresee, noted, services_of
from kettlewell.core.belief.state import GAIN, RATE, Belief, level_of
from kettlewell.core.belief.walk import Checkpoint, Walk
from kettlewell.core.belief.week import Slot
from kettlewell.core.book import Draining, Entry, Fryer, Kitchen, Reading, allergens_in, find, in_order
from kettlewell.core.limits import judge_limits, nothing_judged
from kettlewell.core.metering import reading_var
from kettlewell.core.outlook.card import URGENCY, BathAnswers, answers, wall_card
from kettlewell.core.outlook.cautions import cautions_of
from kettlewell.core.outlook.forecast import forecast
from kettlewell.core.outlook.life import Coming, life_of
from kettlewell.core.outlook.outlook import Outlook, passed_limits, steady_tpc_pct
from kettlewell.core.outlook.soundness import flags_of
from kettlewell.core.outlook.values import Assessment, VerdictKey, WallCard
from kettlewell.core.outlook.verdict import Finding, finding_of, verdict_of
from kettlewell.core.version import MODEL_VERSION


def assess(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Iterable[Entry] | None = None,
    since: Checkpoint | None = None,
) -> tuple[Assessment, ...]:
    """Return what to do with every bath of a kitchen, most urgent first.

    ``entries`` in any order; those after ``now`` are left aside. ``planned`` are loads
    (kg), hot hours (h) and top-ups (kg) of coming services; what is not planned is taken
    as usual. With ``since`` the walk goes on from a checkpoint, and ``entries`` may hold
    only what came after it. TPC is in % m/m, times are aware.

    Raises ValueError for a time without a zone, a kitchen without services or without any
    limit that judges the oil, an entry of a fryer the kitchen lacks, and a checkpoint that
    does not fit.
    """
    plan = check_plan(kitchen, planned or (), now)
    walked = walk_to(kitchen, entries, now=now, planned=plan, since=since)
    walk, belief = walked.walk, walked.walk.settled()
    ahead = [*running_services(walk), *coming_services(walked)]
    outlooks = outlooks_of(walk, belief, ahead, now)
    found = all_answers(walk.baths, belief, ahead, outlooks)
    findings = [finding_of(outlook, answer) for outlook, answer in zip(outlooks, found, strict=True)]
    keys = [finding.key for finding in findings]
    told = [
        assessment_of(
            walk,
            belief,
            outlook,
            finding=finding,
            over=taken_over_by(outlook, finding.key, zip(outlooks, keys, strict=True)),
            card=wall_card(outlook, finding.key, answer),
        )
        for outlook, finding, answer in zip(outlooks, findings, found, strict=True)
    ]
    order = sorted(range(len(told)), key=lambda i: urgency(told[i], spoiled=outlooks[i].fill.spoiled))
    return tuple(told[i] for i in order)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A coming service: its work (1, F) and hot hours (F,)."""

    slot: Slot
    work: Work
    hot_h: Array


def urgency(assessment: Assessment, *, spoiled: bool) -> tuple[bool, int, bool, float, str]:
    """Return what to sort by: in use, verdict, the senses first, then what passes soonest."""
    verdict = assessment.verdict
    sooner = -verdict.passing_probability_next
    return not assessment.in_use, URGENCY.index(verdict.key), not spoiled, sooner, assessment.fryer


def check_plan(kitchen: Kitchen, planned: Iterable[Entry], now: datetime) -> list[Entry]:
    """Return the plan in order; raises ValueError for what cannot be planned."""
    plan = check_names(kitchen, in_order(planned))
    for entry in plan:
        where = entry.ref or "plan"
        if entry.at < now:
            raise ValueError(f"{where}: {entry.at} lies before {now}: it belongs among the entries")
        if not isinstance(entry, SPEAKS_OF_SERVICE):
            raise ValueError(f"{where}: a {type(entry).__name__} cannot be planned")  # noqa: TRY004 - input
    return plan


def running_services(walk: Walk) -> Iterator[Ahead]:
    """Yield the rest of each service that runs."""
    baths = walk.baths
    slots = {one.slot for ones in walk.running.values() for one in ones if one.done < 1}
    for slot in sorted(slots, key=lambda one: (one.ends, one.of_week)):
        share, hot_h = np.zeros((1, len(baths.mass_kg))), np.zeros(len(baths.mass_kg))
        for fryer, ones in walk.running.items():
            for one in ones:
                if one.slot == slot:
                    i = baths.fryer_index[fryer]
                    share[0, i], hot_h[i], work = 1 - one.done, one.hot_h * (1 - one.done), one.work
        yield Ahead(slot=slot, work=combine([(work, share)]), hot_h=hot_h)


def coming_services(walked: Walked) -> Iterator[Ahead]:
    """Yield the services to come, with what is said of them beforehand."""
    walk = walked.walk
    notes = [
        noted(walk.baths, slot, said, out=walk.out_of_order)
        for slot, said in zip(walked.come, walked.said, strict=True)
    ]
    services = services_of(walk.baths, walked.come, notes)
    works = each(foresee(walk.pattern, services))
    for slot, work, hot_h in zip(walked.come, works, services.hot_h, strict=True):
        yield Ahead(slot=slot, work=work, hot_h=hot_h[0])


def outlooks_of(walk: Walk, belief: Belief, ahead: Sequence[Ahead], now: datetime) -> list[Outlook]:
    """Return the outlook of every fryer."""
    kitchen, here = walk.baths.kitchen, level_of(belief)
    levels = forecast(belief, [one.work for one in ahead])
    outlooks = []
    for i, planned in enumerate(kitchen.fryers):
        fryer = replace(planned, oil=kitchen.oils[belief.oil[0, i]].key)
        own = own_services(ahead, i, fryer)
        limits = judge_limits(kitchen, fryer)
        if message := nothing_judged(limits):
            raise ValueError(f"fryer {fryer.key}: {message}")
        level_now, level_ahead = here.at(0, i), levels.at(own, 0, i)
        passed, passed_now = passed_limits(limits, level_now, level_ahead)
        coming = Coming(
            names=tuple(ahead[n].slot.name for n in own),
            begins=tuple(max(ahead[n].slot.begins, now) for n in own),
            ends=tuple(ahead[n].slot.ends for n in own),
            hot_h=np.array([ahead[n].hot_h[i] for n in own]),
        )
        outlooks.append(
            Outlook(
                kitchen=kitchen,
                fryer=fryer,
                fill=walk.fills[fryer.key],
                out_of_order=fryer.key in walk.out_of_order,
                now=now,
                limits=limits,
                coming=coming,
                here=level_now,
                ahead=level_ahead,
                passed=passed,
                passed_now=passed_now,
            )
        )
    return outlooks


def own_services(ahead: Sequence[Ahead], i: int, fryer: Fryer) -> list[int]:
    """Return which coming services fryer ``i`` works in; those it would work in when out of order."""
    hot = [n for n, one in enumerate(ahead) if one.hot_h[i] > 0]
    own = hot or [n for n, one in enumerate(ahead) if fryer.key in one.slot.fryers]
    if not own:
        raise ValueError(f"fryer {fryer.key}: no service of the week names it; say when it fries")
    return own


def assessment_of(
    walk: Walk, belief: Belief, outlook: Outlook, *, finding: Finding, over: tuple[str, ...], card: WallCard
) -> Assessment:
    """Return everything that is said about one fryer."""
    fryer, last, due = outlook.fryer, outlook.last(), outlook.due()
    i = walk.baths.fryer_index[fryer.key]
    mean, sd = outlook.here.tpc_mean_sd()
    gain = float(outlook.here.gain)
    rate, rate_sd = rate_of(walk, belief, i)
    turnover = float(walk.pattern.draw()[0, i] * walk.pattern.usual()[0, i])
    steady = steady_tpc_pct(belief, i, turnover_per_h=turnover / usual_working_h(walk, i))
    lowest = min(limit.tpc_pct for limit in outlook.judged if limit.tpc_pct is not None)
    at_worst = np.max(outlook.passed, axis=0)
    return Assessment(
        fryer=fryer.key,
        name=fryer.name,
        at=outlook.now,
        model_version=MODEL_VERSION,
        filled_at=outlook.fill.filled_at,
        last_reading_at=last.reading.at if last else None,
        last_reading_pct=last.reading.tpc_pct if last else None,
        tpc_mean_pct=float(mean),
        tpc_sd_pct=float(sd),
        fresh_tpc_pct=float(belief.fresh_mean()[0, i] / gain),
        rate_pct_per_h=rate,
        rate_sd_pct_per_h=rate_sd,
        turnover_per_service=turnover,
        steady_state_tpc_pct=steady,
        in_use=outlook.in_use,
        empty=outlook.fill.empty,
        forecast=outlook.services(),
        life=life_of(
            at_worst,
            float(outlook.passed_now.max()),
            outlook.coming,
            steady_below_limit=steady is not None and steady < lowest,
        ),
        read_by=outlook.coming.begins[due],
        verdict=verdict_of(outlook, finding, due, over),
        limits=outlook.limits,
        flags=flags_of(outlook.fill, outlook.kitchen, outlook.now),
        cautions=cautions_of(outlook.kitchen, fryer, finding.key),
        card=card,
    )


def rate_of(walk: Walk, belief: Belief, i: int) -> tuple[float, float]:
    """Return mean and standard deviation of the true rate of fryer ``i``.

    Percentage points a hot hour at the set temperature, with the usual load and its heating-up.
    """
    sensitivity, shared_cov, gain = (
        belief.sensitivity[0, i, RATE],
        belief.shared_cov[0],
        belief.shared[0, GAIN],
    )
    own = float(belief.own_mean()[0, i, RATE])
    by_gain = sensitivity.copy()
    by_gain[GAIN] -= own / gain
    var = belief.own_cov[0, i, RATE, RATE] + by_gain @ shared_cov @ by_gain
    hot_hour = usual_working_h(walk, i) / float(walk.baths.usual_h[i])
    return own / float(gain) * hot_hour, float(np.sqrt(var) / gain) * hot_hour


def usual_working_h(walk: Walk, i: int) -> float:
    """Return the working hours of a usual service of fryer ``i`` at its set temperature."""
    return float(walk.baths.heat[i] * (walk.baths.usual_h[i] + coefficients()["heat_up_h"].value))


def taken_over_by(
    outlook: Outlook, key: VerdictKey, others: Iterable[tuple[Outlook, VerdictKey]]
) -> tuple[str, ...]:
    """Return which fryers can take the work while a bath drained by hand cools.

    Only those in use that fry on, and that already hold every allergen of its food.
    """
    if key is not VerdictKey.CHANGE_BEFORE or outlook.fryer.draining is not Draining.HAND:
        return ()
    foods = (find(outlook.kitchen.products, food) for food in outlook.fryer.fries)
    mine = {allergen for food in foods for allergen in food.allergens}
    return tuple(
        other.fryer.key
        for other, verdict in others
        if other is not outlook
        and verdict is VerdictKey.FRY_ON
        and other.in_use
        and mine.issubset(allergens_in(other.kitchen, other.fryer.key))
    )


def all_answers(
    baths: Baths, belief: Belief, ahead: Sequence[Ahead], outlooks: Sequence[Outlook]
) -> list[BathAnswers]:
    """Return what every reading of the kitchen's meter would lead to, in all baths."""
    meter = baths.meter()
    first_two = []
    for i, outlook in enumerate(outlooks):
        own = own_services(ahead, i, outlook.fryer)
        first_two.append([ahead[own[n]].work for n in (0, min(1, len(own) - 1))])
    typical = Reading(at=outlooks[0].now, fryer="", tpc_pct=0.0, oil_temp_c=meter.min_oil_temp_c)
    return answers(
        belief,
        first_two,
        outlooks,
        resolution_pct=meter.resolution_pct,
        var=reading_var(typical, meter),
    )
