"""From a book to a state, and on from where it stopped: a fold of steps, interval after interval."""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import chain, groupby, islice
from operator import attrgetter

import numpy as np

from kettlewell.book import (
    AtFryer,
    Change,
    Closed,
    Entry,
    Epoch,
    History,
    Kitchen,
    OfService,
    OutOfOrder,
    Store,
    TopUp,
    history_of,
    in_order,
    place,
)
from kettlewell.book.account import Vessel, Where, account_of, in_fryer, kept_of
from kettlewell.book.residues import after
from kettlewell.core.ageing.coefficients import PACKAGED, Coefficients
from kettlewell.core.belief.baths import baths_of
from kettlewell.core.belief.filter import AFTER, BEFORE, as_rows
from kettlewell.core.belief.joint import Belief
from kettlewell.core.belief.looks import looked_at
from kettlewell.core.belief.orders import cold_in, ordered
from kettlewell.core.belief.services import infer_work, noted, services_of
from kettlewell.core.belief.settings import (
    carried,
    digest_of,
    digest_of_settings,
    named,
    read_by_the_first,
    walked,
)
from kettlewell.core.belief.settle import older, place_of, resettled, with_vessels
from kettlewell.core.belief.silence import gaps_end, silent_days, unsure, yet_to_write
from kettlewell.core.belief.state import Bookmark, MeterFacts, Running, State, initial_state
from kettlewell.core.belief.step import Step, step
from kettlewell.core.belief.tape import DRIFT_EVERY, Interval, Tape, Writer, drift_days, joined
from kettlewell.core.belief.thermostat import with_hot_readings
from kettlewell.core.belief.topping import between_services, thinned_by, to_the_mark, while_frying
from kettlewell.core.belief.week import Slot, cut_at, slots_over
from kettlewell.core.version import MODEL_VERSION

HORIZON_SERVICES = 60
KEPT = Where.KEPT
Settings = Kitchen | History
Origin = State | Coefficients | None
Fold = Callable[[State, Sequence[Tape]], State]


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """A state after a book up to ``now``, the ``settings`` of then, and services to ``come``.

    ``said`` is what was said of each of them beforehand, ``to_pour`` oil that is planned to be topped up
    between services of which one has begun.
    """

    state: State
    now: datetime
    settings: Kitchen
    come: tuple[Slot, ...]
    said: tuple[Sequence[OfService], ...]
    to_pour: tuple[TopUp, ...]

    @property
    def place(self) -> Bookmark:
        """Where the book was left."""
        return place_of(self.state)

    def brought_up(self) -> State:
        """Return the state as a reading taken now would meet it: meters drifted, work still owed done."""
        days = drift_days(self.place.drifted_to, self.now, every=DRIFT_EVERY)
        return step(self.state, Step(drift_days=np.array([days]) if days else None, work=self.state.owed))

    def up_to_date(self) -> Belief:
        """Return the belief as a reading taken now would meet it."""
        return self.brought_up().belief


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """What is to be walked: from a ``state``, the entries in order, under the settings of ``history``."""

    state: State
    entries: Sequence[Entry]
    history: History
    settings: str

    def slots(self, now: datetime) -> Iterator[Slot]:
        """Yield the services from where the state stands, or from the day on which the book begins.

        A book day runs from its first service to the first of the next day that has one.
        """
        at = place_of(self.state)
        if at.entries:
            return slots_over(self.history, at.covers_to)
        first = self.entries[0].at if self.entries else now
        before, ahead = split_at(slots_over(self.history, first - timedelta(days=8)), first)
        return chain([slot for slot in before if slot.day == before[-1].day], ahead)


def folded(state: State, tapes: Sequence[Tape]) -> State:
    """Return the state after the steps of some intervals."""
    for taken in joined(tapes):
        state = step(state, taken)
    return state


