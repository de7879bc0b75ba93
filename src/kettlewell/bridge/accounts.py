"""Where a kitchen's oil stands by its day book: the account of the vessels that concern a question."""

from collections.abc import Collection
from datetime import datetime

from kettlewell.book import History, in_order
from kettlewell.book.account import Account, account_after
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.setups import history_of, setup_of
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import joined_to, of_vessels

MOVES_OIL = frozenset({"change", "move", "store", "return"})


def account_now(kitchen: Kitchen, now: datetime, *, of: Collection[str] | None = None) -> Account:
    """Return where oil stands now in some fryers (all), by what was changed, moved, stored and put back.

    Top-ups are left out: how many kg there are is not asked.
    """
    history = history_of(kitchen)
    fryers = fryers_ever(history) if of is None else joined_to(kitchen, of)
    rows = of_vessels(kitchen, fryers, MOVES_OIL).filter(at__lte=now)
    return account_after(in_order(core_entries(rows)), history)


def fryers_ever(history: History) -> set[str]:
    """Return the fryers that a kitchen has, or had once."""
    return {fryer.key for kitchen in history.kitchens() for fryer in kitchen.fryers}


def oil_is_kept(kitchen: Kitchen, fryer: str, now: datetime) -> bool:
    """Tell whether oil of a fryer was taken out and kept, and not put back since."""
    return account_now(kitchen, now, of=(fryer,)).kept(fryer) is not None


def empty_baths(kitchen: Kitchen, now: datetime) -> set[str]:
    """Return the fryers that hold no oil."""
    account, fryers = account_now(kitchen, now), setup_of(kitchen).kitchen.fryers
    return {fryer.key for fryer in fryers if account.bath(fryer.key).empty}
