"""What is hardly true of an entry: a slip of the pen, asked about where it is written."""

from dataclasses import dataclass
from enum import StrEnum

from kettlewell.book.entries import Entry, LabResult, Load, Reading, TopUp
from kettlewell.book.kitchen import Fryer, Kitchen, find

TIMES_USUAL = 10.0  # of a usual load: chosen, no source
USUAL_KG_PER_KG = 0.5  # food a service per kg of oil where no usual load is stated: from memory
# a sixth of the oil's mass at a time, every five minutes, for half a day, and a little more: from memory
MOST_KG_PER_KG = 30.0
LOWEST_PCT, HIGHEST_PCT = 1.0, 40.0  # polar compounds of any oil that is fried in: chosen, no source


class Slip(StrEnum):
    """How an entry looks like a slip of the pen."""

    FIGURE = "figure"
    AMOUNT = "amount"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unlikely:
    """What is hardly true of an entry, and in which field; ``most`` is what would be likely at most."""

    slip: Slip
    field: str
    most: float


def unlikely(entry: Entry, kitchen: Kitchen) -> Unlikely | None:
    """Return what is hardly true of an entry; None where it may well be."""
    match entry:
        case Reading() | LabResult() if not LOWEST_PCT <= entry.tpc_pct <= HIGHEST_PCT:
            return Unlikely(slip=Slip.FIGURE, field="tpc_pct", most=HIGHEST_PCT)
        case Load(mass_kg=float(mass_kg)):
            most_kg = TIMES_USUAL * usual_load_kg(find(kitchen.fryers, entry.fryer))
        case TopUp(mass_kg=float(mass_kg)):
            most_kg = find(kitchen.fryers, entry.fryer).oil_mass_kg
        case _:
            return None
    return Unlikely(slip=Slip.AMOUNT, field="mass_kg", most=most_kg) if mass_kg > most_kg else None


def most_usual_load_kg(oil_mass_kg: float) -> float:
    """Return the most food that a bath can fry in a service."""
    return MOST_KG_PER_KG * oil_mass_kg


def usual_load_kg(fryer: Fryer) -> float:
    """Return a fryer's usual load, as stated or as its size has it."""
    return fryer.usual_load_kg or USUAL_KG_PER_KG * fryer.oil_mass_kg
