"""A practice kitchen's meter and its laboratory: all that a rule ever sees of the truth."""

from dataclasses import dataclass, field, fields
from typing import Protocol

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.kitchens import Practice
from kettlewell.practice.mishaps import TENFOLD

LABORATORY_DAYS = 7


class Tools(Protocol):
    """What a rule can do beside reading its baths."""

    def check(self, day: int, /) -> Array:
        """Return how far (K,) the meters read from the value of the reference oil, a mean of three."""

    def adjust(self, day: int, where: Mask, /) -> Array:
        """Set the meters ``where`` (K,) to the reference oil and check them; nan where not."""

    def results(self, day: int, /) -> Array:
        """Return the laboratory's results (K,) that come in on the morning of a day; nan where none."""

    def read_control(self, day: int, /) -> Array:
        """Return what the meters show (K,) of their control oil, hot, a mean of three; nan where none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bottle:
    """Bottled oil of each kitchen (K,): what the laboratory finds of it, and what is true; nan where none.

    Its ``tpc_pct``, and the meter's ``gain`` and ``offset_pct`` in that oil. How oil changes in its bottle is
    left out.
    """

    result_pct: Array
    tpc_pct: Array
    gain: Array
    offset_pct: Array

    @classmethod
    def none(cls, kitchens: int) -> "Bottle":
        """Return that no kitchen has one."""
        nothing = np.full(kitchens, np.nan)
        return cls(result_pct=nothing, tpc_pct=nothing, gain=nothing, offset_pct=nothing)

    def where(self, came: Mask, other: "Bottle") -> "Bottle":
        """Return these bottles in the kitchens ``came`` (K,), in the others the ``other`` ones."""
        both = {f.name: (getattr(self, f.name), getattr(other, f.name)) for f in fields(Bottle)}
        return Bottle(**{name: np.where(came, mine, theirs) for name, (mine, theirs) in both.items()})


@dataclass(slots=True, kw_only=True)
class Instruments:
    """Meters that may be adjusted, and oil on its way to the laboratory, which answers in a week.

    ``adjusted_pct`` (K, 1) is what adjustments so far took off every reading, ``stuck_pct`` (K, 1) where
    meters are stuck, ``written_pct`` (K, F) what was last written of each fill; nan where nothing. What the
    laboratory valued last is the ``control`` oil.
    """

    practice: Practice
    adjusted_pct: Array = field(init=False)
    stuck_pct: Array = field(init=False)
    written_pct: Array = field(init=False)
    sent: dict[int, Bottle] = field(init=False, default_factory=dict)
    control: Bottle = field(init=False)

    def __post_init__(self) -> None:
        """Start with meters as they came."""
        self.adjusted_pct = np.zeros((len(self.practice.draw), 1))
        self.stuck_pct = np.full(self.adjusted_pct.shape, np.nan)
        self.written_pct = np.full(self.practice.draw.shape, np.nan)
        self.control = Bottle.none(len(self.practice.draw))

    def read(self, t: int, tpc_pct: Array, wanted: Mask, *, again: int = 0) -> Array:
        """Return what is written of the meter before service ``t``; nan where skipped or not wanted.

        Who reads ``again`` has the meter at hand, and skips none.
        """
        practice = self.practice
        noise = practice.again_noise_pct[again - 1, t] if again else practice.noise_pct[t]
        shown = practice.offset_pct[t] + practice.gain * tpc_pct + noise
        shown = self.rounded(shown + practice.oil_offset_pct - self.adjusted_pct)
        taken = wanted if again else wanted & ~practice.skipped[t]
        shown = self.as_stuck(t, np.maximum(shown, 0.0), taken)
        return np.where(taken, shown if again else self.as_written(t, shown, taken), np.nan)

    def as_stuck(self, t: int, shown_pct: Array, taken: Mask) -> Array:
        """Return what meters show of baths (K, F) before service ``t``, some at the figure they stuck at."""
        stuck = self.practice.slips.stuck[t]
        begins = stuck & np.isnan(self.stuck_pct) & taken.any(axis=1, keepdims=True)
        first = np.take_along_axis(shown_pct, taken.argmax(axis=1)[:, None], axis=1)
        self.stuck_pct = np.where(stuck, np.where(begins, first, self.stuck_pct), np.nan)
        return np.where(np.isnan(self.stuck_pct), shown_pct, self.stuck_pct)

    def as_written(self, t: int, shown_pct: Array, taken: Mask) -> Array:
        """Return what is written of the first readings (K, F): some copied from the last, some tenfold."""
        slips = self.practice.slips
        copied = slips.copied[t] & ~np.isnan(self.written_pct)
        written = np.where(copied, self.written_pct, shown_pct)
        self.written_pct = np.where(taken, written, self.written_pct)
        return np.where(slips.tenfold[t] & (written < TENFOLD), TENFOLD * written, written)

    def note_changes(self, changed: Mask) -> None:
        """Take in which baths (K, F) hold a new fill, of which nothing is written yet."""
        self.written_pct = np.where(changed, np.nan, self.written_pct)

    def check(self, day: int, /, *, left: bool = False) -> Array:
        """Return the mean deviation (K,) of three readings in reference oil, as found or as ``left``."""
        findings = self.practice.findings
        truly = findings.electronics_pct[day] + findings.reference_pct[day] - self.adjusted_pct[:, 0]
        return np.asarray(
            self.rounded(truly[:, None] + findings.check_noise_pct[int(left), day]).mean(axis=-1)
        )

    def adjust(self, day: int, where: Mask, /) -> Array:
        """Set the meters ``where`` (K,) to the value on the bottle and check them again.

        It hits that value up to half a step of the display and to what three readings scatter by.
        """
        findings = self.practice.findings
        shows = findings.electronics_pct[day] + findings.reference_pct[day]
        missed = findings.set_error_pct[day]
        self.adjusted_pct = np.where(where[:, None], (shows - missed)[:, None], self.adjusted_pct)
        return np.where(where, self.check(day, left=True), np.nan)

    def send(self, t: int, tpc_pct: Array, sampled: Mask) -> Array:
        """Send the oil of the baths ``sampled`` (K, F), one of a kitchen at most, to the laboratory.

        Return what two readings of it, dry and once it is quiet, show in the mean (K,); nan where none.
        """

        def of_sampled(values: Array) -> Array:
            return np.asarray(np.where(sampled, values, 0.0).sum(axis=-1))

        practice, findings = self.practice, self.practice.findings
        day, each = t // practice.rota.per_day, np.asarray(sampled.any(axis=-1))
        truly = practice.offset_pct[t] + practice.oil_offset_pct + practice.gain * tpc_pct - self.adjusted_pct
        shown = self.rounded(of_sampled(truly) + findings.sample_noise_pct[:, day]).mean(axis=0)
        other = np.roll(tpc_pct, 1, axis=-1)
        in_bottle = np.where(practice.slips.swapped[day], of_sampled(other), of_sampled(tpc_pct))
        bottle = Bottle(
            result_pct=in_bottle * (1 + findings.laboratory[day] + practice.slips.laboratory),
            tpc_pct=of_sampled(tpc_pct),
            gain=of_sampled(practice.gain),
            offset_pct=of_sampled(practice.oil_offset_pct),
        )
        due = day + LABORATORY_DAYS
        self.sent[due] = bottle.where(each, self.sent.get(due, Bottle.none(len(each))))
        return np.where(each, shown, np.nan)

    def results(self, day: int, /) -> Array:
        """Return the results (K,) that come in on the morning of a day; nan where none."""
        came = self.sent.pop(day, Bottle.none(len(self.adjusted_pct)))
        self.control = came.where(~np.isnan(came.result_pct), self.control)
        return came.result_pct

    def read_control(self, day: int, /) -> Array:
        """Return what the meters show (K,) of their control oil, hot, a mean of three; nan where none."""
        practice, control = self.practice, self.control
        of_meter = practice.offset_pct[day * practice.rota.per_day, :, 0] - self.adjusted_pct[:, 0]
        truly = of_meter + control.offset_pct + control.gain * control.tpc_pct
        shown = self.rounded(truly[:, None] + practice.findings.control_noise_pct[day])
        return np.asarray(shown.mean(axis=-1))

    def rounded(self, shown_pct: Array) -> Array:
        """Return what the display makes of it."""
        step = self.practice.resolution_pct
        return np.asarray(np.round(shown_pct / step) * step)
