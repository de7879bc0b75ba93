"""Whether the intervals are honest: forecasts of practice kitchens held against the truth."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy.special import ndtr

from kettlewell.core.arrays import Array, Mask
from kettlewell.core.outlook.forecast import first_passage, passing
from kettlewell.practice.bath import Bath, serve
from kettlewell.practice.books import CHANGED, CHANGED_LATE
from kettlewell.practice.instruments import Tools
from kettlewell.practice.kitchens import LIMIT_PCT, Practice
from kettlewell.practice.rules import Never
from kettlewell.practice.run import Course, Logged, Rule, run
from kettlewell.practice.watch import Upkeep, Watch

HORIZONS = (1, 3, 7)
LIFE_SERVICES = 90
Z_90 = 1.6448536269514722


class Listener(Protocol):
    """Something that follows a log."""

    def hear(self, t: int, reading_pct: Array, /) -> None:
        """Take in the readings (K, F) before service ``t``."""

    def serve(self, t: int, logged: Logged, /) -> None:
        """Take in the log of service ``t``."""

    def refill(self, where: Mask, /) -> None:
        """Take in which baths (K, F) were changed."""


class Forecaster(Listener, Protocol):
    """A listener that forecasts."""

    def forecast(self, t: int, services: int, /) -> tuple[Array, Array]:
        """Return mean and standard deviation (services, K, F) of TPC at the ends of coming services."""


@dataclass(slots=True, kw_only=True)
class Overheard(Never):
    """A rule that decides while others listen to its log; ``note`` is called before each service."""

    rule: Rule
    listeners: Sequence[Listener]
    note: Callable[[int], None]

    def wants_reading(self, t: int, /) -> Mask:
        """Return what the rule wants."""
        return self.rule.wants_reading(t)

    def before(self, t: int, reading_pct: Array, /) -> Mask:
        """Return what the rule decides, once all have heard of it."""
        change = self.rule.before(t, reading_pct)
        self.tell_before(t, reading_pct, change)
        self.note(t)
        return change

    def after(self, t: int, logged: Logged, /) -> Mask:
        """Return what the rule decides, once all have heard of it."""
        change = self.rule.after(t, logged)
        self.tell_after(t, logged, change)
        return change

    def tell_before(self, t: int, reading_pct: Array, change: Mask) -> None:
        """Tell all who listen what was read and changed before service ``t``."""
        for listener in self.listeners:
            listener.hear(t, reading_pct)
            listener.refill(change)

    def tell_after(self, t: int, logged: Logged, change: Mask) -> None:
        """Tell all who listen what was written down of service ``t`` and changed after it."""
        for listener in self.listeners:
            listener.serve(t, logged)
            listener.refill(change)


@dataclass(slots=True, kw_only=True)
class Watched(Overheard):
    """One whose log our ``watch`` follows too; the watch looks after the meters."""

    watch: Watch

    def tend(self, t: int, tools: Tools, /) -> None:
        """Let the meters be looked after."""
        self.watch.tend(t, tools)

    def wants_sample(self, _t: int, /) -> Mask:
        """Return the bath whose oil goes to the laboratory."""
        return self.watch.sampled

    def note_sample(self, t: int, shown_pct: Array, /) -> None:
        """Let what the meter shows of it be taken in."""
        self.watch.note_sample(t, shown_pct)

    def tell_before(self, t: int, reading_pct: Array, change: Mask) -> None:
        """Tell the watch first."""
        self.watch.read(t, reading_pct)
        self.watch.take_sample(t, change)
        self.watch.change(change, self.watch.practice.rota.begins(t) + CHANGED)
        Overheard.tell_before(self, t, reading_pct, change)

    def tell_after(self, t: int, logged: Logged, change: Mask) -> None:
        """Tell the watch first."""
        self.watch.serve(t, logged)
        self.watch.change(change, self.watch.practice.rota.ends(t) + CHANGED_LATE)
        Overheard.tell_after(self, t, logged, change)


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What would have come of N moments had nobody changed the oil, in K kitchens with F fryers.

    ``tpc_pct`` (N, H, K, F) at the end of the service H horizons ahead; ``now_pct`` (N, K, F);
    ``life_services`` (N, K, F) until the limit is passed, ``LIFE_SERVICES`` + 1 if not seen;
    ``first_fill`` (N, K, F) where the fryer has not been changed yet.
    """

    tpc_pct: Array
    now_pct: Array
    life_services: Array
    first_fill: Mask


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecasts:
    """What was forecast at N moments: mean, standard deviation and 90 % interval (N, H, K, F).

    ``life_ended`` (N, LIFE_SERVICES, K, F): the probability that life ends by each coming service.
    """

    mean_pct: Array
    sd_pct: Array
    low_pct: Array
    high_pct: Array
    life_ended: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """Our forecasts and the rivals' means and standard deviations (N, H, K, F) beside the truth."""

    truth: Truth
    ours: Forecasts
    rivals: tuple[tuple[Array, Array], ...]


def moments(practice: Practice, every_services: int) -> range:
    """Return the services before which to forecast: from the second on, while a life can be seen."""
    return range(1, practice.services - LIFE_SERVICES, every_services)


