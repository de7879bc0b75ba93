"""Kitchens' fryers as arrays: what the filter needs to know of each bath beforehand."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.book import Fryer, Kitchen, Meter, Oil, Product, find
from kettlewell.core.ageing.balance import CURVATURE_SPAN_PCT
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients, oil_defaults
from kettlewell.core.ageing.rates import temperature_factor, working_hours
from kettlewell.core.arrays import Array, Index, Mask
from kettlewell.core.belief.layout import Layout
from kettlewell.core.belief.loads import Pattern, initial_pattern
from kettlewell.core.belief.priors import Prior
from kettlewell.core.belief.week import lasts_min, slots_of_week, week_of
from kettlewell.core.metering import PLAIN_METER, offset_sd_pct

LEAST_UPTAKE_KG = 1e-9
TEMPERATURES = ("set_temp_c", "stands_at_c")


@dataclass(frozen=True, slots=True, kw_only=True)
class Baths:
    """The fryers of K kitchens that are laid out alike, in the order of the book.

    Arrays (K, F): ``oil`` each is meant for, ``mass_kg``, ``usual_wear_kg`` and
    ``usual_uptake_kg`` of a usual service (food weighed by its wear, and oil taken up), whether
    its load was ``load_stated``, how many hours it lasts ``usual_h``, ``heat`` the ageing at the set
    temperature relative to 175 °C, ``standby`` that of hours without food relative to it, the mean
    ``wear`` factor of its foods. (K, O): ``rate_factor``
    of the oils and its relative standard deviation, ``fresh_pct`` and its standard deviation,
    ``lot_sd_pct`` by which deliveries differ. (K, M): ``offset_sd_pct`` of the meters. ``checked`` says
    whether they can be checked, ``controlled`` whether in a control oil. ``foods`` gives each product's
    wear factor and oil uptake, ``slots`` the services of the week.
    """

    known: Coefficients
    fryers: tuple[str, ...]
    oils: tuple[str, ...]
    meters: tuple[Meter, ...]
    slots: tuple[tuple[int, str], ...]
    foods: dict[str, tuple[float, float]]
    checked: bool
    controlled: bool
    oil: Index
    mass_kg: Array
    usual_wear_kg: Array
    usual_uptake_kg: Array
    load_stated: Mask
    usual_h: Array
    heat: Array
    standby: Array
    wear: Array
    rate_factor: Array
    rate_factor_rel_sd: Array
    fresh_pct: Array
    fresh_sd_pct: Array
    lot_sd_pct: Array
    offset_sd_pct: Array

    @property
    def layout(self) -> Layout:
        """Where the shared values stand of kitchens that begin so."""
        meters = len(self.meters)
        return Layout(
            oils=len(self.oils),
            meters=meters,
            checked=self.checked or meters > 1,
            controlled=self.controlled,
            scale_meters=meters,
        )

    def usual_working_h(self) -> Array:
        """Return the working hours (K, F) at 175 °C that a usual service counts as."""
        hours = working_hours(
            self.usual_h,
            1.0,
            usual_hot_h=self.usual_h,
            load_share=self.known.load_share.value,
            heat_up_h=self.known.heat_up_h.value,
            standby=self.standby,
        )
        return self.heat * hours

    def fryer_index(self, key: str) -> int:
        """Return the place of a fryer; raises ValueError for one there is not."""
        return self.fryers.index(key)

    def oil_index(self, key: str) -> int:
        """Return the place of an oil; raises ValueError for one there is not."""
        return self.oils.index(key)

    def meter_index(self, key: str | None) -> int:
        """Return the place of a meter; of the first where none is named."""
        return next((i for i, meter in enumerate(self.meters) if meter.key == key), 0)

    def rate_unit(self) -> Array:
        """Return the default rate (K, F) in the reference scale, percentage points an hour."""
        factor = np.take_along_axis(self.rate_factor, self.oil, axis=1)
        return self.known.meter_gain.value * self.known.rate_at_175_c.value * factor * self.wear


def heat_of(oil_temp_c: ArrayLike, known: Coefficients = PACKAGED) -> Array:
    """Return the ageing at a temperature relative to 175 °C, with the default activation energy."""
    return temperature_factor(oil_temp_c, activation_energy_kj_per_mol=known.activation_energy.value)


def wear_and_uptake(product: Product, known: Coefficients) -> tuple[float, float]:
    """Return a product's wear factor and oil uptake in kg/kg, its own or its kind's."""
    kind = known.foods[product.kind]
    wear = kind.wear_factor if product.wear_factor is None else product.wear_factor
    uptake = kind.uptake_kg_per_kg if product.uptake_kg_per_kg is None else product.uptake_kg_per_kg
    return wear, uptake


def fresh_tpc(oil: Oil, known: Coefficients) -> tuple[float, float]:
    """Return the prior mean and standard deviation of an oil's fresh TPC, its own or its kind's."""
    if oil.fresh_tpc_pct is not None:
        return oil.fresh_tpc_pct, known.fresh_stated.sd
    defaults = oil_defaults(oil, known)
    return defaults.fresh_tpc_pct, defaults.fresh_tpc_sd_pct


def usual_service(kitchen: Kitchen, fryer: Fryer, known: Coefficients) -> tuple[float, float, float]:
    """Return wear-weighed food, oil taken up and mean wear factor of a usual service."""
    foods = [wear_and_uptake(find(kitchen.products, key), known) for key in fryer.fries]
    wear, uptake = np.mean(foods or [wear_and_uptake(Product(key="", name=""), known)], axis=0)
    unstated = known.usual_load_unstated.value * fryer.oil_mass_kg
    load_kg = unstated if fryer.usual_load_kg is None else fryer.usual_load_kg
    return load_kg * wear, load_kg * uptake, wear


def baths_of(kitchen: Kitchen, known: Coefficients = PACKAGED) -> Baths:
    """Return the arrays of one kitchen's fryers; raises ValueError for one without fryers."""
    if not kitchen.fryers:
        raise ValueError(f"kitchen {kitchen.name!r} has no fryers")
    oils, meters = tuple(oil.key for oil in kitchen.oils), kitchen.meters or (PLAIN_METER,)
    heat, idle = (heat_of([[getattr(fryer, at) for fryer in kitchen.fryers]], known) for at in TEMPERATURES)
    usual = np.array([usual_service(kitchen, fryer, known) for fryer in kitchen.fryers])
    kinds = [oil_defaults(oil, known) for oil in kitchen.oils]
    fresh = np.array([fresh_tpc(oil, known) for oil in kitchen.oils])
    return Baths(
        known=known,
        fryers=tuple(fryer.key for fryer in kitchen.fryers),
        oils=oils,
        meters=meters,
        slots=tuple((day, service.name) for day, service in slots_of_week(kitchen)),
        foods={product.key: wear_and_uptake(product, known) for product in kitchen.products},
        checked=bool(kitchen.meters and kitchen.reference_lots),
        controlled=any(lot.oil is not None for lot in kitchen.reference_lots),
        oil=np.array([[oils.index(fryer.oil) for fryer in kitchen.fryers]], dtype=np.intp),
        mass_kg=np.array([[fryer.oil_mass_kg for fryer in kitchen.fryers]]),
        usual_wear_kg=usual[None, :, 0],
        usual_uptake_kg=np.maximum(usual[None, :, 1], LEAST_UPTAKE_KG),
        load_stated=np.array([[fryer.usual_load_kg is not None for fryer in kitchen.fryers]]),
        usual_h=np.array([[usual_hours(kitchen, fryer) for fryer in kitchen.fryers]]),
        heat=heat,
        standby=idle / heat,
        wear=usual[None, :, 2],
        rate_factor=np.array([[kind.rate_factor for kind in kinds]]),
        rate_factor_rel_sd=np.array([[kind.rate_factor_rel_sd for kind in kinds]]),
        fresh_pct=fresh[None, :, 0],
        fresh_sd_pct=fresh[None, :, 1],
        lot_sd_pct=np.array([[kind.lot_sd_pct for kind in kinds]]),
        offset_sd_pct=np.array([[offset_sd_pct(meter, known) for meter in meters]]),
    )


