"""A meter beside another instrument: pairs of readings in the day book, and what follows from them."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from operator import attrgetter

import numpy as np

from kettlewell.book import (
    Adopted,
    AtFryer,
    Change,
    Entry,
    History,
    Kitchen,
    LabResult,
    Load,
    MeterCheck,
    Move,
    Reading,
    Return,
    Store,
    TopUp,
    history_of,
    in_order,
)
from kettlewell.book.account import accounts_of
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.metering.budget import laboratory_u_pct, meter_read, reading_var
from kettlewell.core.metering.comparison import Agreement, Comparison, agreement, york

TOGETHER = timedelta(hours=1)  # apart by more, oil may have aged between the two: chosen, no source
DISTURBS = (Change, Load, Move, Return, Store, TopUp)
LEAST_PAIRS = 3
LEAST_TO_ADOPT = 5  # fewer give a line that a single odd pair turns: chosen, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The same oil measured by both: what each said and is uncertain by.

    Beside a meter's offset and gain, and beside what all results of a laboratory have in common.
    """

    at: datetime
    fryer: str
    other_pct: float
    other_u_pct: float
    meter_pct: float
    meter_u_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """A meter beside another (``against``) or the laboratory (None), in one oil.

    ``comparison`` is York's line from the other's values to the meter's, ``differences`` the
    meter less the other; None below three pairs, the line also where none goes through them.
    ``earlier`` pairs are from before an adjustment and no longer count.
    """

    meter: str
    against: str | None
    oil: str
    pairs: tuple[Pair, ...]
    comparison: Comparison | None
    differences: Agreement | None
    earlier: int = 0

    @property
    def widened(self) -> float:
        """By how much the line's uncertainties grow where the pairs scatter more than theirs explain."""
        return max(self.comparison.misfit, 1.0) if self.comparison else 1.0

    @property
    def sure(self) -> bool:
        """Whether the line rises, and tells the gain better than one knows it of any meter."""
        if self.comparison is None or not self.comparison.line.slope > 0:
            return False
        line, common = self.comparison.line, PACKAGED.laboratory.sd * PACKAGED.laboratory_common
        common_u = common * line.slope if self.against is None else 0.0
        return math.hypot(self.widened * line.slope_u, common_u) < PACKAGED.meter_gain.sd

    @property
    def may_be_adopted(self) -> bool:
        """Whether there are pairs enough and a line to go by."""
        return self.sure and len(self.pairs) >= LEAST_TO_ADOPT

    def adopted(self, at: datetime) -> Adopted:
        """Return the comparison as an entry: offset and gain with their uncertainties.

        Where the pairs scatter more than their uncertainties explain, those of the line grow
        with them. What all results of a laboratory have in common is no part of them: the belief, which
        shares it with all else that the laboratory told, adds it. Raises ValueError where it may
        not be adopted.
        """
        if self.comparison is None or not self.may_be_adopted:
            raise ValueError(f"a comparison needs {LEAST_TO_ADOPT} pairs along a line that is known well")
        line, widened = self.comparison.line, self.widened
        offset_u, gain_u = np.sqrt(np.diag(line.covariance))
        return Adopted(
            at=at,
            meter=self.meter,
            against=self.against,
            oil=self.oil,
            offset_pct=line.intercept,
            offset_u_pct=widened * float(offset_u),
            gain=line.slope,
            gain_u=widened * float(gain_u),
            correlation=float(line.covariance[0, 1] / (offset_u * gain_u)),
        )


def side_by_side(
    settings: Kitchen | History, entries: Iterable[Entry], *, meter: str, against: str | None, oil: str
) -> SideBySide:
    """Return a meter beside another instrument in one oil, from pairs in the day book.

    Each was made under the settings of its day. Those from before an adjustment of either meter
    are left out: it read otherwise then.
    """
    book = in_order(entries)
    since = since_adjusted(book, {meter, against})
    ever = tuple(pairs_in(book, list(measured_in(history_of(settings), book, oil)), meter, against))
    pairs = tuple(pair for pair in ever if since is None or pair.at > since)
    xs, ys = [pair.other_pct for pair in pairs], [pair.meter_pct for pair in pairs]
    return SideBySide(
        meter=meter,
        against=against,
        oil=oil,
        pairs=pairs,
        comparison=line_of(pairs) if len(pairs) >= LEAST_PAIRS else None,
        differences=agreement(xs, ys) if len(pairs) >= LEAST_PAIRS else None,
        earlier=len(ever) - len(pairs),
    )


def since_adjusted(book: Sequence[Entry], meters: Collection[str | None]) -> datetime | None:
    """Return when any of these meters was adjusted last; None for never."""
    checks = (entry for entry in book if isinstance(entry, MeterCheck) and entry.adjusted)
    return max((check.at for check in checks if check.meter in meters), default=None)


def line_of(pairs: Sequence[Pair]) -> Comparison | None:
    """Return the line through three pairs or more; None where none goes through them."""
    try:
        return york(
            [pair.other_pct for pair in pairs],
            [pair.meter_pct for pair in pairs],
            x_u=[pair.other_u_pct for pair in pairs],
            y_u=[pair.meter_u_pct for pair in pairs],
        )
    except ValueError:
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A measurement of a bath, ``by`` which meter (None: the laboratory), and what it is uncertain by.

    That is what is another in each; offset, gain and a laboratory's bias are one in all.
    """

    entry: Reading | LabResult
    by: str | None
    u_pct: float


def measured_in(history: History, book: Sequence[Entry], oil: str) -> Iterator[Measured]:
    """Yield what was soundly measured of baths while they held an oil."""
    for entry, _kitchen, account in accounts_of(book, history):
        if not isinstance(entry, Reading | LabResult) or account.bath(entry.fryer).oil != oil:
            continue
        if isinstance(entry, LabResult):
            yield Measured(entry=entry, by=None, u_pct=PACKAGED.laboratory_own * laboratory_u_pct(entry))
        elif entry.sound:
            meter = meter_read(history, entry)
            yield Measured(entry=entry, by=meter.key, u_pct=math.sqrt(reading_var(entry, meter)))


def pairs_in(
    book: Sequence[Entry], seen: Sequence[Measured], meter: str, against: str | None
) -> Iterator[Pair]:
    """Yield the pairs, each measurement in one at most: the nearest in time, the bath as it was."""
    free = [measured for measured in seen if measured.by == meter]
    for other in seen:
        if other.by != against:
            continue
        near = [mine for mine in free if as_it_was(book, mine.entry, other.entry)]
        if near:
            mine = min(near, key=lambda mine: abs(mine.entry.at - other.entry.at))
            free.remove(mine)
            yield Pair(
                at=other.entry.at,
                fryer=other.entry.fryer,
                other_pct=other.entry.tpc_pct,
                other_u_pct=other.u_pct,
                meter_pct=mine.entry.tpc_pct,
                meter_u_pct=mine.u_pct,
            )


def as_it_was(book: Sequence[Entry], mine: Reading | LabResult, other: Reading | LabResult) -> bool:
    """Return whether two measurements are near in time, of one bath, and its oil the same."""
    first, last = sorted((mine.at, other.at))
    if mine.fryer != other.fryer or last - first > TOGETHER:
        return False
    between = book[
        bisect_left(book, first, key=attrgetter("at")) : bisect_right(book, last, key=attrgetter("at"))
    ]
    return not any(isinstance(act, DISTURBS) and other.fryer in touched(act) for act in between)


def touched(act: AtFryer) -> tuple[str, ...]:
    """Return the baths whose oil an act touches."""
    return (act.fryer, act.into) if isinstance(act, Move) else (act.fryer,)
