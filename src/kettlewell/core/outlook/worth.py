"""What a reading of a meter is worth in each oil, and what one laboratory sample would be worth.

After JCGM 106:2012: the acceptance limit (guarded acceptance, 8.3), and the consumer's and
producer's risk over the kitchen's own spread of oil (9.5).
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from decimal import Decimal

import numpy as np

from kettlewell.book import Oil, Reading, find
from kettlewell.core.arrays import Array
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.level import Level, highest_in, level_of
from kettlewell.core.belief.response import Response, response_of
from kettlewell.core.belief.week import week_of
from kettlewell.core.limits import OilLimit, coverage_factor
from kettlewell.core.limits.global_risk import global_risks
from kettlewell.core.metering import reading_var
from kettlewell.core.outlook.here import Here, outlooks_of
from kettlewell.core.outlook.life import Chances, services_within_risk
from kettlewell.core.outlook.outlook import Outlook, passed_limits

SAMPLE_SHARE = 5 / 6  # a sample at 20 % for a limit of 24 %: near enough to teach, before the end of a fill
QUARTER_DAYS = 91
LONGEST_DAYS = 365
LEAST_SERVICES = 0.05
LEAST_SPREAD_PCT = 0.1
LEAST_READINGS = 10  # fewer say nothing of how a kitchen's oil is spread: chosen, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """The highest mean of so many ``readings`` at which oil is accepted, at the accepted risk.

    It is never above the limit itself, whatever is believed of the meter.

    ``u_pct`` is the standard uncertainty of the TPC that such a mean tells, near the limit.
    ``consumer`` and ``producer`` are the shares of readings by which bad oil would be kept, and
    good oil dumped, over the kitchen's own spread of oil; None while too few readings tell it.
    """

    readings: int
    u_pct: float
    accept_pct: float
    consumer: float | None
    producer: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleWorth:
    """What one laboratory sample of an oil at about ``tpc_pct`` would be worth.

    ``gain_sd`` and ``gain_sd_after`` are of the meter's gain. ``fryer`` is where it shows most:
    ``services_more`` is how much longer the oil could be used there. Over a quarter it would
    save ``saved_kg`` of that oil, worth ``saved`` where the price is known, and pay for itself
    after ``pays_after_days`` (None: not within a year, or a price is not known).
    """

    tpc_pct: float
    gain_sd: float
    gain_sd_after: float
    fryer: str
    services_more: float
    saved_kg: float
    saved: Decimal | None
    pays_after_days: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OilWorth:
    """What a meter's readings are worth in one oil: offset and gain as believed, and what follows."""

    oil: Oil
    limit_pct: float
    risk: float
    offset_pct: float
    offset_sd_pct: float
    gain: float
    gain_sd: float
    accepted: tuple[Accepted, ...]
    sample: SampleWorth | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bath:
    """Fryer ``i`` of a kitchen with its outlook."""

    i: int
    outlook: Outlook


def worth_of(here: Here, meter: int, lately: Sequence[Reading]) -> tuple[OilWorth, ...]:
    """Return what a meter's readings are worth in each oil that some fryer holds."""
    baths = [Bath(i=i, outlook=outlook) for i, outlook in outlooks_of(here)]
    by_oil: dict[int, list[Bath]] = {}
    for bath in baths:
        by_oil.setdefault(int(here.belief.oil[0, bath.i]), []).append(bath)
    return tuple(worth_in(here, meter, oil, held, lately) for oil, held in by_oil.items())


def worth_in(here: Here, meter: int, oil: int, held: list[Bath], lately: Sequence[Reading]) -> OilWorth:
    """Return what a meter's readings are worth in the oil that some baths hold."""
    belief, response, limit = (
        here.belief,
        response_of(here.belief, meter, oil).of_kitchen(0),
        lowest_limit(held),
    )
    cov = belief.shared_cov[0]
    own_var = own_reading_var(here, meter)
    own = [reading for reading in lately if here.place.baths.meter_index(reading.meter) == meter]
    spread = spread_of(own, {bath.outlook.fryer.key for bath in held}, response)
    return OilWorth(
        oil=oil_of(here, oil),
        limit_pct=limit.tpc_pct,
        risk=limit.risk,
        offset_pct=float(response.offset_pct),
        offset_sd_pct=float(np.sqrt(response.by_offset @ cov @ response.by_offset)),
        gain=float(response.gain),
        gain_sd=gain_sd(belief, meter, oil),
        accepted=tuple(accepted(n, response, limit, cov, own_var=own_var, spread=spread) for n in (1, 2)),
        sample=sample_worth(here, meter, oil, held),
    )


def gain_sd(belief: Belief, meter: int, oil: int) -> float:
    """Return how well a meter's gain in an oil is known."""
    by_gain = response_of(belief, meter, oil).of_kitchen(0).by_gain
    return float(np.sqrt(by_gain @ belief.shared_cov[0] @ by_gain))


def oil_of(here: Here, oil: int) -> Oil:
    """Return an oil by its place."""
    return find(here.place.kitchen.oils, here.place.baths.oils[oil])


def lowest_limit(held: Sequence[Bath]) -> OilLimit:
    """Return the limit that the baths meet first."""
    judged = [limit for bath in held for limit in bath.outlook.limits]
    return min(judged, key=lambda limit: limit.tpc_pct)


def own_reading_var(here: Here, meter: int) -> float:
    """Return the variance of a sound reading beside offset and gain."""
    temp_c = here.place.baths.meters[meter].min_oil_temp_c
    typical = Reading(at=here.now, fryer="", tpc_pct=0.0, oil_temp_c=temp_c)
    return reading_var(typical, here.place.baths.meters[meter], here.place.baths.known)


