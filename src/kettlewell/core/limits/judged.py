"""What each limit means for one fryer: judged, kept, warned of, or named as not judged."""

import math
from collections.abc import Iterable

from kettlewell.book import FoodKind, Force, Fryer, Grade, Judges, Kitchen, Limit, Message, find
from kettlewell.book.words import N_
from kettlewell.core.limits.decision import accepted_risk
from kettlewell.core.limits.polymers import MEASURED_TO_TPC_PCT, polymer_line
from kettlewell.core.limits.rules import limits_of
from kettlewell.core.limits.values import JudgedLimit, LimitStatus, Quantity

POTATOES = frozenset({FoodKind.FROZEN_FRIES, FoodKind.FRESH_CHIPS})

NOTHING_JUDGED = N_(
    "No limit judges the oil of this fryer. Set a limit of your own on polar compounds, "
    "or confirm one that is shown as unverified."
)
NONE_FOUND = N_("No number was found for {quantity} in {jurisdiction}. Set a limit of your own.")
NONE_FOUND_OWN_SET = N_("No number was found for {quantity} in {jurisdiction}; your own limit is used.")
UNVERIFIED = N_(
    "Not judged: {quantity}. The number {value} {unit} is unverified: confirm before relying on it, "
    "then set it as a limit of your own."
)
NOT_MEASURED = N_("Not judged: {quantity} (limit {value} {unit}). It cannot be told from polar compounds.")
NO_LINE = N_(
    "Not judged: {quantity} (limit {value} {unit}). Nothing published tells it from polar compounds "
    "in this oil."
)
FOODS_UNKNOWN = N_(
    "Not judged: {quantity}. Nothing says what this fryer fries; fry potatoes below {value} °C."
)
JUDGED_TPC = N_("Judged: polar compounds, limit {value} %.")
JUDGED_POLYMERS = N_(
    "Judged through polar compounds: in this oil {value} % polymers is about {tpc_pct} % polar compounds, "
    "give or take {tpc_u_pct}."
)
JUDGED_POLYMERS_ROUGHLY = N_(
    "Judged through polar compounds: in this oil {value} % polymers is about {tpc_pct} % polar compounds, "
    "give or take {tpc_u_pct}; a rough figure, derived and not measured."
)
KEPT = N_("Kept: set to {set_temp_c} °C ({quantity}, limit {value} °C).")
TOO_HOT = {
    ">": N_("Set to {set_temp_c} °C: {quantity} may not be above {value} °C. Turn it down."),
    ">=": N_("Set to {set_temp_c} °C: {quantity} must be below {value} °C. Turn it down."),
}


def judge_limits(kitchen: Kitchen, fryer: Fryer) -> tuple[JudgedLimit, ...]:
    """Return what each limit that speaks to the kitchen means for this fryer.

    Limits that judge the oil come first, by the TPC they stand for; see
    ``nothing_judged`` for a fryer that has none. Numbers known from memory alone
    are shown and not judged until the kitchen sets them as its own. Limits on the
    process are held against the set temperature; one on potatoes is left out
    where the foods are listed and none of them is a potato.

    Raises ValueError for an unknown jurisdiction, and for a limit that could be
    judged but is not an upper limit with a number.
    """
    judged = [
        _judge(kitchen, fryer, limit) for limit in limits_of(kitchen) if _concerns(kitchen, fryer, limit)
    ]
    return tuple(sorted(judged, key=lambda one: math.inf if one.tpc_pct is None else one.tpc_pct))


def nothing_judged(limits: Iterable[JudgedLimit]) -> Message | None:
    """Return what to tell a kitchen when none of these limits judges the oil, else None."""
    if any(limit.status is LimitStatus.JUDGED for limit in limits):
        return None
    return Message(text=NOTHING_JUDGED)


def _concerns(kitchen: Kitchen, fryer: Fryer, limit: Limit) -> bool:
    if limit.quantity != Quantity.POTATO_TEMPERATURE or not fryer.fries:
        return True
    return any(find(kitchen.products, key).kind in POTATOES for key in fryer.fries)


