"""What stays behind in a bath when its oil is changed: a fold over the book.

Whatever was fried, moved in or filtered in a bath leaves its allergens there until the bath is
cleaned (boiled out) and filled again. A shared filter carries them from bath to bath, and nobody
writes down when it is cleaned.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from kettlewell.book.account import Vessel, in_fryer, kept_of
from kettlewell.book.entries import Care, Change, Entry, Load, Move, OutOfOrder, Return, Store, TopUp
from kettlewell.book.kitchen import Fryer, Kitchen


@dataclass(frozen=True, slots=True, kw_only=True)
class Residue:
    """Keys of the foods and oils that left something in a vessel, beside those it is set to.

    ``cleaned`` says that it was boiled out and not filled since, ``off_since`` when it was taken out of use.
    """

    foods: frozenset[str] = frozenset()
    oils: frozenset[str] = frozenset()
    cleaned: bool = False
    off_since: datetime | None = None

    def with_more(self, other: "Residue") -> "Residue":
        """Return the residue once more came into the vessel."""
        if other.foods <= self.foods and other.oils <= self.oils and not self.cleaned:
            return self
        return replace(self, foods=self.foods | other.foods, oils=self.oils | other.oils, cleaned=False)

    def filled_with(self, other: "Residue") -> "Residue":
        """Return the residue once the vessel was filled: cleaned before, it bears what came in alone."""
        bare = replace(self, foods=frozenset(), oils=frozenset(), cleaned=False) if self.cleaned else self
        return bare.with_more(other)


NOTHING = Residue()


@dataclass(frozen=True, slots=True, kw_only=True)
class Residues:
    """The residues in each vessel, and in the shared filter; a vessel that is not named bears none."""

    vessels: Mapping[Vessel, Residue] = field(default_factory=dict)
    shared_filter: Residue = NOTHING

    def at(self, fryer: str) -> Residue:
        """Return what was left in a fryer."""
        return self.vessels.get(in_fryer(fryer), NOTHING)

    def bearing(self, vessel: Vessel, residue: Residue) -> "Residues":
        """Return the residues with those of one vessel."""
        if self.vessels.get(vessel, NOTHING) == residue:
            return self
        return replace(self, vessels={**self.vessels, vessel: residue})

    def all_in(self, fryer: Fryer) -> Residue:
        """Return all that is in a bath: what was left there, and what it is set to fry, in what oil."""
        return self.at(fryer.key).with_more(own(fryer))


def own(fryer: Fryer) -> Residue:
    """Return what a fryer bears by what it is set to."""
    return Residue(foods=frozenset(fryer.fries), oils=frozenset({fryer.oil}))


def after(residues: Residues, entries: Iterable[Entry], kitchen: Kitchen) -> Residues:
    """Return the residues after entries, which are in order, under the settings of their days."""
    fryers = {fryer.key: fryer for fryer in kitchen.fryers}
    for entry in entries:
        step = STEPS.get(type(entry))
        if step is not None:
            residues = step(residues, entry, fryers)
    return residues


def under_other_settings(residues: Residues, old: Kitchen, new: Kitchen) -> Residues:
    """Return the residues once a kitchen is set otherwise: what a fryer was set to before stays in it."""
    now = {fryer.key: own(fryer) for fryer in new.fryers}
    for fryer in old.fryers:
        if own(fryer) != now.get(fryer.key):
            more = residues.at(fryer.key).with_more(own(fryer))
            residues = residues.bearing(in_fryer(fryer.key), more)
    return residues


Fryers = Mapping[str, Fryer]


def load(residues: Residues, entry: Load, _: Fryers) -> Residues:
    """Return the residues once a food was fried."""
    bears = residues.at(entry.fryer)
    if entry.product in bears.foods and not bears.cleaned:  # as nearly always
        return residues
    fried = Residue(foods=frozenset({entry.product}))
    return residues.bearing(in_fryer(entry.fryer), bears.with_more(fried))


def top_up(residues: Residues, entry: TopUp, fryers: Fryers) -> Residues:
    """Return the residues once fresh oil was added."""
    bears, oil = residues.at(entry.fryer), fryers[entry.fryer].oil
    if oil in bears.oils and not bears.cleaned:
        return residues
    return residues.bearing(in_fryer(entry.fryer), bears.with_more(Residue(oils=frozenset({oil}))))


def change(residues: Residues, entry: Change, fryers: Fryers) -> Residues:
    """Return the residues once a bath was emptied and filled fresh."""
    fresh = Residue(oils=frozenset({entry.oil or fryers[entry.fryer].oil}))
    return residues.bearing(in_fryer(entry.fryer), residues.at(entry.fryer).filled_with(fresh))


def store(residues: Residues, entry: Store, fryers: Fryers) -> Residues:
    """Return the residues once oil was taken out and kept: it takes them along, and leaves them too."""
    return residues.bearing(kept_of(entry.fryer), residues.all_in(fryers[entry.fryer]))


def bring_back(residues: Residues, entry: Return, _: Fryers) -> Residues:
    """Return the residues once kept oil is back in its fryer."""
    kept = residues.vessels.get(kept_of(entry.fryer), NOTHING)
    return residues.bearing(in_fryer(entry.fryer), residues.at(entry.fryer).filled_with(kept))


def move(residues: Residues, entry: Move, fryers: Fryers) -> Residues:
    """Return the residues once oil was moved into another bath."""
    moved = residues.all_in(fryers[entry.fryer])
    return residues.bearing(in_fryer(entry.into), residues.at(entry.into).filled_with(moved))


def care(residues: Residues, entry: Care, fryers: Fryers) -> Residues:
    """Return the residues once a bath was boiled out, or its oil passed through the shared filter."""
    bath, bears = in_fryer(entry.fryer), residues.at(entry.fryer)
    match entry.kind:
        case "boil-out":
            return residues.bearing(bath, replace(bears, cleaned=True))
        case "shared-filter":
            carried = residues.shared_filter.with_more(residues.all_in(fryers[entry.fryer]))
            return replace(residues.bearing(bath, bears.with_more(carried)), shared_filter=carried)
    return residues


def order(residues: Residues, entry: OutOfOrder, _: Fryers) -> Residues:
    """Return the residues once a fryer was taken out of use, or put back."""
    bears = residues.at(entry.fryer)
    off_since = None if entry.back else bears.off_since or entry.at
    return residues.bearing(in_fryer(entry.fryer), replace(bears, off_since=off_since))


STEPS: Mapping[type[Entry], Callable[[Residues, Any, Fryers], Residues]] = {
    Load: load,
    TopUp: top_up,
    Change: change,
    Store: store,
    Return: bring_back,
    Move: move,
    Care: care,
    OutOfOrder: order,
}
