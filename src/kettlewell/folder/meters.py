"""What a row of the log becomes that is of a meter, not of a fryer."""

import re
from collections.abc import Callable
from dataclasses import dataclass

from kettlewell.book import MOST_CHECK_READINGS, Entry, Meter, MeterCheck, MeterOut, ReferenceLot
from kettlewell.book.words import N_, message_of
from kettlewell.core.metering.checks import check_possible
from kettlewell.folder.acts import Known, Row, Written, needed, oil_temp_c, percent
from kettlewell.folder.words import NotUnderstoodError, Words

_BETWEEN_READINGS = re.compile(r"[\s/;%]+")


@dataclass(frozen=True, slots=True)
class OfMeter:
    """A builder of entries that names no fryer."""

    build: Callable[[Row, Written, Known], Entry]


def _check(row: Row, written: Written, names: Known, *, adjusted: bool = False) -> Entry:
    check = MeterCheck(
        **written,
        meter=_meter(row, names),
        lot=_only(row.lot, "lot", names.lots, names.present.reference_lots),
        readings_pct=_readings_pct(row),
        oil_temp_c=oil_temp_c(row),
        adjusted=adjusted,
    )
    try:
        check_possible(check, names.kitchen)
    except ValueError as error:
        raise NotUnderstoodError("when", message_of(error)) from None
    return check


def _readings_pct(row: Row) -> tuple[float, ...]:
    typed = [number for number in _BETWEEN_READINGS.split(row.amount) if number]
    needed("".join(typed), "amount", N_("is empty; write what the meter said in the reference oil, in %"))
    if len(typed) > MOST_CHECK_READINGS:
        many = N_("holds {found} readings; a check has at most {most}")
        raise NotUnderstoodError("amount", many, found=len(typed), most=MOST_CHECK_READINGS)
    return tuple(percent(number, row.unit) for number in typed)


def _meter(row: Row, names: Known) -> str:
    return _only(row.meter, "meter", names.meters, names.present.meters)


def _only(
    cell: str,
    field: str,
    words: Words[Meter] | Words[ReferenceLot],
    things: tuple[Meter, ...] | tuple[ReferenceLot, ...],
) -> str:
    """Return the key of what a cell names; where it is empty, of the one there is."""
    if cell or len(things) != 1:
        needed(cell, field, N_("is empty; name it"))
        return words.find(cell, field).key
    return things[0].key


METER_BUILDERS = {
    "meter-check": OfMeter(_check),
    "adjusted": OfMeter(lambda row, written, names: _check(row, written, names, adjusted=True)),
    "meter-out": OfMeter(lambda row, written, names: MeterOut(**written, meter=_meter(row, names))),
    "meter-back": OfMeter(
        lambda row, written, names: MeterOut(**written, meter=_meter(row, names), back=True)
    ),
}
