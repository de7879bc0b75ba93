"""How practice kitchens may be: the ranges from which their truth is drawn.

All ranges are invented, within those the literature gives.
"""

from dataclasses import dataclass, field
from enum import IntEnum

from kettlewell.book import OilKind
from kettlewell.practice.findings import Shown
from kettlewell.practice.mishaps import Mishaps
from kettlewell.practice.rota import LUNCH_AND_DINNER, Rota


class Topping(IntEnum):
    """When fresh oil is poured.

    Trickling in all through a service, at once before it, in its middle or after it, or only once the
    level has sunk to the lower mark.
    """

    THROUGH = 0
    BEFORE = 1
    DURING = 2
    AFTER = 3
    SUNK = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Physics:
    """Ranges of how oil ages and how food draws it.

    ``power`` of the ageing law; ``rate_factor`` beside the usual rate; ``food_kg_per_kg`` of oil in a
    usual service. Ageing goes as the ``surface_power`` of surface to volume; thermostats are off by
    ``thermostat_step_c`` more from a day of their own on.
    """

    power: tuple[float, float] = (0.75, 1.15)
    heat_up_h: tuple[float, float] = (0.1, 0.5)
    load_power: tuple[float, float] = (0.6, 1.2)
    rate_factor: tuple[float, float] = (1.0, 1.0)
    food_kg_per_kg: tuple[float, float] = (0.05, 0.25)
    surface_power: float = 0.0
    thermostat_step_c: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trade:
    """When a kitchen fries and how much the year changes it.

    Loads swing by ``season`` of their mean over a year. It is closed for ``closed_days`` once, which a
    share ``closing_written`` of kitchens writes down.
    """

    rota: Rota = LUNCH_AND_DINNER
    season: tuple[float, float] = (0.0, 0.0)
    closed_days: int = 0
    closing_written: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """Ranges from which kitchens are drawn; shares are probabilities.

    With several ``oils`` the fryers of a kitchen take turns in them, and each oil has a gain and
    an offset of its own on top of the kitchen's. ``walk_factor`` times the walk of the offset.
    ``right_at_pct`` is the TPC at which a meter is right whatever its gain, but for its offset.
    ``toppings`` are the ways to top up of which each kitchen has one; of none oil trickles in.
    The book names ``oil_kind``. ``noted_late`` of kitchens write top-ups down after the service,
    whenever they were poured.
    """

    gain: tuple[float, float] = (0.88, 1.08)
    offset_pct: tuple[float, float] = (-0.8, 0.8)
    offset_walk_sd_pct: float = 0.03
    walk_factor: tuple[float, float] = (1.0, 1.0)
    oils: int = 1
    oil_gain: tuple[float, float] = (-0.05, 0.05)
    oil_offset_pct: tuple[float, float] = (-0.85, 0.85)
    seen: Shown = field(default_factory=Shown)
    fresh_pct: tuple[float, float] = (3.3, 4.7)
    lot_spread_pct: float = 0.2
    lot_days: int = 14
    wet: tuple[float, float] = (0.0, 0.05)
    skipped: tuple[float, float] = (0.05, 0.60)
    load_forgotten: tuple[float, float] = (0.05, 1.0)
    top_up_forgotten: tuple[float, float] = (0.02, 0.60)
    repeatability_pct: tuple[float, float] = (0.3, 0.7)
    resolution_pct: float = 0.5
    oil_kind: OilKind = OilKind.RAPESEED
    right_at_pct: float = 0.0
    toppings: tuple[Topping, ...] = ()
    noted_late: float = 0.0
    physics: Physics = field(default_factory=Physics)
    trade: Trade = field(default_factory=Trade)
    mishaps: Mishaps = field(default_factory=Mishaps)


DRIFTING = Habits(walk_factor=(0.5, 2.0), oils=2)
"""Kitchens of two oils, whose meters drift at rates of their own."""
