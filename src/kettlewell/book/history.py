"""A kitchen's settings over time: what they were on any day, and what they are now."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from kettlewell.book.entries import Entry
from kettlewell.book.kitchen import Kitchen


@dataclass(frozen=True, slots=True, kw_only=True)
class Epoch:
    """The settings of a kitchen from a time on, up to the next epoch; ``since`` None is from ever."""

    since: datetime | None
    kitchen: Kitchen


@dataclass(frozen=True, slots=True)
class History:
    """A kitchen's settings, epoch after epoch; the first counts from ever.

    A setting counts from its time on and never backwards. Raises ValueError for epochs that are
    not in the order of time.
    """

    epochs: tuple[Epoch, ...]

    def __post_init__(self) -> None:
        """Refuse a history that tells of no time, or of one twice."""
        times = [epoch.since for epoch in self.epochs[1:] if epoch.since is not None]
        begins_ever = bool(self.epochs) and self.epochs[0].since is None
        if not begins_ever or len(times) < len(self.epochs) - 1 or times != sorted(set(times)):
            raise ValueError("the first epoch counts from ever, and each later one from a later time")

    @property
    def now(self) -> Kitchen:
        """The settings that count now."""
        return self.epochs[-1].kitchen

    def at(self, at: datetime) -> Kitchen:
        """Return the settings that count at a time."""
        return self.upto(at).now

    def upto(self, at: datetime) -> "History":
        """Return the history as it was known of at a time."""
        return History(tuple(epoch for epoch in self.epochs if epoch.since is None or epoch.since <= at))

    def then(self, kitchen: Kitchen, since: datetime) -> "History":
        """Return the history with other settings from a time on, whatever was to come after it."""
        before = tuple(epoch for epoch in self.epochs if epoch.since is None or epoch.since < since)
        return History((*before, Epoch(since=since, kitchen=kitchen)))

    def changes(self) -> Iterator[tuple[datetime, Kitchen, Kitchen]]:
        """Yield when settings changed, and what they were before and after it."""
        for old, new in zip(self.epochs, self.epochs[1:], strict=False):
            if new.since is not None:
                yield new.since, old.kitchen, new.kitchen

    def along(self, book: Iterable[Entry]) -> Iterator[tuple[Entry, Kitchen]]:
        """Yield entries, which are in order, each with the settings of its time.

        Beside the fryers of its time those have the ones that came later or were removed before.
        """
        kitchens = self.kitchens()
        whole = [with_fryers_of(kitchen, kitchens) for kitchen in kitchens]
        n = 0
        for entry in book:
            while n + 1 < len(whole) and (self.epochs[n + 1].since or entry.at) <= entry.at:
                n += 1
            yield entry, whole[n]

    def kitchens(self) -> Sequence[Kitchen]:
        """Return the settings of every epoch."""
        return [epoch.kitchen for epoch in self.epochs]


def with_fryers_of(kitchen: Kitchen, others: Iterable[Kitchen]) -> Kitchen:
    """Return a kitchen with the fryers it lacks of others, as they were last, and what those name."""
    own = {fryer.key for fryer in kitchen.fryers}
    more = [other for other in others if any(fryer.key not in own for fryer in other.fryers)]
    if not more:
        return kitchen
    tables = ("fryers", "oils", "products")
    known = {
        table: {thing.key: thing for settings in (*more, kitchen) for thing in getattr(settings, table)}
        for table in tables
    }
    return replace(
        kitchen,
        fryers=tuple(known["fryers"].values()),
        oils=tuple(known["oils"].values()),
        products=tuple(known["products"].values()),
    )


def history_of(settings: Kitchen | History) -> History:
    """Return settings as a history; a kitchen alone has always been so."""
    if isinstance(settings, History):
        return settings
    return History((Epoch(since=None, kitchen=settings),))


def history_from(changes: Iterable[tuple[datetime, Kitchen]]) -> History:
    """Return the history of settings that were made one after the other, the first from ever.

    Of several at one time the last counts; settings that change nothing make no epoch.
    """
    epochs: list[Epoch] = []
    latest: datetime | None = None
    for since, kitchen in changes:
        if epochs and since == latest:
            epochs.pop()
        if not epochs or epochs[-1].kitchen != kitchen:
            epochs.append(Epoch(since=since if epochs else None, kitchen=kitchen))
        latest = since
    return History(tuple(epochs))