def walk_to(
    settings: Settings,
    entries: Iterable[Entry],
    *,
    now: datetime,
    planned: Sequence[Entry] = (),
    since: Origin = None,
    fold: Fold = folded,
) -> Walked:
    """Walk the entries up to ``now``; ``planned`` ones speak of the running and coming services.

    ``since`` is a state to go on from, or the coefficients to begin with. Raises ValueError for entries
    or settings that such a state should cover and does not, for an entry that names what no
    settings ever had, and for other model versions.
    """
    book = open_book(settings, entries, now=now, since=since)
    begun, ahead = split_at(book.slots(now), now)
    come = tuple(islice(ahead, HORIZON_SERVICES))
    of_book = [*book.entries, *planned]
    said = by_service([*begun, *come], sorted(of_book, key=place) if planned else of_book)
    book = told_late(book, begun, said, history_of(settings))
    state = walk(book, begun, said, until=now, day_runs=True, fold=fold)
    later = (entry for of_it in said[: len(begun)] for entry in of_it if entry.at > now)
    return Walked(
        state=state,
        now=now,
        settings=history_of(settings).at(now),
        come=come,
        said=tuple(said[len(begun) :]),
        to_pour=tuple(between_services(later, while_frying(begun, said))),
    )


def open_book(settings: Settings, entries: Iterable[Entry], *, now: datetime, since: Origin) -> Book:
    """Return what is to be walked up to ``now``; raises ValueError as ``walk_to`` says."""
    if now.tzinfo is None:
        raise ValueError(f"the time {now} names no time zone")
    known, entries = walked(history_of(settings)).upto(now), in_order(entries)
    if not isinstance(since, State) or not place_of(since).entries:
        return first_page(known, settings, entries, now=now, known=coefficients_of(since))
    at = place_of(since)
    if at.covers_to > now:
        raise ValueError(f"the checkpoint reaches to {at.covers_to}, after {now}: take an earlier one")
    new = not_covered(at, entries)
    before, after = parted(known, at.covers_to)
    if at.settings != digest_of_settings(before):
        raise ValueError(
            f"settings from before {at.covers_to} differ from those the checkpoint rests on: replay"
        )
    history = History((Epoch(since=None, kitchen=at.kitchen), *after))
    book = [entry for entry in new if entry.at <= now]
    history = named(history, history_of(settings), book)
    return Book(state=since, entries=book, history=history, settings=at.settings)


def fits(state: State, settings: Settings) -> bool:
    """Return whether a state may be gone on from: of this model, and under these settings up to it."""
    at = place_of(state)
    before, _ = parted(walked(history_of(settings)), at.covers_to)
    return at.model_version == MODEL_VERSION and at.settings == digest_of_settings(before)


def coefficients_of(since: Origin) -> Coefficients:
    """Return the coefficients to begin with."""
    if isinstance(since, State):
        return place_of(since).baths.known
    return since or PACKAGED


def parted(history: History, at: datetime) -> tuple[History, tuple[Epoch, ...]]:
    """Return the epochs that began before a time, and the later ones."""
    later = tuple(epoch for epoch in history.epochs if epoch.since is not None and epoch.since >= at)
    return History(history.epochs[: len(history.epochs) - len(later)]), later


def first_page(
    history: History, settings: Settings, entries: Sequence[Entry], *, now: datetime, known: Coefficients
) -> Book:
    """Return a book to be walked from its first entry on."""
    book = [entry for entry in entries if entry.at <= now]
    history = named(history, history_of(settings), book)
    begins = book[0].at if book else now
    kitchen = history.at(begins)
    later = tuple(epoch for epoch in history.epochs if epoch.since is not None and epoch.since > begins)
    history = History((Epoch(since=None, kitchen=kitchen), *later))
    baths = baths_of(kitchen, known)
    state = initial_state(baths)
    state = replace(
        state,
        belief=older(state.belief, unknown_fills(baths.fryers, book)),
        place=Bookmark(
            model_version=MODEL_VERSION,
            covers_to=begins,
            entries=0,
            digest=0,
            settings="",
            kitchen=kitchen,
            baths=baths,
            vessels=tuple(in_fryer(key) for key in baths.fryers),
            account=account_of(kitchen),
            meters=tuple(MeterFacts() for _ in baths.meters),
        ),
    )
    return Book(state=state, entries=book, history=history, settings="")


