"""What each limit means for one fryer: judged, kept, warned of, or named as not judged."""

from collections.abc import Iterator, Sequence

from kettlewell.book import (
    Clause,
    FoodKind,
    Force,
    Fryer,
    Grade,
    Judges,
    Kitchen,
    Limit,
    Polymers,
    find,
)
from kettlewell.core.limits.decision import accepted_risk
from kettlewell.core.limits.polymers import MEASURED_TO_TPC_PCT, PolymerFigure, PolymerLine, line_of
from kettlewell.core.limits.rules import limits_of
from kettlewell.core.limits.values import (
    FryerLimits,
    LimitNote,
    LimitStatus,
    NoteCode,
    OilLimit,
    Quantity,
)

POTATOES = frozenset({FoodKind.FROZEN_FRIES, FoodKind.FRESH_CHIPS})
COMPARATORS = (">", ">=")
MEASURED = (Grade.RESEARCH, Grade.HOUSE)
SAID = {Clause.SCREENING: NoteCode.METER_SCREENS, Clause.NO_TOP_UP: NoteCode.NO_TOP_UP}


def judge_limits(kitchen: Kitchen, fryer: Fryer, figures: Sequence[PolymerFigure] = ()) -> FryerLimits:
    """Return what each limit that speaks to the kitchen means for this fryer.

    ``figures`` are what the kitchen's laboratory found of polymers. Where the laboratory is to decide on
    them, a limit on polymers judges only an oil it has a figure of, unless nothing else judges the oil.
    A fryer may have none that judges its oil. Numbers known from memory alone are shown and
    not judged until the kitchen sets them as its own. Limits on the process are held against
    the set temperature; one on potatoes is left out where the foods are listed and none of
    them is a potato.

    Raises ValueError for an unknown jurisdiction, and for a limit that could be
    judged but is not an upper limit with a number.
    """
    line = line_of(find(kitchen.oils, fryer.oil), figures)
    limits = [limit for limit in limits_of(kitchen) if _concerns(kitchen, fryer, limit)]
    made = [_judge(kitchen, fryer, limit, line) for limit in limits]
    oil = [each for each in made if isinstance(each, OilLimit)]
    left = [each for each in oil if each.mapped and _left_to_laboratory(kitchen, line, oil)]
    notes = [each for each in made if isinstance(each, LimitNote)]
    notes += [_not_judged(each.limit, NoteCode.LABORATORY_DECIDES) for each in left]
    return FryerLimits(
        oil=tuple(sorted((each for each in oil if each not in left), key=lambda limit: limit.tpc_pct)),
        notes=(*notes, *(said for limit in limits for said in _said_beside(limit))),
    )


def _left_to_laboratory(kitchen: Kitchen, line: PolymerLine, oil: Sequence[OilLimit]) -> bool:
    screened = any(not each.mapped for each in oil)
    return kitchen.polymers is Polymers.LABORATORY and screened and line.grade is not Grade.HOUSE


def _said_beside(limit: Limit) -> Iterator[LimitNote]:
    if limit.grade is not Grade.MEMORY:
        for clause in limit.clauses:
            yield LimitNote(limit=limit, status=LimitStatus.ADVICE, code=SAID[clause])


def _concerns(kitchen: Kitchen, fryer: Fryer, limit: Limit) -> bool:
    if limit.quantity != Quantity.POTATO_TEMPERATURE or not fryer.fries:
        return True
    return any(find(kitchen.products, key).kind in POTATOES for key in fryer.fries)


def _judge(kitchen: Kitchen, fryer: Fryer, limit: Limit, line: PolymerLine) -> OilLimit | LimitNote:
    if limit.force is Force.NONE_FOUND:
        own = any(mine.quantity == limit.quantity for mine in kitchen.limits)
        code = NoteCode.NONE_FOUND_OWN_SET if own else NoteCode.NONE_FOUND
        return LimitNote(limit=limit, status=LimitStatus.NONE_FOUND, code=code)
    if limit.grade is Grade.MEMORY:
        return _not_judged(limit, NoteCode.UNVERIFIED)
    match limit.judges, limit.quantity:
        case Judges.OIL, Quantity.TPC:
            risk = accepted_risk(limit, kitchen.risk)
            return OilLimit(limit=limit, tpc_pct=_upper(limit), tpc_u_pct=0.0, risk=risk)
        case Judges.OIL, Quantity.POLYMERS:
            return _judged_through_tpc(kitchen, limit, line)
        case Judges.PROCESS, Quantity.OIL_TEMPERATURE | Quantity.POTATO_TEMPERATURE:
            return _held_against_thermostat(fryer, limit)
    return _not_judged(limit, NoteCode.NOT_MEASURED)


def _judged_through_tpc(kitchen: Kitchen, limit: Limit, line: PolymerLine) -> OilLimit:
    tpc_pct, tpc_u_pct = line.tpc_pct(_upper(limit))
    return OilLimit(
        limit=limit,
        tpc_pct=tpc_pct,
        tpc_u_pct=tpc_u_pct,
        risk=accepted_risk(limit, kitchen.risk),
        by_laboratory=line.grade is Grade.HOUSE,
        rough=line.grade not in MEASURED or round(tpc_pct, 1) > MEASURED_TO_TPC_PCT,
    )


def _held_against_thermostat(fryer: Fryer, limit: Limit) -> LimitNote:
    if limit.quantity == Quantity.POTATO_TEMPERATURE and not fryer.fries:
        return _not_judged(limit, NoteCode.FOODS_UNKNOWN)
    # a set temperature can stand exactly at the limit, so here ">" and ">=" differ
    highest_c = _upper(limit)
    too_hot = fryer.set_temp_c > highest_c or (limit.unfit_when == ">=" and fryer.set_temp_c == highest_c)
    return LimitNote(
        limit=limit,
        status=LimitStatus.WARNING if too_hot else LimitStatus.KEPT,
        code=NoteCode.TOO_HOT if too_hot else NoteCode.KEPT,
        set_temp_c=fryer.set_temp_c,
    )


def _not_judged(limit: Limit, code: NoteCode) -> LimitNote:
    return LimitNote(limit=limit, status=LimitStatus.NOT_JUDGED, code=code)


def _upper(limit: Limit) -> float:
    if limit.unfit_when not in COMPARATORS or limit.value is None:
        where = f"limit on {limit.quantity} ({limit.jurisdiction})"
        raise ValueError(f"{where}: needs > or >= and a number, not {limit.unfit_when!r} {limit.value}")
    return limit.value
