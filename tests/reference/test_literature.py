"""The defaults against published fryings, each with what it gave to the defaults taken out.

All studies of polar compounds over a course of frying that were found are judged, in all
their numbers: the prior is pushed through the mass balance of the study's own work, and
its central 90 % has to hold what was published. What a study does not state is drawn
from a range from memory (``Study``). docs/why/evidence.md tells the result.
"""

import csv
from dataclasses import dataclass, field, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import norm, rankdata

from kettlewell.book import FoodKind, OilKind
from kettlewell.core.ageing import advance, hours_to_limit
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.ageing.rates import temperature_factor, working_hours

DRAWS = 20_000
STUDIED = (
    *(OilKind.RAPESEED, OilKind.SUNFLOWER, OilKind.SOYA),
    *(OilKind.HIGH_OLEIC, OilKind.OLIVE, OilKind.PALM_OLEIN, OilKind.OTHER),
)
TAIL = 0.05
PER_90_PERCENT = 2 * norm.ppf(1 - TAIL)
EVIDENCE = Path(__file__).parents[2] / "docs" / "why" / "evidence.md"

with Path(__file__).with_name("published.csv").open(encoding="utf-8", newline="") as lines:
    PUBLISHED = list(csv.DictReader(lines))
STUDIES = sorted({row["id"] for row in PUBLISHED})


@dataclass(frozen=True)
class Defaults:
    """What ships, as far as a rate of ageing follows from it.

    The fryers' spread is that of a kitchen and of a fryer within it. A coated food wears
    one to two times as fries do (the middle, 1.5, ships).
    """

    rate_pct_per_h: float = PACKAGED.rate_at_175_c.value
    fryer_log_sd: float = np.hypot(PACKAGED.kitchen_rate.sd, PACKAGED.sibling_rate.sd)
    oil: dict = field(
        default_factory=lambda: {k: (o.rate_factor, o.rate_factor_rel_sd) for k, o in PACKAGED.oils.items()}
    )
    coated_food: tuple[float, float] = (1.0, 2.0)
    energy_kj_per_mol: tuple[float, float] = (
        PACKAGED.activation_energy.value,
        PACKAGED.activation_energy.sd,
    )


def defaults_without(study: str) -> Defaults:
    """Return the defaults as they would ship had the study never been read.

    An oil with no other source falls back on the defaults of other oils. A rate from one
    study is that of one fryer among many, so the fryers' spread counts twice.
    """
    shipped = Defaults()
    unknown = shipped.oil[OilKind.OTHER]
    from_one = shipped.fryer_log_sd * np.sqrt(2)
    match study:
        case "A5":  # left is Chen et al. 2013: no effect of food; spread as for an oil
            return replace(shipped, coated_food=(0.6, 1.6))
        case "B1":  # left for olive is B5, 15 h of a blend over 25.5 h
            left = {OilKind.SUNFLOWER: unknown, OilKind.HIGH_OLEIC: unknown, OilKind.OLIVE: (15 / 25.5, 0.3)}
            return replace(shipped, oil=shipped.oil | left)
        case "B2":  # left for the rate is B5, a blend from 4 to 25 % in 15 h; for oils Abdulkarim et al. 2007
            left = {OilKind.PALM_OLEIN: (0.58, 0.3), OilKind.SOYA: (1.12, 0.3)}
            return replace(shipped, rate_pct_per_h=21 / 15, fryer_log_sd=from_one, oil=shipped.oil | left)
        case "B5":  # left for the rate is B2, 4 to 26 % in 44 h; for olive B1, 1.055 to sunflower's 2.585
            olive = (1.055 / 2.585 * shipped.oil[OilKind.SUNFLOWER][0], 0.3)
            left = {OilKind.OLIVE: olive}
            return replace(shipped, rate_pct_per_h=22 / 44, fryer_log_sd=from_one, oil=shipped.oil | left)
        case "B9":  # left is memory: reactions in food, 20 to 80
            return replace(shipped, energy_kj_per_mol=(50.0, 18.0))
    return shipped