def unknown_fills(fryers: Sequence[str], book: Iterable[Entry]) -> np.ndarray:
    """Return which fryers (1, F) hold a fill whose beginning the book does not tell."""
    old = dict.fromkeys(fryers, True)
    seen: set[str] = set()
    for entry in book:
        if isinstance(entry, AtFryer) and entry.fryer not in seen:
            seen.add(entry.fryer)
            old[entry.fryer] = not isinstance(entry, Change)
    return np.array([[old[key] for key in fryers]])


def not_covered(at: Bookmark, entries: Sequence[Entry]) -> Sequence[Entry]:
    """Return the entries that are new to a state; raises ValueError as ``walk_to`` says."""
    if at.model_version != MODEL_VERSION:
        raise ValueError(f"the checkpoint is of model {at.model_version}, this is {MODEL_VERSION}: replay")
    old = [entry for entry in entries if entry.at < at.covers_to]
    if old and (len(old) != at.entries or digest_of(old) != at.digest):
        raise ValueError(f"entries before {at.covers_to} differ from those the checkpoint covers: replay")
    return entries[len(old) :]


def split_at(slots: Iterator[Slot], at: datetime) -> tuple[list[Slot], Iterator[Slot]]:
    """Return the services begun by a time, and those to come."""
    begun: list[Slot] = []
    for slot in slots:
        if slot.begins > at:
            return begun, chain([slot], slots)
        begun.append(slot)
    raise AssertionError("services never end")


def by_service(slots: Sequence[Slot], book: Iterable[Entry]) -> list[list[OfService]]:
    """Return for each service the loads, hot hours and top-ups that speak of it.

    An entry speaks of its fryer's last service of the book day, or if none has begun of the
    first to come on that day. Where the fryer has none on that day it worked outside its
    plan, in the last service that began.
    """
    said: list[list[OfService]] = [[] for _ in slots]
    own: dict[str, int] = {}
    n = 0
    for entry in book:
        if not isinstance(entry, OfService):
            continue
        while n < len(slots) and slots[n].begins <= entry.at:
            if n and slots[n].day != slots[n - 1].day:
                own = {}
            own.update(dict.fromkeys(slots[n].fryers, n))
            n += 1
        last = max(n - 1, 0)
        if entry.fryer not in own:
            today = range(n, len(slots))
            later = (m for m in today if slots[m].day == slots[last].day and entry.fryer in slots[m].fryers)
            said[next(later, last)].append(entry)
        else:
            said[own[entry.fryer]].append(entry)
    return said


def told_late(book: Book, begun: Sequence[Slot], said: Sequence[Sequence[OfService]], known: History) -> Book:
    """Return the book with what is said of its services there from their beginning on.

    A load may be written down of a product, or of a fryer, that came since the service began.
    """
    if len(book.history.epochs) == 1:
        return book
    of_services = (
        replace(entry, at=slot.begins) for slot, of_it in zip(begun, said, strict=False) for entry in of_it
    )
    return replace(book, history=named(book.history, known, of_services))


def walk(
    book: Book,
    begun: Sequence[Slot],
    said: Sequence[Sequence[OfService]],
    *,
    until: datetime,
    day_runs: bool,
    fold: Fold,
) -> State:
    """Return the state once the services begun, and the entries up to a time, were walked.

    Of a day that still runs, something may yet be written: until it ends it is believed to be.
    """
    state = cut_short(book.state, book.history)
    changes = [epoch for epoch in book.history.epochs if epoch.since is not None and epoch.since <= until]
    times = [epoch.since for epoch in changes if epoch.since is not None]
    if not begun and not times:
        return noted_down(state, book.entries)
    first = min([*(slot.begins for slot in begun[:1]), *times[:1]])
    orders = [entry for entry in book.entries if isinstance(entry, OutOfOrder | Closed)]
    frying = while_frying(begun, said)
    at = place_of(state)
    silent = silent_days(begun, book.entries, stood_cold=cold_in(at, orders), before=at.silent_days)
    believed = yet_to_write(begun, silent) if day_runs else silent
    gaps = gaps_end(believed, at.silent_days, at.baths.known.silent_days.value)
    n = i = 0
    for change, ends in zip([None, *changes], [*times, None], strict=True):
        begins = first if change is None or change.since is None else change.since
        if change is not None:
            before = place_of(state)
            state = resettled(state, before.kitchen, carried(change.kitchen, before))
            state = replace(state, place=read_by_the_first(place_of(state), change.kitchen))
        m = len(begun) if ends is None else bisect_left(begun, ends, lo=n, key=attrgetter("begins"))
        j = len(book.entries) if ends is None else bisect_left(book.entries, ends, lo=i, key=attrgetter("at"))
        pages = Pages(
            slots=begun[n:m],
            said=said[n:m],
            entries=book.entries[i:j],
            orders=orders,
            frying=frying,
            silent=believed[n:m],
            gaps=gaps[n:m],
        )
        state = walk_epoch(state, pages, begins=begins, until=ends or until, fold=fold)
        n, i = m, j
    return replace(state, place=replace(place_of(state), silent_days=silent[-1])) if silent else state


