"""A practice kitchen's meter and its laboratory: all that a rule ever sees of the truth."""

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from kettlewell.core.arrays import Array, Mask
from kettlewell.practice.kitchens import SERVICES_PER_DAY, Practice

LABORATORY_DAYS = 7


class Tools(Protocol):
    """What a rule can do beside reading its baths."""

    def check(self, day: int, /) -> Array:
        """Return how far (K,) the meters read from the value of the reference oil, a mean of three."""

    def adjust(self, day: int, where: Mask, /) -> Array:
        """Set the meters ``where`` (K,) to the reference oil and check them; nan where not."""

    def results(self, day: int, /) -> Array:
        """Return the laboratory's results (K,) that come in on the morning of a day; nan where none."""


@dataclass(slots=True, kw_only=True)
class Instruments:
    """Meters that may be adjusted, and oil on its way to the laboratory, which answers in a week.

    ``adjusted_pct`` (K, 1) is what adjustments so far took off every reading.
    """

    practice: Practice
    adjusted_pct: Array = field(init=False)
    sent: dict[int, Array] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        """Start with meters as they came."""
        self.adjusted_pct = np.zeros((len(self.practice.draw), 1))

    def read(self, t: int, tpc_pct: Array, wanted: Mask, *, again: int = 0) -> Array:
        """Return what the meter shows before service ``t``; nan where skipped or not wanted.

        Who reads ``again`` has the meter at hand, and skips none.
        """
        practice = self.practice
        noise = practice.again_noise_pct[again - 1, t] if again else practice.noise_pct[t]
        shown = practice.offset_pct[t] + practice.gain * tpc_pct + noise
        shown = self.rounded(shown + practice.oil_offset_pct - self.adjusted_pct)
        taken = wanted if again else wanted & ~practice.skipped[t]
        return np.where(taken, np.maximum(shown, 0.0), np.nan)

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

        day, each = t // SERVICES_PER_DAY, np.asarray(sampled.any(axis=-1))
        practice, findings = self.practice, self.practice.findings
        truly = practice.offset_pct[t] + practice.oil_offset_pct + practice.gain * tpc_pct - self.adjusted_pct
        shown = self.rounded(of_sampled(truly) + findings.sample_noise_pct[:, day]).mean(axis=0)
        result = of_sampled(tpc_pct) * (1 + findings.laboratory[day])
        coming = self.sent.setdefault(day + LABORATORY_DAYS, np.full(len(each), np.nan))
        coming[each] = result[each]
        return np.where(each, shown, np.nan)

    def results(self, day: int, /) -> Array:
        """Return the results (K,) that come in on the morning of a day; nan where none."""
        return self.sent.pop(day, np.full(len(self.adjusted_pct), np.nan))

    def rounded(self, shown_pct: Array) -> Array:
        """Return what the display makes of it."""
        step = self.practice.resolution_pct
        return np.asarray(np.round(shown_pct / step) * step)