class Study:
    """Draws of everything a study's numbers hang on, the same for all its numbers."""

    def __init__(self, defaults):
        self.defaults = defaults
        self.rng = np.random.default_rng(7)
        self.fryer = defaults.rate_pct_per_h * np.exp(defaults.fryer_log_sd * self.normal())
        self.curvature = PACKAGED.curvature.value + PACKAGED.curvature.sd * self.normal()
        self.energy = defaults.energy_kj_per_mol[0] + defaults.energy_kj_per_mol[1] * self.normal()
        self.oil_normal = {kind: self.normal() for kind in STUDIED}
        # from memory: from a frying every quarter of an hour to one an hour, heated up for itself
        self.frying_h = self.between(0.25, 1.3)
        # from memory: food in a frying, kg per kg of oil
        self.load = self.between(0.05, 0.25)
        # from memory: temperatures at which studies fry when they do not say
        self.usual_temp_c = self.rng.uniform(170, 190, DRAWS)
        # what oil is discarded at when that is not said: the laws' range
        self.limit_pct = self.rng.uniform(24, 27, DRAWS)

    def normal(self):
        return self.rng.standard_normal(DRAWS)

    def between(self, low, high):
        """Draw from the lognormal with 90 % between low and high."""
        return np.sqrt(low * high) * np.exp(np.log(high / low) / PER_90_PERCENT * self.normal())

    def oil(self, kind):
        factor, rel_sd = self.defaults.oil[kind]
        return factor * np.exp(rel_sd * self.oil_normal[kind])

    def fresh(self, kind):
        oil = PACKAGED.oils[kind]
        return oil.fresh_tpc_pct + np.hypot(oil.fresh_tpc_sd_pct, oil.lot_sd_pct) * self.normal()

    def uptake(self, kind):
        food = PACKAGED.foods[kind]
        return self.between(food.uptake_low, food.uptake_high)

    def rate(self, oil, temp_c=None):
        """Rate per hot hour of an oil (a kind or drawn factors)."""
        temp_c = self.usual_temp_c if temp_c is None else temp_c
        factor = self.oil(oil) if isinstance(oil, OilKind) else oil
        return self.fryer * factor * temperature_factor(temp_c, activation_energy_kj_per_mol=self.energy)

    def after(self, rate, *, fresh, hot_h, turnover=0.0):
        work = {"hot_h": hot_h, "turnover": turnover, "curvature": self.curvature}
        return advance(fresh, rate, fresh_tpc_pct=fresh, **work)

    def hours_to(self, limit_pct, rate, *, fresh, turnover_per_h=0.0):
        bath = {"fresh_tpc_pct": fresh, "turnover_per_h": turnover_per_h, "curvature": self.curvature}
        return hours_to_limit(fresh, rate, limit_pct=limit_pct, **bath)


def a1(s):
    drawn = 0.5 / (3 * 0.92) * s.uptake(FoodKind.FRESH_CHIPS)
    rate = s.rate(OilKind.SUNFLOWER)
    return {"sunflower": s.after(rate, fresh=5.09, hot_h=75 * s.frying_h, turnover=75 * drawn)}


def two_oils(s):
    """Sunflower, olive and their mix: factor and fresh value."""
    sunflower, olive = s.oil(OilKind.SUNFLOWER), s.oil(OilKind.OLIVE)
    fresh = s.fresh(OilKind.SUNFLOWER), s.fresh(OilKind.OLIVE)
    return {
        "sunflower": (sunflower, fresh[0]),
        "mix": ((sunflower + olive) / 2, (fresh[0] + fresh[1]) / 2),
        "olive": (olive, fresh[1]),
    }


def a2(s):
    drawn = s.load * s.uptake(FoodKind.FROZEN_FRIES)
    return {
        name: s.after(s.rate(factor), fresh=fresh, hot_h=20 * s.frying_h, turnover=20 * drawn)
        for name, (factor, fresh) in two_oils(s).items()
    }