@dataclass(frozen=True, slots=True, kw_only=True)
class Pages:
    """What the book holds of one epoch: services that begin in it, what is said of each, and all entries.

    Nothing at all was written of so many ``silent`` days on end up to each service; with some ``gaps`` end.

    ``orders`` to stand cold are those of the whole book, since a service may go on when its epoch has ended,
    and so are the top-ups poured while ``frying``.
    """

    slots: Sequence[Slot]
    said: Sequence[Sequence[OfService]]
    entries: Sequence[Entry]
    orders: Sequence[OutOfOrder | Closed]
    frying: frozenset[TopUp]
    silent: Sequence[int]
    gaps: Sequence[bool]


def walk_epoch(state: State, pages: Pages, *, begins: datetime, until: datetime, fold: Fold) -> State:
    """Return the state after the part of a book that lies under the same settings."""
    state, services, inferred = with_work(state, pages)
    state = replace(state, place=with_hot_readings(place_of(state), pages.entries, services))
    poured = between_services(pages.entries, pages.frying)
    thinned = thinned_by(place_of(state).baths, poured, inferred)
    writer, tapes = Writer(place_of(state), state.owed, thinned), list[Tape]()
    for interval in intervals(pages, services, begins=begins, until=until):
        vessels = vessels_in(writer, interval.entries)
        if vessels != writer.vessels:
            state = with_vessels(fold(state, tapes).left_at(writer.place, writer.owed), vessels)
            writer, tapes = Writer(place_of(state), state.owed, thinned), []
        tapes.append(writer.lay_out(interval))
    return noted_down(fold(state, tapes).left_at(writer.place, writer.owed), pages.entries)


def with_work(state: State, pages: Pages) -> tuple[State, Sequence[tuple[Running, ...]], dict[TopUp, float]]:
    """Return the state with what its services taught of the loads, and those in which any bath works.

    Also by how much oil topped up "to the mark" thins its bath. What was topped up outside its service
    is not poured in it, but at its own time.
    """
    if not pages.slots:
        return state, (), {}
    baths = place_of(state).baths
    cold = cold_in(place_of(state), pages.orders)
    notes = [
        noted(baths, slot, of_it, stood_cold=cold)
        for slot, of_it in zip(pages.slots, pages.said, strict=True)
    ]
    services = services_of(baths, pages.slots, notes)
    pattern, work = infer_work(state.pattern, services)
    rows = as_rows(work)
    inferred = to_the_mark(baths, pages.slots, pages.said, np.moveaxis(rows[[BEFORE, AFTER], :, 0], 0, -1))
    rows[[BEFORE, AFTER]] *= ~services.record.topped
    rows = unsure(rows, pages.silent, baths.known.silent_day.value)
    works = np.asarray(rows.any(axis=(0, 2, 3)))
    running = [
        (Running(slot=slot, whole=rows[:, t, 0], hot_h=services.hot_h[t, 0]),) if works[t] else ()
        for t, slot in enumerate(pages.slots)
    ]
    return replace(state, pattern=pattern), running, inferred


