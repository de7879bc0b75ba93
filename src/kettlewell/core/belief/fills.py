"""What the book says of the fill in one fryer, read off a state."""

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from kettlewell.book import LabResult, Reading
from kettlewell.core.belief.seen import Doubt, Of
from kettlewell.core.belief.settle import place_of
from kettlewell.core.belief.state import State


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A reading and how it was taken: its innovation, and why it is doubted."""

    reading: Reading
    surprise_pct: float
    doubt: Doubt
    changed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """The fill in a fryer.

    Since when it is there (None: before the book began), its newest readings, the oldest first,
    when the last was that can be relied on or stands too high, when the occasion of the last
    began, its last laboratory result and, if that is doubted, how far it lies above what was expected,
    whether the senses found it spoiled, and whether the fryer is empty.
    """

    filled_at: datetime | None = None
    readings: tuple[Taken, ...] = ()
    sound_at: datetime | None = None
    occasion_at: datetime | None = None
    laboratory: LabResult | None = None
    laboratory_surprise_pct: float | None = None
    spoiled: bool = False
    empty: bool = False


def fill_of(state: State, i: int) -> Fill:
    """Return the fill in fryer ``i`` of one kitchen."""
    place, seen = place_of(state), state.seen
    fryer, meters = place.baths.fryers[i], place.baths.meters
    readings = []
    kept = np.flatnonzero(~np.isnan(seen.readings[0, i, :, Of.AT_S]))[::-1]
    for row, ref in zip(seen.readings[0, i, kept].tolist(), seen.refs[0, i, kept], strict=True):
        at_s, tpc_pct, temp_c, meter, surprise_pct, why, changed = row
        doubt = Doubt(int(why))
        reading = Reading(
            at=datetime.fromtimestamp(at_s, UTC),
            ref=ref,
            fryer=fryer,
            tpc_pct=tpc_pct,
            oil_temp_c=None if np.isnan(temp_c) else temp_c,
            meter=meters[int(meter)].key or None,
            sound=doubt is not Doubt.UNSOUND,
        )
        readings.append(
            Taken(
                reading=reading,
                surprise_pct=surprise_pct,
                doubt=doubt,
                changed=changed == 1,
            )
        )
    lab_at = time_of(seen.laboratory_s[0, i])
    return Fill(
        filled_at=time_of(seen.filled_s[0, i]),
        readings=tuple(readings),
        sound_at=time_of(seen.sound_s[0, i]),
        occasion_at=time_of(seen.occasion_s[0, i]),
        laboratory=None
        if lab_at is None
        else LabResult(
            at=lab_at,
            ref=str(seen.laboratory_ref[0, i]),
            fryer=fryer,
            tpc_pct=float(seen.laboratory_pct[0, i]),
        ),
        laboratory_surprise_pct=number_of(seen.laboratory_surprise_pct[0, i]),
        spoiled=not np.isnan(seen.spoiled_s[0, i]),
        empty=bool(seen.empty[0, i]),
    )


def time_of(posix_s: float) -> datetime | None:
    """Return a time told in POSIX seconds; None for nan."""
    return None if np.isnan(posix_s) else datetime.fromtimestamp(float(posix_s), UTC)


def number_of(value: float) -> float | None:
    """Return a number; None for nan."""
    return None if np.isnan(value) else float(value)
