"""The one account of oil: which vessel holds how much of which oil, of which fill, since when.

A fold over the entries: ``account.after(entry, kitchen)`` says what an entry moves and what
stands then. The belief, pairs of measurements, past fills, screens and the mass balance read it.
"""

from collections.abc import Callable, Collection, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from functools import cache
from typing import Any, NamedTuple

from kettlewell.book.entries import Change, Entry, LabResult, Move, Reading, Return, Store, TopUp
from kettlewell.book.history import History, history_of
from kettlewell.book.kitchen import Fryer, Kitchen, find
from kettlewell.book.naming import completed


class Where(StrEnum):
    """Where oil can be: in a fryer, or taken out of it and kept."""

    FRYER = "fryer"
    KEPT = "kept"

    __hash__ = str.__hash__  # an enumeration's own is slow, and vessels are looked up for every entry


class Vessel(NamedTuple):
    """Something that holds oil; ``key`` is the fryer's, of kept oil the fryer it came from."""

    place: Where
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What a vessel holds; where it is ``empty``, ``oil`` is what it held last.

    ``fill`` names the entry that began the fill and ``since`` says when; "" and None are from
    before the book began. ``measured`` is what was read of this fill, in the order of the book, ``lots``
    are of which deliveries it holds oil, as ``spelled``, where a change named one.
    ``kg`` follows what was written, and decides nothing: food carries oil away unwritten.
    """

    oil: str
    kg: float
    since: datetime | None = None
    fill: str = ""
    measured: tuple[Reading | LabResult, ...] = ()
    lots: frozenset[str] = frozenset()
    empty: bool = False

    def holding(self, kg: float) -> "Content":
        """Return so many kg of the same; written out, since it is made for every top-up."""
        return Content(
            oil=self.oil,
            kg=kg,
            since=self.since,
            fill=self.fill,
            measured=self.measured,
            lots=self.lots,
            empty=self.empty,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Pour:
    """Oil that goes from one vessel into another.

    ``source`` None: ``fresh`` oil; ``into`` None: poured away, or gone with the food. ``share`` is
    the part of what is in ``into`` afterwards that came from ``source``. The fill of a source that
    ``takes_over`` goes on in ``into`` with all that was measured of it; with a share above half it
    brings its age alone.
    """

    source: Vessel | None
    into: Vessel | None
    oil: str
    kg: float
    share: float = 1.0
    fresh: bool = False
    takes_over: bool = False


def spelled(lot: str) -> str:
    """Return a lot as it is compared: people type blanks and capitals as they like."""
    return "".join(lot.split()).casefold()


@cache
def in_fryer(fryer: str) -> Vessel:
    """Return the vessel that a fryer is."""
    return Vessel(place=Where.FRYER, key=fryer)


@cache
def kept_of(fryer: str) -> Vessel:
    """Return the vessel in which the oil taken out of a fryer is kept."""
    return Vessel(place=Where.KEPT, key=fryer)


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """Which vessel holds what; a vessel that is not named holds nothing."""

    contents: Mapping[Vessel, Content]

    def bath(self, fryer: str) -> Content:
        """Return what a fryer holds; raises KeyError for one that no entry and no kitchen named."""
        return self.contents[in_fryer(fryer)]

    def kept(self, fryer: str) -> Content | None:
        """Return what was taken out of a fryer and is kept; None where there is nothing."""
        return self.contents.get(kept_of(fryer))

    def of_lots(self, lots: Collection[str]) -> frozenset[Vessel]:
        """Return the vessels that hold oil of some lots, which are told as ``spelled``."""
        wanted = frozenset(lots)
        return frozenset(vessel for vessel, content in self.contents.items() if content.lots & wanted)

    def holding(self, contents: Mapping[Vessel, Content]) -> "Account":
        """Return the account with these vessels holding this."""
        return Account(contents={**self.contents, **contents})

    def with_fryers(self, kitchen: Kitchen) -> "Account":
        """Return the account with the fryers that came since, each full of its own oil."""
        came = [fryer for fryer in kitchen.fryers if in_fryer(fryer.key) not in self.contents]
        return self.holding({in_fryer(fryer.key): full_of(fryer) for fryer in came}) if came else self

    def after(self, entry: Entry, kitchen: Kitchen) -> tuple["Account", tuple[Pour, ...]]:
        """Return the account after an entry, and what was poured; ``kitchen`` is that of its day.

        What cannot be (oil out of an empty bath, nothing kept that is put back) moves nothing.
        Raises KeyError for a fryer that the kitchen does not have.
        """
        step = STEPS.get(type(entry))
        if step is None:
            return self, ()
        came = [key for key in fryers_of(entry) if in_fryer(key) not in self.contents]
        return step(self.with_fryers(kitchen) if came else self, entry, kitchen)


Stepped = tuple[Account, tuple[Pour, ...]]


def fryers_of(entry: Any) -> tuple[str, ...]:  # noqa: ANN401 - whatever is poured or measured
    """Return the fryers that an act or a measurement concerns."""
    return (entry.fryer, entry.into) if isinstance(entry, Move) else (entry.fryer,)


def change(account: Account, entry: Change, kitchen: Kitchen) -> Stepped:
    """Return the account with a bath emptied and filled fresh."""
    fryer, bath = find(kitchen.fryers, entry.fryer), in_fryer(entry.fryer)
    lots = frozenset({spelled(entry.delivery)} if entry.delivery else ())
    fresh = Content(
        oil=entry.oil or fryer.oil, kg=fryer.oil_mass_kg, since=entry.at, fill=entry.ref, lots=lots
    )
    filled = Pour(source=None, into=bath, oil=fresh.oil, kg=fresh.kg, fresh=True, takes_over=True)
    return account.holding({bath: fresh}), (*gone(bath, account.contents[bath]), filled)


def top_up(account: Account, entry: TopUp, kitchen: Kitchen) -> Stepped:
    """Return the account once fresh oil holds the level: it begins no fill, in an empty bath neither."""
    fryer, bath = find(kitchen.fryers, entry.fryer), in_fryer(entry.fryer)
    was = account.contents[bath]
    if was.empty:
        return account, ()
    lacks_kg = max(fryer.oil_mass_kg - was.kg, 0.0)
    added_kg = lacks_kg if entry.mass_kg is None else entry.mass_kg
    over_kg = max(added_kg - lacks_kg, 0.0)  # there was room for it: so much had gone with the food
    kg = was.kg - over_kg + added_kg
    share = min(added_kg / kg, 1.0) if kg else 0.0
    added = Pour(source=None, into=bath, oil=fryer.oil, kg=added_kg, share=share, fresh=True)
    return account.holding({bath: was.holding(kg)}), (*gone(bath, was, kg=over_kg), added)


def store(account: Account, entry: Store, _: Kitchen) -> Stepped:
    """Return the account with a bath's oil kept apart; what was kept of it before is gone."""
    bath, kept = in_fryer(entry.fryer), kept_of(entry.fryer)
    was = account.contents[bath]
    if was.empty:
        return account, ()
    lost = gone(kept, account.contents[kept]) if kept in account.contents else ()
    stored = Pour(source=bath, into=kept, oil=was.oil, kg=was.kg, takes_over=True)
    return account.holding({kept: was, bath: emptied(was)}), (*lost, stored)