def noted_down(state: State, entries: Sequence[Entry]) -> State:
    """Return the state with what no belief is about: what stays in baths, which stand cold, who looked."""
    at = place_of(state)
    residues = after(at.residues, entries, at.kitchen)
    if residues is not at.residues:
        state = replace(state, place=replace(at, residues=residues))
    return ordered(looked_at(state, entries), entries)


def intervals(
    pages: Pages, services: Sequence[tuple[Running, ...]], *, begins: datetime, until: datetime
) -> Iterator[Interval]:
    """Yield the intervals of an epoch: from one beginning of services, or its own, to the next."""
    begun = {
        start: list(own) for start, own in groupby(range(len(pages.slots)), lambda t: pages.slots[t].begins)
    }
    starts = sorted({begins, *begun})
    i = 0
    for start, end in zip(starts, [*starts[1:], None], strict=True):
        own = begun.get(start, [])
        j = len(pages.entries) if end is None else bisect_left(pages.entries, end, lo=i, key=attrgetter("at"))
        yield Interval(
            begins=start,
            until=end or until,
            entries=pages.entries[i:j],
            services=tuple(running for t in own for running in services[t]),
            slot=pages.slots[own[-1]] if own else None,
            gap=any(pages.gaps[t] for t in own),
        )
        i = j


def vessels_in(at: Writer, entries: Iterable[Entry]) -> tuple[Vessel, ...]:
    """Return the fryers and what is kept out of them, or will be."""
    kept = {vessel for vessel in at.account.contents if vessel.place is KEPT}
    kept |= {kept_of(entry.fryer) for entry in entries if isinstance(entry, Store)}
    if not kept and len(at.vessels) == len(at.baths.fryers):
        return at.vessels
    return (*(in_fryer(key) for key in at.baths.fryers), *sorted(kept, key=attrgetter("key")))


def cut_short(state: State, history: History) -> State:
    """Return the state with services that later settings ended before their time."""
    at = place_of(state)
    if not at.running or len(history.epochs) == 1:
        return state
    running = tuple(part for service in at.running for part in cut_parts(service, at.baths.fryers, history))
    return replace(state, place=replace(at, running=running))


def cut_parts(service: Running, fryers: Sequence[str], history: History) -> Iterator[Running]:
    """Yield a running service apart for those of its fryers in which it ends at one time."""
    cuts = [cut_at(history, service.slot, fryer) for fryer in fryers]
    for cut in dict.fromkeys(cuts):
        part = service.only(np.array([own == cut for own in cuts]))
        if part.hot_h.any():
            yield replace(part, slot=replace(service.slot, cut=cut))


def checkpoint(settings: Settings, entries: Iterable[Entry], *, at: datetime, since: Origin = None) -> State:
    """Return where to go on from at the beginning of the book day that runs at ``at``.

    Entries speak of services of their own book day, so what comes later leaves it as it is.
    """
    return walk_days(settings, entries, at=at, since=since, fold=folded)


def walk_days(
    settings: Settings, entries: Iterable[Entry], *, at: datetime, since: Origin, fold: Fold
) -> State:
    """Return the state at the beginning of the book day that runs at ``at``."""
    book = open_book(settings, entries, now=at, since=since)
    begun, _ = split_at(book.slots(at), at)
    if not begun and isinstance(since, State):
        return since
    covers_to = next(slot.begins for slot in begun if slot.day == begun[-1].day)
    new = [entry for entry in book.entries if entry.at < covers_to]
    done = [slot for slot in begun if slot.begins < covers_to]
    history = book.history.upto(covers_to - timedelta(microseconds=1))
    said = by_service(done, new)
    pages = told_late(replace(book, entries=new, history=history), done, said, history_of(settings))
    state = walk(pages, done, said, until=covers_to, day_runs=False, fold=fold)
    before, _ = parted(walked(history_of(settings)), covers_to)
    place_then = replace(
        place_of(state),
        covers_to=covers_to,
        entries=len(new) + place_of(book.state).entries,
        digest=(digest_of(new) + place_of(book.state).digest) % (1 << 128),
        settings=digest_of_settings(before),
    )
    return replace(state, place=place_then)
