"""What food takes from a bath, and who can take the work of one that must cool."""

from collections.abc import Iterable
from dataclasses import dataclass

from kettlewell.book import Fryer, Kitchen
from kettlewell.book.allergens import held, needs_the_chef, shut_out
from kettlewell.book.residues import Residues, own
from kettlewell.core.outlook.values import InBath, TakeOver, Unkept


@dataclass(frozen=True, slots=True, kw_only=True)
class Handing:
    """Who takes over, the best first, and the fryers ``not_offered`` for want of what is written down."""

    taken_over_by: tuple[TakeOver, ...] = ()
    not_offered: tuple[str, ...] = ()


def in_bath(kitchen: Kitchen, fryer: Fryer, residues: Residues) -> InBath:
    """Return what food takes from the bath of a fryer, as the book tells of it."""
    bears, set_to = residues.all_in(fryer), own(fryer)
    everything = held(kitchen, bears.foods, bears.oils)
    usual = held(kitchen, set_to.foods, set_to.oils)
    broken = {
        promise: shut_out(kitchen, promise, bears.foods, bears.oils)
        | ({""} if not fryer.fries else set())  # nobody knows what
        for promise in fryer.protected
    }
    return InBath(
        allergens=tuple(sorted(everything.allergens)),
        left=tuple(sorted(everything.allergens - usual.allergens)),
        unwritten=tuple(sorted(everything.unwritten)),
        foods_known=bool(fryer.fries),
        unkept=tuple(
            Unkept(promise=promise, by=tuple(sorted(by - {""}))) for promise, by in broken.items() if by
        ),
    )


def handed_over(kitchen: Kitchen, fryer: Fryer, others: Iterable[Fryer], residues: Residues) -> Handing:
    """Return which of ``others`` can take the work of a fryer.

    A fryer that takes it is set to foods that hold every allergen of that food, and is not made to break
    a promise on it. Those that add nothing to the food come first; nothing is offered where what is fried in
    either, or the allergens of it, is not written down, nor against a promise on the fryer.
    """
    foods, oil = held(kitchen, fryer.fries), held(kitchen, (), (fryer.oil,))
    if not fryer.fries or foods.unwritten:
        return Handing(not_offered=(fryer.key,))
    offered: list[TakeOver] = []
    unwritten: list[str] = []
    for other in others:
        bath, bears = in_bath(kitchen, other, residues), residues.all_in(other)
        if bath.unwritten or not bath.foods_known:
            unwritten.append(other.key)
            continue
        against = [
            *(shut_out(kitchen, promise, bears.foods, bears.oils) for promise in fryer.protected),
            *(shut_out(kitchen, promise, fryer.fries, ()) for promise in other.protected),
        ]
        usual = held(kitchen, other.fries, (other.oil,))
        if any(against) or not foods.allergens <= usual.allergens:
            continue
        adds = tuple(sorted(set(bath.allergens) - foods.allergens - oil.allergens))
        offered.append(TakeOver(fryer=other.key, adds=adds, asks_chef=any(map(needs_the_chef, adds))))
    offered.sort(key=lambda over: (over.asks_chef, len(over.adds)))
    return Handing(taken_over_by=tuple(offered), not_offered=tuple(unwritten))