def bring_back(account: Account, entry: Return, kitchen: Kitchen) -> Stepped:
    """Return the account with kept oil back in its fryer."""
    bath, kept = in_fryer(entry.fryer), kept_of(entry.fryer)
    if kept not in account.contents:
        return account, ()
    was = account.contents[kept]
    back = was.holding(min(was.kg, find(kitchen.fryers, entry.fryer).oil_mass_kg))
    lost = (*gone(bath, account.contents[bath]), *gone(kept, was, kg=was.kg - back.kg))
    left = {vessel: content for vessel, content in account.contents.items() if vessel != kept}
    returned = Pour(source=kept, into=bath, oil=back.oil, kg=back.kg, takes_over=True)
    return Account(contents={**left, bath: back}), (*lost, returned)


def move(account: Account, entry: Move, kitchen: Kitchen) -> Stepped:
    """Return the account with oil moved into another bath, which it takes over or mixes with.

    Without an amount all that fits is moved, and a bath that is no larger is empty then.
    """
    source, into = in_fryer(entry.fryer), in_fryer(entry.into)
    moved, was = account.contents[source], account.contents[into]
    if moved.empty:
        return account, ()
    source_kg, into_kg = (find(kitchen.fryers, key).oil_mass_kg for key in (entry.fryer, entry.into))
    takes_over = was.empty or entry.mass_kg is None
    share = 1.0 if was.empty or entry.mass_kg is None else min(entry.mass_kg / into_kg, 1.0)
    empties = entry.mass_kg is None and source_kg <= into_kg
    kg = min(moved.kg if entry.mass_kg is None else entry.mass_kg, moved.kg, into_kg)
    over_kg = was.kg if share == 1 else max(was.kg + kg - into_kg, 0.0)
    spilt_kg = moved.kg - kg if empties else 0.0
    left = emptied(moved) if empties else moved.holding(moved.kg - kg)
    mixed = moved if takes_over else replace(moved, measured=()) if share > 0.5 else was
    poured = Pour(source=source, into=into, oil=moved.oil, kg=kg, share=share, takes_over=takes_over)
    lost = (*gone(into, was, kg=over_kg), *gone(source, moved, kg=spilt_kg))
    mixed = replace(mixed, lots=moved.lots if share == 1 else was.lots | moved.lots)
    after = account.holding({into: mixed.holding(was.kg - over_kg + kg), source: left})
    return after, (*lost, poured)


