"""Conversions of units: the only place that knows them."""

KELVIN_AT_0_C = 273.15
REFERENCE_TEMP_C = 20.0
DENSITY_KG_PER_L = 0.920
DENSITY_SLOPE_KG_PER_L_K = 0.00067


def oil_density_kg_per_l(oil_temp_c: float, density_20c_kg_per_l: float = DENSITY_KG_PER_L) -> float:
    """Return the density of a frying oil: ρ(20 °C) - 0.00067 (T - 20) kg/L (from memory)."""
    return density_20c_kg_per_l - DENSITY_SLOPE_KG_PER_L_K * (oil_temp_c - REFERENCE_TEMP_C)


def oil_mass_kg(
    volume_l: float, oil_temp_c: float = REFERENCE_TEMP_C, density_20c_kg_per_l: float = DENSITY_KG_PER_L
) -> float:
    """Return the mass of ``volume_l`` litres of oil measured at ``oil_temp_c``."""
    return volume_l * oil_density_kg_per_l(oil_temp_c, density_20c_kg_per_l)
