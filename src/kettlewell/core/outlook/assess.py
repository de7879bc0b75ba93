"""The one call: from a kitchen and its day book to what to do with every bath."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import islice

import numpy as np

from kettlewell.book import (
    Draining,
    Entry,
    Fryer,
    Kitchen,
    OfService,
    Reading,
    allergens_in,
    find,
    in_order,
)
from kettlewell.core.ageing.coefficients import coefficients
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.replay import Walked, check_names, walk_to
from kettlewell.core.belief.state import RATE, Belief, Level, level_of
from kettlewell.core.belief.walk import Checkpoint, Walk
from kettlewell.core.limits import judge_limits, nothing_judged
from kettlewell.core.outlook.ahead import Ahead, coming_services, own_services, running_services
from kettlewell.core.outlook.card import URGENCY, BathAnswers, answers, wall_card
from kettlewell.core.outlook.cautions import cautions_of
from kettlewell.core.outlook.forecast import forecast
from kettlewell.core.outlook.life import Coming, life_of
from kettlewell.core.outlook.outlook import Outlook, passed_limits, steady_tpc_pct
from kettlewell.core.outlook.soundness import flags_of
from kettlewell.core.outlook.values import Assessment, VerdictKey
from kettlewell.core.outlook.verdict import Finding, finding_of, verdict_of
from kettlewell.core.version import MODEL_VERSION


def assess(
    kitchen: Kitchen,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Iterable[Entry] | None = None,
    since: Checkpoint | None = None,
    of: Collection[str] | None = None,
) -> tuple[Assessment, ...]:
    """Return what to do with every bath of a kitchen, or with those ``of`` it, most urgent first.

    ``entries`` in any order; those after ``now`` are left aside. ``planned`` are loads
    (kg), hot hours (h) and top-ups (kg) of coming services; what is not planned is taken
    as usual. With ``since`` the walk goes on from a checkpoint, and ``entries`` may hold
    only what came after it. TPC is in % m/m, times are aware.

    Raises ValueError for a time without a zone, a kitchen without services or without any
    limit that judges the oil, an entry of a fryer the kitchen lacks, and a checkpoint that
    does not fit.
    """
    plan = check_plan(kitchen, planned or (), now)
    here = here_of(walk_to(kitchen, entries, now=now, planned=plan, since=since), now)
    asked = [i for i, fryer in enumerate(kitchen.fryers) if of is None or fryer.key in of]
    mine = judged(here, asked)
    rest = [i for i in range(len(kitchen.fryers)) if i not in asked]
    others = judged(here, rest) if any(one.must_cool for one in mine) else []
    told = [assessment_of(here, one, over=taken_over_by(one, [*mine, *others])) for one in mine]
    spoiled = {one.outlook.fryer.key for one in mine if one.outlook.fill.spoiled}
    return tuple(sorted(told, key=lambda one: urgency(one, spoiled=one.fryer in spoiled)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Here:
    """Where a kitchen stands ``now``: its belief, the services ``ahead`` and the ``levels`` after them."""

    walk: Walk
    belief: Belief
    ahead: Sequence[Ahead]
    levels: Level
    now: datetime

    def works_of(self, i: int, fryer: Fryer) -> list[Work]:
        """Return the work of fryer ``i`` in its next two services."""
        own = own_services(self.ahead, i, fryer)
        return [self.ahead[own[n]].work for n in (0, min(1, len(own) - 1))]


def here_of(walked: Walked, now: datetime, *, services: int | None = None) -> Here:
    """Return where a kitchen stands once it was walked up to ``now``, and so many ``services`` ahead."""
    walk, belief = walked.walk, walked.walk.settled()
    ahead = [*running_services(walk), *islice(coming_services(walked), services)]
    levels = forecast(belief, [one.work for one in ahead])
    return Here(walk=walk, belief=belief, ahead=ahead, levels=levels, now=now)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """Fryer ``i`` of a kitchen: its outlook, what its readings would lead to, and its verdict."""

    i: int
    outlook: Outlook
    answers: BathAnswers
    finding: Finding

    @property
    def must_cool(self) -> bool:
        """Whether its work is to be taken over while it cools to be drained by hand."""
        by_hand = self.outlook.fryer.draining is Draining.HAND
        return by_hand and self.finding.key is VerdictKey.CHANGE_BEFORE


def judged(here: Here, fryers: Sequence[int]) -> list[Judged]:
    """Return the verdict on some fryers."""
    outlooks = [outlook_of(here, i) for i in fryers]
    found = answers_of(here, fryers, outlooks) if outlooks else []
    return [
        Judged(i=i, outlook=outlook, answers=answer, finding=finding_of(outlook, answer))
        for i, outlook, answer in zip(fryers, outlooks, found, strict=True)
    ]


def urgency(assessment: Assessment, *, spoiled: bool) -> tuple[bool, int, bool, float, str]:
    """Return what to sort by: in use, verdict, the senses first, then what passes soonest.

    Chances alike to six digits are alike: what the last bits of a number say is the machine's.
    """
    verdict = assessment.verdict
    sooner = -float(f"{verdict.passing_probability_next:.6g}")
    return not assessment.in_use, URGENCY.index(verdict.key), not spoiled, sooner, assessment.fryer


def check_plan(kitchen: Kitchen, planned: Iterable[Entry], now: datetime) -> list[Entry]:
    """Return the plan in order; raises ValueError for what cannot be planned."""
    plan = check_names(kitchen, in_order(planned))
    for entry in plan:
        where = entry.ref or "plan"
        if entry.at < now:
            raise ValueError(f"{where}: {entry.at} lies before {now}: it belongs among the entries")
        if not isinstance(entry, OfService):
            raise ValueError(f"{where}: a {type(entry).__name__} cannot be planned")  # noqa: TRY004 - input
    return plan


def outlook_of(here: Here, i: int) -> Outlook:
    """Return the outlook of fryer ``i``."""
    walk, ahead = here.walk, here.ahead
    kitchen, planned = walk.baths.kitchen, walk.baths.kitchen.fryers[i]
    fryer = replace(planned, oil=kitchen.oils[here.belief.oil[0, i]].key)
    own = own_services(ahead, i, fryer)
    limits = judge_limits(kitchen, fryer)
    if message := nothing_judged(limits):
        raise ValueError(f"fryer {fryer.key}: {message}")
    level_now, level_ahead = level_of(here.belief).at(0, i), here.levels.at(own, 0, i)
    passed, passed_now = passed_limits(limits, level_now, level_ahead)
    return Outlook(
        kitchen=kitchen,
        fryer=fryer,
        fill=walk.fills[fryer.key],
        out_of_order=fryer.key in walk.out_of_order,
        metered=walk.meters.in_use is not None,
        now=here.now,
        limits=limits,
        coming=Coming(
            names=tuple(ahead[n].slot.name for n in own),
            begins=tuple(max(ahead[n].slot.begins, here.now) for n in own),
            ends=tuple(ahead[n].slot.ends for n in own),
            hot_h=np.array([ahead[n].hot_h[i] for n in own]),
        ),
        here=level_now,
        ahead=level_ahead,
        passed=passed,
        passed_now=passed_now,
    )


def assessment_of(here: Here, one: Judged, *, over: tuple[str, ...]) -> Assessment:
    """Return everything that is said about one fryer."""
    walk, belief, outlook, i = here.walk, here.belief, one.outlook, one.i
    fryer, last, due = outlook.fryer, outlook.last(), outlook.due()
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
        metered=outlook.metered,
        empty=outlook.fill.empty,
        forecast=outlook.services(),
        life=life_of(
            at_worst,
            float(outlook.passed_now.max()),
            outlook.coming,
            steady_below_limit=steady is not None and steady < lowest,
        ),
        read_by=outlook.coming.begins[due],
        verdict=verdict_of(outlook, one.finding, due, over),
        limits=outlook.limits,
        flags=flags_of(outlook.fill, outlook.kitchen, outlook.now),
        cautions=cautions_of(outlook.kitchen, fryer, one.finding.key),
        card=wall_card(outlook, one.finding.key, one.answers),
    )


def rate_of(walk: Walk, belief: Belief, i: int) -> tuple[float, float]:
    """Return mean and standard deviation of the true rate of fryer ``i``.

    Percentage points a hot hour at the set temperature, with the usual load and its heating-up.
    """
    gain, own = belief.gain_mean()[0, i], float(belief.own_mean()[0, i, RATE])
    by_gain = belief.sensitivity[0, i, RATE] - own / gain * belief.gain[0, i]
    var = belief.own_cov[0, i, RATE, RATE] + by_gain @ belief.shared_cov[0] @ by_gain
    hot_hour = usual_working_h(walk, i) / float(walk.baths.usual_h[i])
    return own / float(gain) * hot_hour, float(np.sqrt(var) / gain) * hot_hour


def usual_working_h(walk: Walk, i: int) -> float:
    """Return the working hours of a usual service of fryer ``i`` at its set temperature."""
    return float(walk.baths.heat[i] * (walk.baths.usual_h[i] + coefficients()["heat_up_h"].value))


def taken_over_by(one: Judged, others: Iterable[Judged]) -> tuple[str, ...]:
    """Return which fryers can take the work while a bath drained by hand cools.

    Only those in use that fry on, and that already hold every allergen of its food.
    """
    if not one.must_cool:
        return ()
    kitchen = one.outlook.kitchen
    foods = (find(kitchen.products, food) for food in one.outlook.fryer.fries)
    mine = {allergen for food in foods for allergen in food.allergens}
    return tuple(
        other.outlook.fryer.key
        for other in sorted(others, key=lambda other: other.i)
        if other is not one
        and other.finding.key is VerdictKey.FRY_ON
        and other.outlook.in_use
        and mine.issubset(allergens_in(kitchen, other.outlook.fryer.key))
    )


def answers_of(here: Here, fryers: Sequence[int], outlooks: Sequence[Outlook]) -> list[BathAnswers]:
    """Return what every reading of the kitchen's meter would lead to, in some baths."""
    i = here.walk.meters.in_use or 0
    meter = here.walk.baths.meters[i]
    first_two = {
        fryer: here.works_of(fryer, outlook.fryer) for fryer, outlook in zip(fryers, outlooks, strict=True)
    }
    typical = Reading(at=here.now, fryer="", tpc_pct=0.0, oil_temp_c=meter.min_oil_temp_c)
    return answers(
        here.belief,
        first_two,
        outlooks,
        meter=i,
        resolution_pct=meter.resolution_pct,
        var=here.walk.reading_var(typical, i),
    )