def measure(account: Account, entry: Reading | LabResult, _: Kitchen) -> Stepped:
    """Return the account with a measurement in its fill; it does not tell who filled an empty bath."""
    bath = in_fryer(entry.fryer)
    was = account.contents[bath]
    return account.holding({bath: replace(was, measured=(*was.measured, entry))}), ()


STEPS: dict[type[Entry], Callable[[Account, Any, Kitchen], Stepped]] = {
    Change: change,
    TopUp: top_up,
    Store: store,
    Return: bring_back,
    Move: move,
    Reading: measure,
    LabResult: measure,
}


def account_of(kitchen: Kitchen) -> Account:
    """Return where oil is before the book begins: each fryer full of its own."""
    return Account(contents={in_fryer(fryer.key): full_of(fryer) for fryer in kitchen.fryers})


def accounts_of(
    entries: Sequence[Entry], settings: Kitchen | History, *, without: Container[str] = ()
) -> Iterator[tuple[Entry, Kitchen, Account]]:
    """Yield entries, which are in order, each with the settings of its day and the account before it.

    One whose ``ref`` is in ``without``, once the next is asked for, moves nothing. Raises ValueError for an
    entry that names what no settings ever had.
    """
    known = history_of(settings)
    history = completed(known, known, entries)
    account = account_of(history.epochs[0].kitchen)
    for entry in entries:
        kitchen = history.at(entry.at)
        yield entry, kitchen, account.with_fryers(kitchen)
        if entry.ref not in without:
            account, _ = account.after(entry, kitchen)


def account_after(entries: Sequence[Entry], settings: Kitchen | History) -> Account:
    """Return the account after entries, which are in order, of all fryers that the kitchen has now.

    Raises ValueError for an entry that names what no settings ever had.
    """
    history = history_of(settings)
    account = account_of(history.epochs[0].kitchen)
    for entry, kitchen, before in accounts_of(entries, history):
        account, _ = before.after(entry, kitchen)
    return account.with_fryers(history.now)


def full_of(fryer: Fryer) -> Content:
    """Return a fryer full of its own oil since before the book began."""
    return Content(oil=fryer.oil, kg=fryer.oil_mass_kg)


def emptied(was: Content) -> Content:
    """Return a bath that holds nothing any more."""
    return Content(oil=was.oil, kg=0.0, empty=True)


def gone(vessel: Vessel, was: Content, *, kg: float | None = None) -> tuple[Pour, ...]:
    """Return what leaves a vessel for good: all it held, or so many kg."""
    left_kg = was.kg if kg is None else kg
    return (Pour(source=vessel, into=None, oil=was.oil, kg=left_kg),) if left_kg > 0 else ()