def a3(s):
    per_h = s.load * s.uptake(FoodKind.FROZEN_FRIES) / s.frying_h
    return {
        name: s.hours_to(25, s.rate(factor), fresh=fresh, turnover_per_h=per_h) / s.frying_h
        for name, (factor, fresh) in two_oils(s).items()
    }


def a5(s):
    per_h = s.between(0.05, 0.30) / 4  # share of the bath topped up in a day of 4 h, from memory
    rate, fresh = s.rate(OilKind.OTHER, 180), s.fresh(OilKind.OTHER)
    coated = s.rng.uniform(*s.defaults.coated_food, DRAWS)
    return {
        food: s.hours_to(s.limit_pct, rate * wear, fresh=fresh, turnover_per_h=per_h) / 4
        for food, wear in (("nuggets", coated), ("fries", 1.0))
    }


def b1(s):
    def batches(kind):
        return s.hours_to(25, s.rate(kind), fresh=s.fresh(kind)) / s.frying_h

    return {
        "sunflower": batches(OilKind.SUNFLOWER),
        "high-oleic": batches(OilKind.HIGH_OLEIC),
        "to high-oleic": s.oil(OilKind.SUNFLOWER) / s.oil(OilKind.HIGH_OLEIC),
        "to pomace": s.oil(OilKind.SUNFLOWER) / s.oil(OilKind.OLIVE),
    }


def b2(s):
    blend = (s.oil(OilKind.RAPESEED) + s.oil(OilKind.SOYA)) / 2
    return {
        "blend": s.after(s.rate(blend), fresh=s.fresh(OilKind.RAPESEED), hot_h=44),
        "palm": s.after(s.rate(OilKind.PALM_OLEIN), fresh=s.fresh(OilKind.PALM_OLEIN), hot_h=44),
    }


def b3(s):
    rate = s.rate(OilKind.SOYA, 180)
    return {"grades": s.after(rate, fresh=s.fresh(OilKind.SOYA), hot_h=45 * s.frying_h)}


def b4(s):
    return {"palm": s.after(s.rate(OilKind.PALM_OLEIN), fresh=7.5, hot_h=40 * s.frying_h)}


def b5(s):
    return {
        "olive": s.hours_to(25, s.rate(OilKind.OLIVE), fresh=s.fresh(OilKind.OLIVE)),
        "blend": s.hours_to(25, s.rate(OilKind.OTHER), fresh=s.fresh(OilKind.OTHER)),
    }


def b9(s):
    share = np.clip(PACKAGED.load_share.value + PACKAGED.load_share.sd * s.normal(), 0, 1)
    empty = working_hours(1, 0, usual_hot_h=1, load_share=share, heat_up_h=0)
    fresh = s.fresh(OilKind.OTHER)
    hours = {
        temp_c: s.hours_to(s.limit_pct, empty * s.rate(OilKind.OTHER, temp_c), fresh=fresh)
        for temp_c in (190, 205, 220)
    }
    ratio = s.rate(OilKind.OTHER, 220) / s.rate(OilKind.OTHER, 190)
    return {**{str(temp_c): h for temp_c, h in hours.items()}, "ratio": ratio}


PREDICT = {"A1": a1, "A2": a2, "A3": a3, "A5": a5, "B1": b1, "B2": b2, "B3": b3, "B4": b4, "B5": b5, "B9": b9}


@dataclass(frozen=True)
class Judged:
    """One published number beside the prior's central 90 %, alone and jointly with its study."""

    row: dict
    alone: tuple[float, float]
    jointly: tuple[float, float]
    middle: float

    def holds(self, interval):
        return interval[0] <= float(self.row["low"]) and float(self.row["high"]) <= interval[1]

    @property
    def name(self):
        return f"{self.row['id']} {self.row['number']}"


