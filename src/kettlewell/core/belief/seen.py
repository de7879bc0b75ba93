"""What was read and noticed of the oil in each vessel, as arrays over kitchens and vessels."""

from dataclasses import dataclass, fields, replace
from enum import IntEnum
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.arrays import Array, Index, Mask, some

KEPT_READINGS = 12  # of a fill, the newest: more than are taken in a week of doubt


class Doubt(IntEnum):
    """Why a reading cannot be relied on; the last two stand below what the book expects."""

    NONE = 0
    UNSOUND = 1
    OUT_OF_RANGE = 2
    SAME_FIGURE = 3
    WET = 4
    UNLOGGED_CHANGE = 5
    CONTRADICTS = 6


SECONDS_PER_H = 3600.0
NO_DOUBT, WET = int(Doubt.NONE), int(Doubt.WET)  # arrays compare with a plain number several times as fast


class Of(IntEnum):
    """What is kept of a reading, in the last axis of ``Seen.readings``."""

    AT_S = 0
    PCT = 1
    TEMP_C = 2
    METER = 3
    INNOVATION = 4
    DOUBT = 5
    CHANGED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What the book says of the oil in V vessels of K kitchens, beside how it ages; arrays (K, V).

    Times are POSIX seconds. Since when the fill is there (nan: before the book began); its
    newest ``readings`` (K, V, N, 7; the newest first, nan where there are none; columns as in
    ``Of``) with where each is written (``refs``), how many there were (``count``), when the
    occasion of the last began, and when the last was that can be relied on or stands too high;
    its last laboratory result, where it is written, and how far it lies above what was expected if it
    is doubted (else nan); whether it was found spoiled, and when; whether the vessel is empty.
    """

    filled_s: Array
    readings: Array
    refs: NDArray[np.object_]
    count: Index
    occasion_s: Array
    sound_s: Array
    laboratory_s: Array
    laboratory_pct: Array
    laboratory_ref: NDArray[np.object_]
    laboratory_surprise_pct: Array
    spoiled_s: Array
    empty: Mask

    def last(self, column: Of) -> Array:
        """Return one column (K, V) of the newest readings."""
        return np.asarray(self.readings[..., 0, column])

    def of_vessels(self, vessels: Index) -> "Seen":
        """Return what is seen in vessels (N,) of one kitchen, each a kitchen of its own (N, 1)."""
        return Seen(**{field.name: getattr(self, field.name)[0, vessels][:, None] for field in fields(Seen)})

    def of_vessel(self, vessel: int) -> "Seen":
        """Return what is seen in one vessel alone (K, 1)."""
        return Seen(**{field.name: getattr(self, field.name)[:, [vessel]] for field in fields(Seen)})

    def taken_from(self, where: Mask, other: "Seen") -> "Seen":
        """Return what is ``other`` in the vessels ``where`` (K, V), and as it is elsewhere."""
        within = {2: where, 3: where[..., None], 4: where[..., None, None]}

        def either(name: str) -> Any:  # noqa: ANN401 - whichever array it is
            here, there = getattr(self, name), getattr(other, name)
            return np.where(within[here.ndim], there, here)

        return Seen(**{name: either(name) for name in Seen.__dataclass_fields__})


@lru_cache(maxsize=64)
def nothing_seen(shape: tuple[int, int], kept: int = KEPT_READINGS) -> Seen:
    """Return what is seen of vessels (K, V) before the book begins, with so many readings ``kept``."""
    never = np.full(shape, np.nan)
    return Seen(
        filled_s=never,
        readings=np.full((*shape, kept, len(Of)), np.nan),
        refs=np.full((*shape, kept), "", dtype=object),
        count=np.zeros(shape, np.intp),
        occasion_s=never,
        sound_s=never,
        laboratory_s=never,
        laboratory_pct=never,
        laboratory_ref=np.full(shape, "", dtype=object),
        laboratory_surprise_pct=never,
        spoiled_s=never,
        empty=np.zeros(shape, bool),
    )


def beside_laboratory(seen: Seen, at_s: Array | float, known: Coefficients) -> Mask:
    """Return where (K, V) the oil as it is at a time, POSIX seconds, is about what a laboratory measured."""
    within_s = SECONDS_PER_H * known.beside_laboratory.value
    return np.asarray(at_s - seen.laboratory_s <= within_s)


def filled_anew(seen: Seen, where: Mask, at_s: Array | float) -> Seen:
    """Return what is seen once the vessels ``where`` (K, V) were filled with other oil at a time."""
    new = nothing_seen((where.shape[0], where.shape[1]), kept=seen.readings.shape[-2])
    return replace(seen.taken_from(where, new), filled_s=np.where(where, at_s, seen.filled_s))


def with_readings(seen: Seen, read: Mask, rows: Array, *, refs: NDArray[np.object_], lasts_s: float) -> Seen:
    """Return what is seen after readings (K, V, 7) where ``read`` (K, V), an occasion ``lasts_s``.

    One that revealed a change nobody wrote down begins a new fill, lately: at the earliest after
    the reading before it.
    """
    changed = read & (rows[..., Of.CHANGED] == 1)
    if some(changed):
        seen = replace(filled_anew(seen, changed, seen.last(Of.AT_S)), spoiled_s=seen.spoiled_s)
    pushed = np.concatenate([rows[..., None, :], seen.readings[..., :-1, :]], axis=-2)
    pushed_refs = np.concatenate([refs[..., None], seen.refs[..., :-1]], axis=-1)
    lasts = rows[..., Of.AT_S] < seen.occasion_s + lasts_s
    relied_on = read & ((rows[..., Of.DOUBT] == NO_DOUBT) | (rows[..., Of.DOUBT] == WET))
    return Seen(
        filled_s=seen.filled_s,
        readings=np.where(read[..., None, None], pushed, seen.readings),
        refs=np.where(read[..., None], pushed_refs, seen.refs),
        count=seen.count + read,
        occasion_s=np.where(read & ~lasts, rows[..., Of.AT_S], seen.occasion_s),
        sound_s=np.where(relied_on, rows[..., Of.AT_S], seen.sound_s),
        laboratory_s=seen.laboratory_s,
        laboratory_pct=seen.laboratory_pct,
        laboratory_ref=seen.laboratory_ref,
        laboratory_surprise_pct=seen.laboratory_surprise_pct,
        spoiled_s=seen.spoiled_s,
        empty=seen.empty,
    )
