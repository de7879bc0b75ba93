"""Whose oil somebody smelled and looked at."""

from collections.abc import Iterable
from dataclasses import replace

from kettlewell.book import Change, Entry, Move, Return, SensoryNote
from kettlewell.core.belief.settle import place_of
from kettlewell.core.belief.state import State


def looked_at(state: State, entries: Iterable[Entry]) -> State:
    """Return the state once oil was smelled and looked at; of oil that came since, it says nothing."""
    before = place_of(state).looked_at
    seen = set(before)
    for entry in entries:
        match entry:
            case SensoryNote():
                seen.add(entry.fryer)
            case Change() | Return():
                seen.discard(entry.fryer)
            case Move():
                seen.discard(entry.into)
    return (
        state if seen == before else replace(state, place=replace(place_of(state), looked_at=frozenset(seen)))
    )
