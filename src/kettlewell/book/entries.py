"""What is written in the day book."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from itertools import groupby
from operator import itemgetter

MOST_CHECK_READINGS = 3
LEAST_FRESH_PCT, MOST_FRESH_PCT = 0.5, 20.0  # far beyond any fresh oil, so that 65 for 6.5 is refused: chosen
CARE_KINDS = ("skim", "filter", "shared-filter", "adsorbent", "boil-out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Something that happened in the kitchen; ``ref`` says where it is written down."""

    at: datetime
    person: str | None = None
    ref: str = ""

    def __post_init__(self) -> None:
        """Raise ValueError for a time that names no zone."""
        if self.at.tzinfo is None:
            raise ValueError(f"{self.ref or 'entry'}: the time {self.at} names no time zone")


@dataclass(frozen=True, slots=True, kw_only=True)
class AtFryer(Entry):
    """Something that happened at a fryer."""

    fryer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(AtFryer):
    """A measured TPC; ``sound`` is False when the conditions were not met."""

    tpc_pct: float
    oil_temp_c: float | None = None
    meter: str | None = None
    sound: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class LabResult(AtFryer):
    """A laboratory's TPC of a sample taken at ``at``; ``u_pct`` is one standard uncertainty.

    ``polymers_pct`` are the polymerised triglycerides of the sample, where they were asked for.
    """

    tpc_pct: float
    u_pct: float | None = None
    polymers_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SensoryNote(AtFryer):
    """Smell, smoke, foam, colour, taste."""

    spoiled: bool
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUp(AtFryer):
    """Fresh oil added; ``mass_kg`` None means to the mark, amount unknown."""

    mass_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load(AtFryer):
    """Food fried in the running or last service; ``mass_kg`` None means unknown."""

    product: str
    mass_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HotHours(AtFryer):
    """How long the bath was hot in the running or last service; 0 means it stood cold."""

    hot_h: float
    oil_temp_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(AtFryer):
    """The bath emptied and filled fresh, with ``oil`` or the fryer's own.

    Of the ``delivery`` named so, whose certificate may say its ``fresh_tpc_pct``. One that is not named is
    a delivery of its own where it has a certificate, else of any delivery.
    """

    oil: str | None = None
    delivery: str | None = None
    fresh_tpc_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move(AtFryer):
    """Oil pumped out of ``fryer`` into ``into``; ``mass_kg`` None means all that fits."""

    into: str
    mass_kg: float | None = None

    def __post_init__(self) -> None:
        """Raise ValueError for oil moved into the bath it comes from."""
        AtFryer.__post_init__(self)
        if self.into == self.fryer:
            raise ValueError(f"{self.ref or 'entry'}: oil cannot be moved from {self.fryer!r} into itself")


