"""The day book laid out as steps that a filter can take.

A stretch runs from the beginning of one service to the beginning of the next, which may
come while the first still runs in other baths. Its
entries are put into as few steps as order allows. In one step oil may first be poured
and baths refilled; then every bath works; then it is measured. What a bath still has to
work after it was measured is carried into the next step.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime

from kettlewell.book import (
    AtFryer,
    AtMeter,
    Change,
    Entry,
    LabResult,
    Move,
    Reading,
    Return,
    SensoryNote,
    Store,
)
from kettlewell.core.belief.filter import Work
from kettlewell.core.belief.week import Slot

Owed = dict[str, list[tuple[Work, float]]]

VESSEL = (Change, Move, Return, Store)
MEASURED = (Reading, LabResult)


@dataclass(slots=True)
class Step:
    """What happens at once: acts on vessels, work by fryer, measurements, then what was done to meters.

    Sensory notes stand among the acts, since a change ends what they say.
    """

    acts: list[AtFryer] = field(default_factory=list)
    worked: Owed = field(default_factory=dict)
    measured: dict[str, Reading | LabResult] = field(default_factory=dict)
    meters: list[AtMeter] = field(default_factory=list)


@dataclass(slots=True)
class Running:
    """A service that a bath is working in: its ``work``, and the share of it ``done``."""

    slot: Slot
    work: Work
    hot_h: float
    done: float = 0.0


class Stretch:
    """One stretch being laid out as ``steps``; ``carried`` is work owed after them.

    ``running`` holds each bath's services in progress, those of earlier stretches too.
    """

    def __init__(self, running: dict[str, list[Running]], carried: Owed) -> None:
        """Begin with the work that earlier stretches left over."""
        self.running = running
        self.steps = [Step(worked={fryer: list(owed) for fryer, owed in carried.items()})]
        self.carried: Owed = {}

    def lay_out(self, entries: Iterable[Entry], until: datetime) -> None:
        """Take the stretch's entries in order, and work up to its end ``until``."""
        for entry in entries:
            if isinstance(entry, MEASURED):
                self.measure(entry)
            elif isinstance(entry, VESSEL):
                self.act(entry)
            elif isinstance(entry, SensoryNote):
                self.steps[-1].acts.append(entry)
            elif isinstance(entry, AtMeter):
                self.steps[-1].meters.append(entry)
        for fryer in self.running:
            measured = fryer in self.steps[-1].measured
            self.owe(fryer, until, self.carried if measured else self.steps[-1].worked)

    def measure(self, entry: Reading | LabResult) -> None:
        """Lay out a measurement, in a new step if the bath was measured in this one, or a meter touched."""
        if self.steps[-1].meters or entry.fryer in self.steps[-1].measured:
            self.steps.append(Step())
        self.owe(entry.fryer, entry.at, self.steps[-1].worked)
        self.steps[-1].measured[entry.fryer] = entry

    def act(self, entry: AtFryer) -> None:
        """Lay out an act, in a new step if one of its baths worked or was measured in this one."""
        baths = [entry.fryer, entry.into] if isinstance(entry, Move) else [entry.fryer]
        if any(fryer in self.steps[-1].measured for fryer in baths):
            self.steps.append(Step())
        for fryer in baths:
            self.owe(fryer, entry.at, self.steps[-1].worked)
        if any(fryer in self.steps[-1].worked for fryer in baths):
            self.steps.append(Step())
        self.steps[-1].acts.append(entry)

    def owe(self, fryer: str, until: datetime, owed: Owed) -> None:
        """Add what a bath works up to ``until`` to what is ``owed``."""
        for one in self.running.get(fryer, ()):
            done = one.slot.share(until)
            if done > one.done:
                owed.setdefault(fryer, []).append((one.work, done - one.done))
                one.done = done
