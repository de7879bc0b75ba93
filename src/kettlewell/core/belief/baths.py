"""A kitchen's fryers as arrays: what the filter needs to know of each bath beforehand."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.book import Fryer, Kitchen, Meter, Oil, Product, find
from kettlewell.core.ageing.coefficients import coefficients, food_defaults, oil_defaults
from kettlewell.core.ageing.rates import temperature_factor
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.loads import Pattern, initial_pattern
from kettlewell.core.belief.priors import MetersPrior, Prior
from kettlewell.core.belief.week import lasts_min, slots_of_week, week_of
from kettlewell.core.metering import PLAIN_METER, offset_sd_pct

LEAST_UPTAKE_KG = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Baths:
    """One kitchen's fryers in the order of the book, arrays (F,).

    ``usual_wear_kg`` and ``usual_uptake_kg`` are of a usual service: food weighed by its
    wear, and oil taken up; it lasts ``usual_h`` hours. ``heat`` is the ageing at the set
    temperature relative to 175 °C.
    ``foods`` gives each product's wear factor and oil uptake; ``rate_factor`` and its relative
    standard deviation (O,) belong to the kitchen's oils.
    """

    kitchen: Kitchen
    fryer_index: dict[str, int]
    oil_index: dict[str, int]
    oil: Index
    mass_kg: Array
    usual_wear_kg: Array
    usual_uptake_kg: Array
    load_stated: Mask
    usual_h: Array
    heat: Array
    rate_unit: Array
    rate_factor: Array
    rate_factor_rel_sd: Array
    foods: dict[str, tuple[float, float]]

    @property
    def meters(self) -> tuple[Meter, ...]:
        """The kitchen's meters, or a plain one; the level is told in the scale of the first."""
        return self.kitchen.meters or (PLAIN_METER,)

    def meter_index(self, key: str | None) -> int:
        """Return the place of a meter; of the first where none is named."""
        return next((i for i, meter in enumerate(self.kitchen.meters) if meter.key == key), 0)


def heat_of(oil_temp_c: ArrayLike) -> Array:
    """Return the ageing at a temperature relative to 175 °C, with the default activation energy."""
    return temperature_factor(
        oil_temp_c, activation_energy_kj_per_mol=coefficients()["activation_energy"].value
    )


def wear_and_uptake(product: Product) -> tuple[float, float]:
    """Return a product's wear factor and oil uptake in kg/kg, its own or its kind's."""
    kind = food_defaults()[product.kind]
    wear = kind.wear_factor if product.wear_factor is None else product.wear_factor
    uptake = kind.uptake_kg_per_kg if product.uptake_kg_per_kg is None else product.uptake_kg_per_kg
    return wear, uptake


def fresh_tpc(oil: Oil) -> tuple[float, float]:
    """Return the prior mean and standard deviation of an oil's fresh TPC."""
    kind = oil_defaults()[oil.kind]
    return (kind.fresh_tpc_pct if oil.fresh_tpc_pct is None else oil.fresh_tpc_pct), kind.fresh_tpc_sd_pct


def usual_service(kitchen: Kitchen, fryer: Fryer) -> tuple[float, float, float]:
    """Return wear-weighed food, oil taken up and mean wear factor of a usual service."""
    foods = [wear_and_uptake(find(kitchen.products, key)) for key in fryer.fries]
    wear, uptake = np.mean(foods or [wear_and_uptake(Product(key="", name=""))], axis=0)
    unstated = coefficients()["usual_load_unstated"].value * fryer.oil_mass_kg
    load_kg = unstated if fryer.usual_load_kg is None else fryer.usual_load_kg
    return load_kg * wear, load_kg * uptake, wear