def _judge(kitchen: Kitchen, fryer: Fryer, limit: Limit) -> JudgedLimit:
    if limit.force is Force.NONE_FOUND:
        own = any(mine.quantity == limit.quantity for mine in kitchen.limits)
        return _shown(limit, LimitStatus.NONE_FOUND, NONE_FOUND_OWN_SET if own else NONE_FOUND)
    if limit.grade is Grade.MEMORY:
        return _shown(limit, LimitStatus.NOT_JUDGED, UNVERIFIED)
    match limit.judges, limit.quantity:
        case Judges.OIL, Quantity.TPC:
            return _judged(kitchen, limit, JUDGED_TPC, tpc_pct=_upper(limit), tpc_u_pct=0.0)
        case Judges.OIL, Quantity.POLYMERS:
            return _judged_through_tpc(kitchen, fryer, limit)
        case Judges.PROCESS, Quantity.OIL_TEMPERATURE | Quantity.POTATO_TEMPERATURE:
            return _held_against_thermostat(fryer, limit)
    return _shown(limit, LimitStatus.NOT_JUDGED, NOT_MEASURED)


def _judged_through_tpc(kitchen: Kitchen, fryer: Fryer, limit: Limit) -> JudgedLimit:
    line = polymer_line(find(kitchen.oils, fryer.oil).kind)
    if line is None:
        return _shown(limit, LimitStatus.NOT_JUDGED, NO_LINE)
    tpc_pct, tpc_u_pct = line.tpc_pct(_upper(limit))
    rough = line.grade is not Grade.RESEARCH or tpc_pct > MEASURED_TO_TPC_PCT
    text = JUDGED_POLYMERS_ROUGHLY if rough else JUDGED_POLYMERS
    return _judged(kitchen, limit, text, tpc_pct=tpc_pct, tpc_u_pct=tpc_u_pct)


def _held_against_thermostat(fryer: Fryer, limit: Limit) -> JudgedLimit:
    if limit.quantity == Quantity.POTATO_TEMPERATURE and not fryer.fries:
        return _shown(limit, LimitStatus.NOT_JUDGED, FOODS_UNKNOWN)
    # a set temperature can stand exactly at the limit, so here ">" and ">=" differ
    highest_c = _upper(limit)
    too_hot = fryer.set_temp_c > highest_c or (limit.unfit_when == ">=" and fryer.set_temp_c == highest_c)
    if too_hot:
        return _shown(limit, LimitStatus.WARNING, TOO_HOT[limit.unfit_when], set_temp_c=fryer.set_temp_c)
    return _shown(limit, LimitStatus.KEPT, KEPT, set_temp_c=fryer.set_temp_c)


def _judged(kitchen: Kitchen, limit: Limit, text: str, *, tpc_pct: float, tpc_u_pct: float) -> JudgedLimit:
    return JudgedLimit(
        limit=limit,
        status=LimitStatus.JUDGED,
        unverified=False,
        message=_message(limit, text, tpc_pct=tpc_pct, tpc_u_pct=tpc_u_pct),
        tpc_pct=tpc_pct,
        tpc_u_pct=tpc_u_pct,
        risk=accepted_risk(limit, kitchen.risk),
    )


def _shown(limit: Limit, status: LimitStatus, text: str, **numbers: float) -> JudgedLimit:
    return JudgedLimit(
        limit=limit,
        status=status,
        unverified=limit.grade is Grade.MEMORY,
        message=_message(limit, text, **numbers),
    )


def _message(limit: Limit, text: str, **numbers: float) -> Message:
    if limit.value is not None:
        numbers["value"] = limit.value
    unit = limit.unit.replace("degC", "°C")
    words = {"quantity": limit.quantity, "unit": unit, "jurisdiction": limit.jurisdiction}
    return Message(text=text, values={**words, **{name: tidy(number) for name, number in numbers.items()}})


def tidy(number: float) -> float | int:
    """Return a number as it is told: whole, or to a tenth."""
    return int(number) if number == int(number) else round(number, 1)


def _upper(limit: Limit) -> float:
    if limit.unfit_when not in TOO_HOT or limit.value is None:
        where = f"limit on {limit.quantity} ({limit.jurisdiction})"
        raise ValueError(f"{where}: needs > or >= and a number, not {limit.unfit_when!r} {limit.value}")
    return limit.value