def accepted(
    readings: int,
    response: Response,
    limit: OilLimit,
    cov: Array,
    *,
    own_var: float,
    spread: tuple[float, float] | None,
) -> Accepted:
    """Return up to which mean of so many readings oil is accepted, and what that risks."""
    limit_pct, risk = limit.tpc_pct, limit.risk
    gain, offset_pct = float(response.gain), float(response.offset_pct)
    by, limit_u = response.at(limit_pct), gain * limit.tpc_u_pct
    sd = float(np.sqrt(by @ cov @ by + own_var / readings + limit_u**2))
    highest = min(offset_pct + gain * limit_pct - float(coverage_factor(risk)) * sd, limit_pct)
    risks = spread and global_risks(
        *spread,
        u=sd / gain,
        tolerance=(-np.inf, limit_pct),
        acceptance=(-np.inf, (highest - offset_pct) / gain),
    )
    return Accepted(
        readings=readings,
        u_pct=sd / gain,
        accept_pct=highest,
        consumer=risks.consumer if risks else None,
        producer=risks.producer if risks else None,
    )


def spread_of(
    lately: Sequence[Reading], fryers: Collection[str], response: Response
) -> tuple[float, float] | None:
    """Return mean and standard deviation of the oil that was read; None for too few readings."""
    shown = [reading.tpc_pct for reading in lately if reading.sound and reading.fryer in fryers]
    if len(shown) < LEAST_READINGS:
        return None
    tpc_pct = (np.array(shown) - response.offset_pct) / response.gain
    return float(tpc_pct.mean()), max(float(tpc_pct.std(ddof=1)), LEAST_SPREAD_PCT)


def sample_worth(here: Here, meter: int, oil: int, held: Sequence[Bath]) -> SampleWorth | None:
    """Return what a laboratory sample of an oil, read twice when it is taken, would be worth.

    The outcome is not known beforehand: the sample is taken to confirm what is believed, and
    narrows it. None where no bath in use would be used any longer for it.
    """
    tpc_pct = round(SAMPLE_SHARE * lowest_limit(held).tpc_pct)
    after = once_sampled(here, meter, oil, tpc_pct)
    levels = highest_in(after, here.ahead.work)
    more = {bath: services_more(here, bath, after, levels) for bath in held if bath.outlook.in_use}
    if not more or max(more.values()) < LEAST_SERVICES:
        return None
    best = max(more, key=lambda bath: more[bath])
    saved_kg = sum(saved_in_a_quarter_kg(here, bath, services) for bath, services in more.items())
    price_per_kg = oil_of(here, oil).price_per_kg
    saved = None if price_per_kg is None else price_per_kg * Decimal(str(round(saved_kg, 3)))
    return SampleWorth(
        tpc_pct=tpc_pct,
        gain_sd=gain_sd(here.belief, meter, oil),
        gain_sd_after=gain_sd(after, meter, oil),
        fryer=best.outlook.fryer.key,
        services_more=more[best],
        saved_kg=saved_kg,
        saved=saved,
        pays_after_days=pays_after(saved, here.settings.laboratory_price),
    )


def once_sampled(here: Here, meter: int, oil: int, tpc_pct: float) -> Belief:
    """Return the belief once a sample was measured by the laboratory and read twice by the meter."""
    belief, response = here.belief, response_of(here.belief, meter, oil).of_kitchen(0)
    known = here.place.baths.known
    laboratory_u = known.laboratory.sd * tpc_pct * response.gain
    by = response.at(tpc_pct).copy()
    by[belief.layout.laboratory] -= known.laboratory_common * laboratory_u
    turned = belief.shared_cov[0] @ by
    own_var = (known.laboratory_own * laboratory_u) ** 2 + own_reading_var(here, meter) / 2
    spread = by @ turned + own_var
    return replace(belief, shared_cov=belief.shared_cov - np.outer(turned, turned) / spread)


def services_more(here: Here, bath: Bath, after: Belief, levels: Level) -> float:
    """Return how many services longer a bath could be used with less doubt about the meter."""
    outlook = bath.outlook
    own = here.ahead.of_fryer(bath.i, outlook.fryer)
    passed, passed_now = passed_limits(
        outlook.limits, level_of(after).at(0, bath.i), levels.at(own, 0, bath.i)
    )
    then = Chances(passed=passed, passed_now=passed_now, risks=outlook.risks)
    return services_within_risk(then) - services_within_risk(outlook.chances)


def saved_in_a_quarter_kg(here: Here, bath: Bath, more: float) -> float:
    """Return the oil saved in a quarter by fills that last ``more`` services longer, at a steady pace."""
    outlook, kitchen = bath.outlook, here.settings
    if outlook.fill.filled_at is None or more <= 0:
        return 0.0
    per_day = len(week_of(kitchen, outlook.fryer)) / 7
    served = (here.now - outlook.fill.filled_at) / timedelta(days=1) * per_day
    life = max(served + services_within_risk(outlook.chances), 1.0)
    fewer = QUARTER_DAYS * per_day * (1 / life - 1 / (life + more))
    return float(fewer * outlook.fryer.oil_mass_kg)


def pays_after(saved: Decimal | None, laboratory_price: Decimal | None) -> int | None:
    """Return after how many days a sample has paid for itself; None if not within a year, or not known."""
    if not saved or laboratory_price is None:
        return None
    days = int(QUARTER_DAYS * laboratory_price / saved) + 1
    return days if days <= LONGEST_DAYS else None
