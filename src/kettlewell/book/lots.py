"""Which vessels held oil of a lot: what changes name, followed through the one account of oil."""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from kettlewell.book.account import Account, Pour, Vessel, accounts_of, spelled
from kettlewell.book.entries import Change, Entry
from kettlewell.book.history import History
from kettlewell.book.kitchen import Kitchen

Brings = Callable[[Entry, Pour], bool]
Holding = Callable[[Collection[Vessel], "Poured"], Collection[Vessel]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A stretch in which a vessel held some oil; ``until`` None: it holds it still."""

    vessel: Vessel
    since: datetime
    until: datetime | None = None

    def covers(self, vessel: Vessel, at: datetime) -> bool:
        """Tell whether a vessel held it at a time."""
        return vessel == self.vessel and self.since <= at and (self.until is None or at < self.until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Poured:
    """An entry with what it poured, and the account after it."""

    entry: Entry
    pours: tuple[Pour, ...]
    after: Account

    @property
    def fresh_oils(self) -> set[str]:
        """The sorts of fresh oil that came in."""
        return {pour.oil for pour in self.pours if pour.fresh}


def lot_of(entry: Entry) -> str:
    """Return the lot that an entry names; "" where it names none."""
    return spelled(entry.delivery or "") if isinstance(entry, Change) else ""


def held(lot: str, entries: Sequence[Entry], settings: Kitchen | History) -> list[Held]:
    """Return where oil of a lot was by the changes that name it, in the order in which it came there.

    ``entries`` are in order. Raises ValueError for an entry that names what no settings ever had.
    """
    return stretches(poured(entries, settings), lambda _, each: each.after.of_lots({spelled(lot)}))


def perhaps_held(lot: str, entries: Sequence[Entry], settings: Kitchen | History) -> list[Held]:
    """Return where fresh oil was poured that may have been of a lot, since nobody named its lot.

    That is oil of the same sort, from the first change that names the lot until one after the last
    names another. Where the lot is known to have been is left out. Raises as ``held`` does.
    """
    walked = list(poured(entries, settings))
    naming = [each for each in walked if lot_of(each.entry) == spelled(lot)]
    if not naming:
        return []
    oils = {oil for each in naming for oil in each.fresh_oils}
    first, last = naming[0].entry.at, naming[-1].entry.at
    other = (each for each in walked if lot_of(each.entry) and each.fresh_oils & oils)
    until = next((each.entry.at for each in other if each.entry.at > last), None)

    def brings(entry: Entry, pour: Pour) -> bool:
        meanwhile = first <= entry.at and (until is None or entry.at < until)
        return meanwhile and not lot_of(entry) and pour.oil in oils

    known = held(lot, entries, settings)
    found = stretches(walked, lambda before, each: held_after(before, each, brings))
    return [one for one in found if not any(sure.covers(one.vessel, one.since) for sure in known)]


def poured(entries: Sequence[Entry], settings: Kitchen | History) -> Iterator[Poured]:
    """Yield what entries poured, and where the oil stood then."""
    for entry, kitchen, before in accounts_of(entries, settings):
        after, pours = before.after(entry, kitchen)
        yield Poured(entry=entry, pours=pours, after=after)


def stretches(walked: Iterable[Poured], holding_after: Holding) -> list[Held]:
    """Return in which vessels some oil was, and when; told is which hold it after each entry."""
    found, held_since = list[Held](), dict[Vessel, datetime]()
    for each in walked:
        holding = set(holding_after(held_since.keys(), each))
        for vessel in held_since.keys() - holding:
            found.append(Held(vessel=vessel, since=held_since.pop(vessel), until=each.entry.at))
        for vessel in holding - held_since.keys():
            held_since[vessel] = each.entry.at
    found += [Held(vessel=vessel, since=since) for vessel, since in held_since.items()]
    return sorted(found, key=lambda one: (one.since, one.vessel))


def held_after(before: Iterable[Vessel], each: Poured, brings: Brings) -> set[Vessel]:
    """Return which vessels hold some oil after an entry."""
    before = frozenset(before)
    holding = set(before)
    for pour in each.pours:
        if pour.into is None:
            continue
        came = pour.source in before if pour.source else brings(each.entry, pour)
        if came:
            holding.add(pour.into)
        elif pour.share == 1:
            holding.discard(pour.into)
    contents = each.after.contents
    return {vessel for vessel in holding if vessel in contents and not contents[vessel].empty}