@dataclass(frozen=True, slots=True, kw_only=True)
class Store(AtFryer):
    """The fill taken out of the fryer and kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Return(AtFryer):
    """The stored fill put back into its fryer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Care(AtFryer):
    """Skimmed, filtered, treated or boiled out; ``kind`` is one of CARE_KINDS."""

    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfOrder(AtFryer):
    """The fryer is taken out of use, or put back into use."""

    back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Closed(Entry):
    """The kitchen, or one ``fryer``, does not fry until a time: from when it is written, or ``begins``."""

    until: datetime
    begins: datetime | None = None
    fryer: str | None = None

    def __post_init__(self) -> None:
        """Raise ValueError for an end that names no zone or lies before the beginning."""
        Entry.__post_init__(self)
        for at in (self.until, self.begins or self.at):
            if at.tzinfo is None:
                raise ValueError(f"{self.ref or 'entry'}: the time {at} names no time zone")
        if self.until <= max(self.at, self.begins or self.at):
            raise ValueError(f"{self.ref or 'entry'}: it must end after it begins")

    def covers(self, fryer: str, at: datetime) -> bool:
        """Tell whether a fryer is closed at a time."""
        return self.fryer in (None, fryer) and (self.begins or self.at) <= at < self.until


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall(Entry):
    """Oil of the ``delivery`` named so was recalled: nothing is fried in it, wherever it is."""

    delivery: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AtMeter(Entry):
    """Something that happened to a meter."""

    meter: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterCheck(AtMeter):
    """One to three readings of a meter in the reference oil ``lot``.

    As found, or as left after an adjustment (``adjusted``). ``oil_temp_c`` None means not noted.
    """

    lot: str
    readings_pct: tuple[float, ...]
    oil_temp_c: float | None = None
    adjusted: bool = False

    def __post_init__(self) -> None:
        """Raise ValueError for other than one to three readings of 0 to 100 %."""
        AtMeter.__post_init__(self)
        where = self.ref or "meter check"
        if not 1 <= len(self.readings_pct) <= MOST_CHECK_READINGS:
            raise ValueError(f"{where}: it has one to three readings, not {len(self.readings_pct)}")
        if not all(0 <= reading <= 100 for reading in self.readings_pct):
            raise ValueError(f"{where}: a reading lies between 0 and 100 %")

    @property
    def mean_pct(self) -> float:
        """The mean of its readings."""
        return math.fsum(self.readings_pct) / len(self.readings_pct)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterOut(AtMeter):
    """The meter is taken out of use, or put back into use."""

    back: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Adopted(AtMeter):
    """A comparison taken over: in ``oil`` the meter reads offset + gain · the other's value.

    ``against`` is another meter, or None for the laboratory. Standard uncertainties in
    percentage points and of the gain, and the correlation of the two.
    """

    oil: str
    offset_pct: float
    offset_u_pct: float
    gain: float
    gain_u: float
    correlation: float
    against: str | None = None

    def __post_init__(self) -> None:
        """Raise ValueError for a gain or an uncertainty that cannot be."""
        AtMeter.__post_init__(self)
        if not (self.gain > 0 and self.offset_u_pct > 0 and self.gain_u > 0 and abs(self.correlation) < 1):
            where = self.ref or "comparison"
            raise ValueError(f"{where}: gain and uncertainties must be above 0, the correlation within 1")


OfService = Load | HotHours | TopUp  # what speaks of the running or last service

IN_ONE_MINUTE = (
    Entry,
    Adopted,
    MeterCheck,
    MeterOut,
    Reading,
    LabResult,
    SensoryNote,
    Load,
    HotHours,
    Store,
    Move,
    Care,
    Change,
    Return,
    TopUp,
    OutOfOrder,
    Closed,
    Recall,
)
RANK = {kind: rank for rank, kind in enumerate(IN_ONE_MINUTE)}


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries by time, then by what they say, and each of them once.

    Care of one kind in one minute is once as well, however many wrote it down.
    """
    ordered: list[Entry] = []
    placed = sorted(((place(entry), entry) for entry in entries), key=itemgetter(0))
    for _, group in groupby(placed, key=itemgetter(0)):
        same = [entry for _, entry in group]
        ordered += of_a_minute(same) if len(same) > 1 else same
    return ordered


def of_a_minute(same: Iterable[Entry]) -> list[Entry]:
    """Return entries of one minute, kind and place in order: by what they say, not where it stands."""
    placed = sorted(set(same), key=lambda entry: (bare(entry), told(entry)))
    return list(
        {(bare(entry) if isinstance(entry, Care) else told(entry)): entry for entry in placed}.values()
    )


def bare(entry: Entry) -> str:
    """Return what an entry says, wherever and by whom it was written down."""
    return told(replace(entry, person=None, ref=""))


def place(entry: Entry) -> tuple[datetime, int, str]:
    """Return what entries are ordered by: within a minute oil is read before it is moved or changed."""
    return entry.at, RANK[type(entry)], where(entry)


def where(entry: Entry) -> str:
    """Return which fryer or meter an entry is of, a check as found before one as left."""
    match entry:
        case AtFryer():
            return entry.fryer
        case MeterCheck():
            return f"{entry.meter} {entry.adjusted:d}"
        case AtMeter():
            return entry.meter
        case Closed():
            return entry.fryer or ""
        case Recall():
            return entry.delivery
    return ""


def told(entry: Entry) -> str:
    """Return what an entry says as text, whatever zone its time is told in."""
    if isinstance(entry, Closed):
        entry = replace(entry, until=utc(entry.until), begins=utc(entry.begins) if entry.begins else None)
    return repr(replace(entry, at=utc(entry.at)))


def utc(at: datetime) -> datetime:
    """Return the same moment in UTC."""
    return at.astimezone(UTC)
