"""The only place that knows both the day book and the core: rows become values, answers become rows."""

from kettlewell.book import (
    Draining,
    FoodKind,
    Force,
    Grade,
    Limit,
    Message,
    OilKind,
    allergens_in,
    find,
)
from kettlewell.book.units import DENSITY_KG_PER_L
from kettlewell.bridge.accounts import empty_baths, oil_is_kept
from kettlewell.bridge.amounts import food_amount_kg, food_units, oil_amount_kg, oil_units
from kettlewell.bridge.demo import DemoPerson, demo_kitchen
from kettlewell.bridge.fills import PastFill, past_fills
from kettlewell.bridge.known import (
    Default,
    assumed,
    fresh_tpc_default,
    jurisdictions,
    limits_for,
    uptake_default,
)
from kettlewell.bridge.meter_pictures import difference_plot, meter_chart
from kettlewell.bridge.meters import (
    Doubted,
    LookedBack,
    MetersStanding,
    compared,
    comparison_payload,
    decided,
    looked_back,
    meters_standing,
)
from kettlewell.bridge.pictures import fryer_chart, life_line
from kettlewell.bridge.setups import check_setup, setup_of
from kettlewell.bridge.standing import Standing, standing
from kettlewell.bridge.suppose import Supposition, what_if
from kettlewell.bridge.verdicts import Recorded, record, told_message
from kettlewell.core.metering.checks import Decision, DecisionKey
from kettlewell.core.metering.pairs import LEAST_TO_ADOPT, SideBySide
from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.cautions import (
    ALLERGENS,
    DRAIN_BY_HAND,
    DRAIN_BY_PUMP,
    POTATOES,
    POTATOES_BELOW_C,
    REFILL,
    SOLID_FAT,
)
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.core.outlook.values import Assessment, VerdictKey
from kettlewell.core.outlook.worth import OilWorth
from kettlewell.folder import NUMBERS, Setup, squeezed

__all__ = [
    "ALLERGENS",
    "DENSITY_KG_PER_L",
    "DRAIN_BY_HAND",
    "DRAIN_BY_PUMP",
    "LEAST_TO_ADOPT",
    "NUMBERS",
    "POTATOES",
    "POTATOES_BELOW_C",
    "REFILL",
    "SOLID_FAT",
    "Assessment",
    "ChartedCheck",
    "Decision",
    "DecisionKey",
    "Default",
    "DemoPerson",
    "Doubted",
    "Draining",
    "FoodKind",
    "Force",
    "Grade",
    "Limit",
    "LookedBack",
    "Message",
    "MeterReport",
    "MetersStanding",
    "OilKind",
    "OilWorth",
    "PastFill",
    "PathKind",
    "Recorded",
    "Setup",
    "SideBySide",
    "Standing",
    "Supposition",
    "VerdictKey",
    "allergens_in",
    "assumed",
    "check_setup",
    "compared",
    "comparison_payload",
    "decided",
    "demo_kitchen",
    "difference_plot",
    "empty_baths",
    "find",
    "food_amount_kg",
    "food_units",
    "fresh_tpc_default",
    "fryer_chart",
    "jurisdictions",
    "life_line",
    "limits_for",
    "looked_back",
    "meter_chart",
    "meters_standing",
    "oil_amount_kg",
    "oil_is_kept",
    "oil_units",
    "past_fills",
    "record",
    "setup_of",
    "squeezed",
    "standing",
    "told_message",
    "uptake_default",
    "what_if",
]
