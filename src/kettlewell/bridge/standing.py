"""What stands now: every bath of a kitchen assessed from its day book."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import lru_cache
from uuid import UUID

from kettlewell.book import Entry, History
from kettlewell.book import Kitchen as KitchenValue
from kettlewell.bridge import beliefs, replays
from kettlewell.bridge.entries import book_of
from kettlewell.bridge.setups import history_of, setup_of
from kettlewell.core import State, answer
from kettlewell.core.outlook.values import Assessment, Unanswered
from kettlewell.folder import Setup
from kettlewell.records.models import Kitchen
from kettlewell.records.selectors import last_that_counts
from kettlewell.telling import N_, Message

NO_FRYER = N_("There is no fryer yet: set one up.")
NO_SERVICE = N_("The kitchen has no services yet: say on which days and hours it fries.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The answer for a kitchen at ``at``, from the entries up to the last that counts.

    ``problem`` says why there is none. While ``recomputing``, it does not know yet of
    something that was told late.
    """

    setup: Setup
    at: datetime
    head_seq: int
    head_hash: str
    assessments: tuple[Assessment, ...] = ()
    unanswered: tuple[Unanswered, ...] = ()
    recomputing: bool = False
    problem: Message | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Basis:
    """What an assessment goes out from: a belief (None: none yet) and the entries since."""

    since: State | None
    entries: Sequence[Entry]
    recomputing: bool


def standing(kitchen: Kitchen, now: datetime, of: Collection[str] | None = None) -> Standing:
    """Return what stands now, of every fryer or of some; computed once a minute and after each entry."""
    head, at = last_that_counts(kitchen), minute_after(now)
    fryers = None if of is None else frozenset(of)
    recomputing = replays.pending(kitchen, now)
    found = _standing(kitchen.pk, head, at, fryers, recomputing)
    if found.recomputing == recomputing:
        return found
    # a replay began or ended with this very answer: it is of no use to the next one
    return computed(kitchen.pk, head, at, of=fryers, recomputing=replays.pending(kitchen, now))


def minute_after(now: datetime) -> datetime:
    """Return the full minute at or after a time."""
    whole = now.replace(second=0, microsecond=0)
    return whole if whole == now else whole + timedelta(minutes=1)


@lru_cache(maxsize=64)
def _standing(
    pk: UUID,
    head: tuple[int, str],
    at: datetime,
    of: frozenset[str] | None,
    recomputing: bool,  # noqa: FBT001 - a cache's key
) -> Standing:
    return computed(pk, head, at, of=of, recomputing=recomputing)


def computed(
    pk: UUID, head: tuple[int, str], at: datetime, *, of: frozenset[str] | None, recomputing: bool
) -> Standing:
    """Return what stands at a time, by the entries up to one that counts."""
    kitchen = Kitchen.objects.get(pk=pk)
    head_seq, head_hash = head
    setup = setup_of(kitchen, at_seq=head_seq)
    told = Standing(setup=setup, at=at, head_seq=head_seq, head_hash=head_hash, recomputing=recomputing)
    if problem := problem_of(setup.kitchen):
        return replace(told, problem=problem)
    history = history_of(kitchen, at_seq=head_seq)
    basis = basis_of(kitchen, history, at, upto_seq=head_seq, recomputing=recomputing)
    found = answer(history, basis.entries, now=at, since=basis.since, of=of)
    return replace(
        told,
        assessments=found.assessments,
        unanswered=found.unanswered,
        recomputing=basis.recomputing,
    )


def problem_of(value: KitchenValue) -> Message | None:
    """Return why a kitchen cannot be answered yet."""
    if not value.fryers:
        return Message(text=NO_FRYER)
    if not value.services:
        return Message(text=NO_SERVICE)
    return None


def basis_of(kitchen: Kitchen, history: History, at: datetime, *, upto_seq: int, recomputing: bool) -> Basis:
    """Return the newest belief that fits the settings, and what happened since.

    Where that asks for a long replay it goes on in the background, and the answer is meanwhile
    that of the last 90 days.
    """
    since = beliefs.fitting(beliefs.newest(kitchen, before=at), history)
    if since is None and not recomputing:
        recomputing = replays.ask(kitchen, replays.beginning(kitchen), at)
    if since is None and recomputing:
        lately = book_of(kitchen, since=at - replays.IN_THE_REQUEST, upto_seq=upto_seq)
        return Basis(since=None, entries=lately, recomputing=True)
    if since is None or (at - since.covers_to > beliefs.DAY and not recomputing):
        since = beliefs.climb(kitchen, history, now=at, upto_seq=upto_seq, since=since)
    entries = book_of(kitchen, since=since.covers_to if since else None, upto_seq=upto_seq)
    return Basis(since=since, entries=entries, recomputing=recomputing)