def baths_of(kitchen: Kitchen) -> Baths:
    """Return the arrays of a kitchen's fryers; raises ValueError for one without fryers."""
    if not kitchen.fryers:
        raise ValueError(f"kitchen {kitchen.name!r} has no fryers")
    oil_index = {oil.key: i for i, oil in enumerate(kitchen.oils)}
    usual = np.array([usual_service(kitchen, fryer) for fryer in kitchen.fryers])
    oils = [oil_defaults()[oil.kind] for oil in kitchen.oils]
    kinds = [oils[oil_index[fryer.oil]] for fryer in kitchen.fryers]
    gain = coefficients()["meter_gain"].value
    rate = (
        coefficients()["rate_at_175_c"].value * np.array([kind.rate_factor for kind in kinds]) * usual[:, 2]
    )
    return Baths(
        kitchen=kitchen,
        fryer_index={fryer.key: i for i, fryer in enumerate(kitchen.fryers)},
        oil_index=oil_index,
        oil=np.array([oil_index[fryer.oil] for fryer in kitchen.fryers], dtype=np.intp),
        mass_kg=np.array([fryer.oil_mass_kg for fryer in kitchen.fryers]),
        usual_wear_kg=usual[:, 0],
        usual_uptake_kg=np.maximum(usual[:, 1], LEAST_UPTAKE_KG),
        usual_h=np.array([usual_hours(kitchen, fryer) for fryer in kitchen.fryers]),
        load_stated=np.array([fryer.usual_load_kg is not None for fryer in kitchen.fryers]),
        heat=heat_of([fryer.set_temp_c for fryer in kitchen.fryers]),
        rate_unit=gain * rate,
        rate_factor=np.array([kind.rate_factor for kind in oils]),
        rate_factor_rel_sd=np.array([kind.rate_factor_rel_sd for kind in oils]),
        foods={product.key: wear_and_uptake(product) for product in kitchen.products},
    )


def prior_of(baths: Baths) -> Prior:
    """Return the prior of one kitchen, a batch of one."""
    known = coefficients()
    fresh = np.array([fresh_tpc(oil) for oil in baths.kitchen.oils])
    draw_sd = draw_rel_sd(baths) * baths.usual_uptake_kg / baths.mass_kg / baths.usual_h
    several = len(baths.kitchen.oils) > 1
    curvature_sd = known["curvature"].sd * baths.rate_unit / 20
    return Prior(
        fresh_pct=fresh[None, :, 0],
        fresh_sd_pct=fresh[None, :, 1],
        rate_unit=baths.rate_unit[None],
        bend_sd=np.hypot(curvature_sd, draw_sd)[None],
        oil=baths.oil[None],
        gain=(known["meter_gain"].value, known["meter_gain"].sd),
        offset=(known["meter_offset"].value, offset_sd_pct(baths.meters[0])),
        oil_gain_sd=known["oil_gain"].sd * several,
        oil_offset_sd_pct=known["oil_offset"].sd * several,
        kitchen_rate=(known["kitchen_rate"].value, known["kitchen_rate"].sd),
        sibling_rate_sd=known["sibling_rate"].sd,
        lot_sd_pct=known["fill_to_fill"].sd,
        meters=meters_prior(baths.kitchen),
    )


def meters_prior(kitchen: Kitchen) -> MetersPrior | None:
    """Return the prior of meters that can be checked, or are several; None for one that cannot."""
    if not kitchen.meters or not (kitchen.reference_lots or len(kitchen.meters) > 1):
        return None
    known = coefficients()
    return MetersPrior(
        offset_sds_pct=tuple(offset_sd_pct(meter) for meter in kitchen.meters),
        electronics_share=known["electronics_share"].value,
        ratio_sd=known["meter_gain"].sd,
    )


def usual_hours(kitchen: Kitchen, fryer: Fryer) -> float:
    """Return how many hours a service of a fryer lasts, the mean over its week; of any if it has none."""
    week = week_of(kitchen, fryer) or slots_of_week(kitchen)
    return sum(lasts_min(service) for _, service in week) / 60 / len(week)


def draw_rel_sd(baths: Baths) -> Array:
    """Return how well the usual oil uptake of each fryer is known, relative."""
    return np.where(baths.load_stated, coefficients()["draw_stated"].sd, coefficients()["draw_unstated"].sd)


def pattern_of(baths: Baths) -> Pattern:
    """Return the loads expected of one kitchen before its first entry, a batch of one."""
    draw = baths.usual_uptake_kg / baths.mass_kg
    return initial_pattern(
        draw[None],
        draw_rel_sd(baths)[None],
        known=baths.load_stated[None],
        slots=len(slots_of_week(baths.kitchen)),
    )
