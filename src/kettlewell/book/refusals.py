"""What cannot have happened, by the account of oil."""

from dataclasses import dataclass
from enum import StrEnum

from kettlewell.book.account import Account, Content
from kettlewell.book.entries import Entry, Move, Return, Store, TopUp
from kettlewell.book.kitchen import Kitchen, find

ROUNDED_KG = 0.001  # masses are written down to the gram


class Impossible(StrEnum):
    """Why an entry cannot be true, by the account."""

    EMPTY = "empty"
    NOTHING_KEPT = "nothing kept"
    MORE_THAN_HELD = "more than held"
    MORE_THAN_BATH = "more than the bath"
    AMOUNT_NEEDED = "amount needed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """Why an entry cannot be true, which of its fields says so, and how much there is, in kg."""

    code: Impossible
    field: str | None = None
    kg: float | None = None


def refusal(account: Account, entry: Entry, kitchen: Kitchen) -> Refusal | None:
    """Return why an entry cannot be true where oil stands as in ``account``; None where it can.

    Oil is taken out of a bath that is empty (stored twice, too), or more than it holds; put back
    where none is kept; topped up with more than the bath holds; moved, nobody says how much,
    into a bath that holds oil.
    """
    here = account.with_fryers(kitchen)
    match entry:
        case TopUp(mass_kg=float() | int() as kg):
            most_kg = find(kitchen.fryers, entry.fryer).oil_mass_kg
            return (
                Refusal(code=Impossible.MORE_THAN_BATH, field="amount", kg=most_kg) if kg > most_kg else None
            )
        case Return():
            return None if here.kept(entry.fryer) else Refusal(code=Impossible.NOTHING_KEPT)
        case Store() | Move() if here.bath(entry.fryer).empty:
            return Refusal(code=Impossible.EMPTY)
        case Move():
            return of_move(entry, held=here.bath(entry.fryer), into=here.bath(entry.into))
    return None


def of_move(entry: Move, *, held: Content, into: Content) -> Refusal | None:
    """Return why oil cannot have been moved out of a bath that holds some."""
    if entry.mass_kg is None:
        return None if into.empty else Refusal(code=Impossible.AMOUNT_NEEDED, field="mass_kg")
    if entry.mass_kg > held.kg + ROUNDED_KG:
        return Refusal(code=Impossible.MORE_THAN_HELD, field="mass_kg", kg=held.kg)
    return None
