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
    Kitchen,
    LabResult,
    Load,
    MeterCheck,
    Move,
    Reading,
    Return,
    Store,
    TopUp,
    in_order,
)
from kettlewell.book.account import account_of
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.metering.budget import laboratory_u_pct, meter_read, reading_var
from kettlewell.core.metering.comparison import Agreement, Comparison, agreement, york

TOGETHER = timedelta(hours=1)  # apart by more, oil may have aged between the two: chosen, no source
DISTURBS = (Change, Load, Move, Return, Store, TopUp)
LEAST_PAIRS = 3
LEAST_TO_ADOPT = 5  # fewer give a line that a single odd pair turns: chosen, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The same oil measured by both: what each said and is uncertain by, beside offset and gain."""

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
    ``teaches`` says whether what they show can be believed of the meter: it is the kitchen's
    first beside the laboratory, or a further one beside the first. ``earlier`` pairs are from
    before an adjustment and no longer count.
    """

    meter: str
    against: str | None
    oil: str
    pairs: tuple[Pair, ...]
    comparison: Comparison | None
    differences: Agreement | None
    teaches: bool
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
        return self.widened * self.comparison.line.slope_u < PACKAGED.meter_gain.sd

    @property
    def may_be_adopted(self) -> bool:
        """Whether there are pairs enough and a line to go by, of instruments that teach."""
        return self.teaches and self.sure and len(self.pairs) >= LEAST_TO_ADOPT

    def adopted(self, at: datetime) -> Adopted:
        """Return the comparison as an entry: offset and gain with their uncertainties.

        Where the pairs scatter more than their uncertainties explain, those of the line grow
        with them. Raises ValueError where it may not be adopted.
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
    kitchen: Kitchen, entries: Iterable[Entry], *, meter: str, against: str | None, oil: str
) -> SideBySide:
    """Return a meter beside another instrument in one oil, from pairs in the day book.

    Those from before an adjustment of either meter are left out: it read otherwise then.
    """
    book = in_order(entries)
    since = since_adjusted(book, {meter, against})
    ever = tuple(pairs_in(kitchen, book, meter, against, oil))
    pairs = tuple(pair for pair in ever if since is None or pair.at > since)
    xs, ys = [pair.other_pct for pair in pairs], [pair.meter_pct for pair in pairs]
    first = kitchen.meters[0].key
    return SideBySide(
        meter=meter,
        against=against,
        oil=oil,
        pairs=pairs,
        comparison=line_of(pairs) if len(pairs) >= LEAST_PAIRS else None,
        differences=agreement(xs, ys) if len(pairs) >= LEAST_PAIRS else None,
        earlier=len(ever) - len(pairs),
        teaches=(meter == first) == (against is None) and against in (None, first),
    )


def since_adjusted(book: Sequence[Entry], meters: Collection[str | None]) -> datetime | None:
    """Return when any of these meters was adjusted last; None for never."""
    checks = (one for one in book if isinstance(one, MeterCheck) and one.adjusted and one.meter in meters)
    return max((one.at for one in checks), default=None)


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


def pairs_in(
    kitchen: Kitchen, book: Sequence[Entry], meter: str, against: str | None, oil: str
) -> Iterator[Pair]:
    """Yield the pairs, each measurement in one at most: the nearest in time, the bath as it was."""
    seen = list(measured_in(kitchen, book, oil))
    free = [one for one in seen if isinstance(one, Reading) and is_by(kitchen, one, meter)]
    for other in seen:
        if not is_by(kitchen, other, against):
            continue
        near = [one for one in free if one.fryer == other.fryer and as_it_was(book, one, other)]
        if near:
            reading = min(near, key=lambda one: abs(one.at - other.at))
            free.remove(reading)
            yield Pair(
                at=other.at,
                fryer=other.fryer,
                other_pct=other.tpc_pct,
                other_u_pct=u_pct(kitchen, other),
                meter_pct=reading.tpc_pct,
                meter_u_pct=u_pct(kitchen, reading),
            )


def measured_in(kitchen: Kitchen, book: Sequence[Entry], oil: str) -> Iterator[Reading | LabResult]:
    """Yield what was measured of baths while they held an oil."""
    account = account_of(kitchen)
    for entry in book:
        account, _ = account.after(entry, kitchen)
        if isinstance(entry, Reading | LabResult) and account.bath(entry.fryer).oil == oil:
            yield entry


def is_by(kitchen: Kitchen, entry: Reading | LabResult, instrument: str | None) -> bool:
    """Return whether an entry is a sound reading of a meter, or for None a laboratory's result."""
    if isinstance(entry, LabResult):
        return instrument is None
    return entry.sound and meter_read(kitchen, entry).key == instrument


def u_pct(kitchen: Kitchen, entry: Reading | LabResult) -> float:
    """Return what a measurement is uncertain by, beside offset and gain."""
    if isinstance(entry, LabResult):
        return laboratory_u_pct(entry)
    return math.sqrt(reading_var(entry, meter_read(kitchen, entry)))


def as_it_was(book: Sequence[Entry], one: Entry, other: Reading | LabResult) -> bool:
    """Return whether two measurements of a bath are near in time, and its oil the same."""
    first, last = sorted((one.at, other.at))
    if last - first > TOGETHER:
        return False
    between = book[
        bisect_left(book, first, key=attrgetter("at")) : bisect_right(book, last, key=attrgetter("at"))
    ]
    return not any(isinstance(act, DISTURBS) and other.fryer in baths_of(act) for act in between)


def baths_of(act: AtFryer) -> tuple[str, ...]:
    """Return the baths whose oil an act touches."""
    return (act.fryer, act.into) if isinstance(act, Move) else (act.fryer,)
