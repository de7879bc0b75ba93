"""How fast oil ages at a temperature and under a load."""

import numpy as np
from numpy.typing import ArrayLike

from kettlewell.book.units import KELVIN_AT_0_C
from kettlewell.core.arrays import Array

GAS_CONSTANT_KJ_PER_MOL_K = 8.314462618e-3
REFERENCE_TEMP_C = 175.0


def temperature_factor(oil_temp_c: ArrayLike, *, activation_energy_kj_per_mol: ArrayLike) -> Array:
    """Return the rate at ``oil_temp_c`` relative to 175 °C (Arrhenius).

    34 kJ/mol from Li et al. 2020 (PMID 32405393) for 190-220 °C; below 155 °C extrapolated.
    """
    oil_temp_k = np.asarray(oil_temp_c, dtype=float) + KELVIN_AT_0_C
    per_kelvin = 1 / oil_temp_k - 1 / (REFERENCE_TEMP_C + KELVIN_AT_0_C)
    return np.exp(-np.asarray(activation_energy_kj_per_mol) / GAS_CONSTANT_KJ_PER_MOL_K * per_kelvin)


def working_hours(
    hot_h: ArrayLike,
    load_ratio: ArrayLike,
    *,
    usual_hot_h: ArrayLike,
    load_share: ArrayLike,
    heat_up_h: ArrayLike,
    standby: ArrayLike = 1.0,
) -> Array:
    """Return hot hours at a usual load that age the oil as much as these did.

    ``load_ratio`` is the load's wear relative to a usual service of ``usual_hot_h``
    hours; ``load_share`` of the ageing goes with the load, the rest with the time;
    ``heat_up_h`` is what the heating-ups add, never more than the bath was hot. The rate while nothing is
    fried is ``standby`` times that at the set temperature. The split is from memory.
    """
    share = np.asarray(load_share, dtype=float)
    under_load = share * np.multiply(usual_hot_h, load_ratio)
    return np.asarray(np.multiply((1 - share) * hot_h, standby) + under_load + np.minimum(heat_up_h, hot_h))