def try_forecasts(
    practice: Practice,
    rule: Rule,
    rivals: Sequence[Forecaster] = (),
    *,
    every_services: int,
    care: Upkeep | None = None,
) -> Trial:
    """Return our and the rivals' forecasts beside the truth, while ``rule`` runs the kitchens."""
    watch, times = Watch(practice=practice, care=care or Upkeep()), moments(practice, every_services)
    ours: list[tuple[Array, ...]] = []
    others: list[list[tuple[Array, Array]]] = [[] for _ in rivals]

    def note(t: int) -> None:
        if t in times:
            ours.append(look_ahead(watch, t))
            for taken, rival in zip(others, rivals, strict=True):
                taken.append(at_horizons(rival, t))

    course = run(practice, Watched(practice=practice, rule=rule, watch=watch, listeners=rivals, note=note))
    mean, sd, low, high, ended = (np.stack(values) for values in zip(*ours, strict=True))
    return Trial(
        truth=what_came(practice, course, times),
        ours=Forecasts(mean_pct=mean, sd_pct=sd, low_pct=low, high_pct=high, life_ended=ended),
        rivals=tuple((np.stack([m for m, _ in taken]), np.stack([s for _, s in taken])) for taken in others),
    )


def look_ahead(watch: Watch, t: int) -> tuple[Array, ...]:
    """Return mean, sd, low and high (H, K, F) and the probability (LIFE_SERVICES, K, F) of being past."""
    ahead = watch.forecast(t, LIFE_SERVICES)
    at = ahead.at([h - 1 for h in HORIZONS])
    ended = first_passage(passing(ahead, LIMIT_PCT))
    return *at.tpc_mean_sd(), at.tpc_quantile(-Z_90), at.tpc_quantile(Z_90), ended


def at_horizons(forecaster: Forecaster, t: int) -> tuple[Array, Array]:
    """Return a forecaster's mean and standard deviation (H, K, F)."""
    mean, sd = forecaster.forecast(t, max(HORIZONS))
    at = [h - 1 for h in HORIZONS]
    return mean[at], sd[at]


def what_came(practice: Practice, course: Course, times: range) -> Truth:
    """Return the truth at the moments ``times`` of a course."""
    tpc, life = zip(*[unchanged(practice, t, course.before(t)) for t in times], strict=True)
    changes = np.cumsum(course.changed, axis=0)
    at = list(times)
    return Truth(
        tpc_pct=np.stack(tpc),
        now_pct=course.tpc_before_pct[at],
        life_services=np.stack(life),
        first_fill=changes[at] == 0,
    )


def unchanged(practice: Practice, t: int, bath: Bath) -> tuple[Array, Array]:
    """Return the true TPC at the horizons (H, K, F) and the life in services (K, F) without a change."""
    at, life = [], np.full(bath.tpc_pct.shape, LIFE_SERVICES + 1.0)
    for ahead in range(1, LIFE_SERVICES + 1):
        served = serve(practice, t + ahead - 1, bath)
        bath = served.bath
        life = np.where(served.highest_pct > LIMIT_PCT, np.fmin(life, ahead), life)
        if ahead in HORIZONS:
            at.append(bath.tpc_pct)
    return np.stack(at), life


def coverage(trial: Trial, horizon: int, where: Mask | None = None) -> float:
    """Return how often the 90 % interval held the true TPC at a horizon, ``where`` (N, K, F)."""
    i = HORIZONS.index(horizon)
    tpc = trial.truth.tpc_pct[:, i]
    held = (trial.ours.low_pct[:, i] <= tpc) & (tpc <= trial.ours.high_pct[:, i])
    return float(held.mean() if where is None else held[where].mean())


def life_pit(rng: np.random.Generator, trial: Trial) -> Array:
    """Return the probability integral transforms of the lives of baths within the limit.

    Uniform between 0 and 1 if the lives are forecast honestly. A life is a whole number of
    services, so within the service in which it ends the transform is drawn by lot (Smith,
    J. Forecast. 4:283-291, 1985); a life that was not seen to end is drawn from what remains.
    """
    ended = trial.truth.life_services.astype(int)[:, None]
    edge = np.zeros_like(trial.ours.life_ended[:, :1])
    steps = np.concatenate([edge, trial.ours.life_ended, edge + 1], axis=1)
    below = np.take_along_axis(steps, ended - 1, axis=1)[:, 0]
    upto = np.take_along_axis(steps, ended, axis=1)[:, 0]
    drawn: Array = below + rng.random(below.shape) * (upto - below)
    return drawn[trial.truth.now_pct < LIMIT_PCT]


def decile_shares(pit: Array) -> Array:
    """Return the share (10,) of transforms in each decile; 0.1 each if honest."""
    return np.asarray(np.histogram(pit, bins=10, range=(0.0, 1.0))[0] / len(pit))


def crps(mean: Array, sd: Array, value: Array) -> Array:
    """Return the continuous ranked probability score of normal forecasts, in the unit of ``value``.

    Gneiting & Raftery, J. Am. Stat. Assoc. 102:359-378, 2007; with ``sd`` 0 the absolute error.
    """
    safe = np.where(sd > 0, sd, 1.0)
    z = (value - mean) / safe
    density = np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    score = safe * (z * (2 * ndtr(z) - 1) + 2 * density - 1 / np.sqrt(np.pi))
    return np.asarray(np.where(sd > 0, score, np.abs(value - mean)))