def quantile(draws, share):
    """Return a quantile of draws that may be infinite."""
    return float(np.quantile(draws, share, method="inverted_cdf"))


def joint_tail(draws):
    """Return the equal tails outside of which all numbers of a study lie in 90 % of the draws.

    At most 5 %, so that no interval is narrower than the number's own.
    """
    at_or_below = rankdata(draws, method="max", axis=-1) / DRAWS
    at_or_above = 1 - (rankdata(draws, method="min", axis=-1) - 1) / DRAWS
    return min(TAIL, quantile(np.minimum(at_or_below, at_or_above).min(axis=0), 2 * TAIL))


@cache
def judged(study):
    """Return the numbers of a study, judged by the defaults without it."""
    predicted = PREDICT[study](Study(defaults_without(study)))
    rows = [row for row in PUBLISHED if row["id"] == study]
    tail = joint_tail(np.array([predicted[row["number"]] for row in rows]))
    return [
        Judged(
            row=row,
            alone=(quantile(draws, TAIL), quantile(draws, 1 - TAIL)),
            jointly=(quantile(draws, tail), quantile(draws, 1 - tail)),
            middle=quantile(draws, 0.5),
        )
        for row in rows
        for draws in [predicted[row["number"]]]
    ]


def test_all_ten_studies_lie_in_the_joint_interval_of_the_defaults_without_them():
    """Eight are the target. Palm olein in B2 is held since another trial tells of its rate."""
    missed = [one.name for study in STUDIES for one in judged(study) if not one.holds(one.jointly)]
    assert len(STUDIES) == 10
    assert missed == []


def test_21_of_23_numbers_lie_in_their_own_interval_and_the_misses_are_known():
    """20.7 are to be expected. The docs name the misses and what may lie behind each."""
    numbers = [one for study in STUDIES for one in judged(study)]
    assert len(numbers) == 23
    assert [one.name for one in numbers if not one.holds(one.alone)] == [
        "A2 olive",
        "B1 sunflower",
    ]


def test_a_study_with_one_number_is_judged_by_that_number_alone():
    for study in ("A1", "B3", "B4"):
        (only,) = judged(study)
        assert only.jointly == only.alone


@pytest.mark.parametrize("study", ["A5", "B1", "B2", "B5", "B9"])
def test_leaving_a_study_out_changes_the_defaults_it_gave(study):
    assert defaults_without(study) != Defaults()


@pytest.mark.parametrize("study", ["A1", "A2", "A3", "B3", "B4"])
def test_studies_that_gave_no_default_of_their_own_are_judged_by_what_ships(study):
    """A1 and B4 gave the fresh values of sunflower and palm olein, which here are the study's own."""
    assert defaults_without(study) == Defaults()


def documented():
    """Return published text and the three numbers of the prior in each row of the docs' table."""
    cells = [
        [cell.strip() for cell in line.split("|")[1:-1]] for line in EVIDENCE.read_text("utf-8").splitlines()
    ]
    return {row[0]: row for row in cells if row and row[0].split(" ")[0] in STUDIES}


@pytest.mark.parametrize("study", STUDIES)
def test_the_table_in_the_docs_is_what_the_defaults_give(study):
    table = documented()
    for one in judged(study):
        name, quantity, published, alone, jointly, middle, held = table[one.name]
        low, high = one.row["low"], one.row["high"]
        assert name == one.name
        assert quantity == one.row["quantity"]
        assert published == (low if low == high else f"{low}–{high}")
        for text, interval in ((alone, one.alone), (jointly, one.jointly)):
            assert [number(cell) for cell in text.split("–")] == pytest.approx(interval, rel=0.03)
        assert number(middle) == pytest.approx(one.middle, rel=0.03)
        assert held == verdict(one)


def number(cell):
    return float("inf") if cell == "never" else float(cell)


def verdict(one):
    return "yes" if one.holds(one.alone) else "jointly" if one.holds(one.jointly) else "no"