def stacked_baths(batches: Sequence[Baths]) -> Baths:
    """Return the baths of several batches of kitchens that are laid out alike, as one batch."""
    names = [field.name for field in fields(Baths) if isinstance(getattr(batches[0], field.name), np.ndarray)]
    arrays: dict[str, Any] = {
        name: np.concatenate([getattr(baths, name) for baths in batches]) for name in names
    }
    return replace(batches[0], **arrays)


def prior_of(baths: Baths, layout: Layout | None = None) -> Prior:
    """Return the prior of kitchens; ``layout`` is theirs if they came to it from another."""
    known, several = baths.known, len(baths.oils) > 1
    return Prior(
        known=known,
        layout=layout or baths.layout,
        fresh_pct=baths.fresh_pct,
        fresh_sd_pct=baths.fresh_sd_pct,
        lot_sd_pct=baths.lot_sd_pct,
        rate_unit=baths.rate_unit(),
        bend_sd=bend_sd(baths),
        oil=baths.oil,
        offset_sd_pct=baths.offset_sd_pct,
        gain=(known.meter_gain.value, known.meter_gain.sd),
        oil_gain_sd=known.oil_gain.sd * several,
        oil_offset_sd_pct=known.oil_offset.sd * several,
    )


def bend_sd(baths: Baths) -> Array:
    """Return the prior spread (K, F) of the bends per hour: of the curvature, and of an unknown draw."""
    curvature_sd = baths.known.curvature.sd * baths.rate_unit() / CURVATURE_SPAN_PCT
    draw_sd = draw_rel_sd(baths) * baths.usual_uptake_kg / baths.mass_kg / baths.usual_h
    return np.hypot(curvature_sd, draw_sd)


def usual_hours(kitchen: Kitchen, fryer: Fryer) -> float:
    """Return how many hours a service of a fryer lasts, the mean over its week; of any if it has none."""
    week = week_of(kitchen, fryer) or slots_of_week(kitchen)
    return sum(lasts_min(service) for _, service in week) / 60 / len(week)


def draw_rel_sd(baths: Baths) -> Array:
    """Return how well the usual oil uptake of each fryer is known, relative."""
    return np.where(baths.load_stated, baths.known.draw_stated.sd, baths.known.draw_unstated.sd)


def pattern_of(baths: Baths) -> Pattern:
    """Return the loads expected of kitchens before their first entry."""
    return initial_pattern(
        baths.known,
        baths.usual_uptake_kg / baths.mass_kg,
        draw_rel_sd(baths),
        stated=baths.load_stated,
        slots=len(baths.slots),
    )
