"""Rows of log.csv that are read by the fields of their kind alone, as the book tells them."""

import re
from collections.abc import Callable, Mapping

from kettlewell.book import Entry
from kettlewell.book.fields import Field, Type
from kettlewell.book.kinds import KINDS, EntryKind
from kettlewell.book.payloads import value_of
from kettlewell.book.plain import decimal_text, time_text
from kettlewell.book.words import N_, message_of
from kettlewell.folder.acts import BUILDERS, Known, Row, Written, needed
from kettlewell.folder.cells import moment, number
from kettlewell.folder.meters import METER_BUILDERS, OfMeter
from kettlewell.folder.words import NotUnderstoodError

_BETWEEN = re.compile(r"[\s/;]+")
Constants = Mapping[str, str | bool]


def plain_builder(kind: EntryKind, constants: Constants) -> Callable[[Row, Written, Known], Entry]:
    """Return what makes an entry of a row, with the fields that the word under "what" tells itself."""
    told = [field for field in kind.fields if field.column and field.name not in constants]
    columns = dict.fromkeys(field.column for field in told)

    def build(row: Row, written: Written, names: Known) -> Entry:
        payload: dict[str, object] = dict(constants)
        for column in columns:
            fields = [field for field in told if field.column == column]
            for field, cell in zip(fields, _cells(getattr(row, column), fields), strict=True):
                if cell:
                    payload[field.name] = _read(field, cell, names)
        try:
            return value_of(kind.key, payload, **written)
        except ValueError as error:
            raise NotUnderstoodError("row", message_of(error)) from None

    return build


def _cells(cell: str, fields: list[Field]) -> list[str]:
    """Return what a cell says of each of its fields; several numbers in one cell are parted by spaces."""
    names = ", ".join(field.name for field in fields)
    cells = [cell] if len(fields) == 1 else [part for part in _BETWEEN.split(cell) if part]
    if any(field.required for field in fields):
        needed(cell, fields[0].column, N_("is empty; write {fields}"), fields=names)
    if len(cells) != len(fields):
        other = N_("holds {found} numbers, not {asked}: {fields}")
        raise NotUnderstoodError(fields[0].column, other, found=len(cells), asked=len(fields), fields=names)
    return cells


def _read(field: Field, cell: str, names: Known) -> str:
    """Return a cell as a field of the day book."""
    if field.things:
        return str(names.by_thing[field.things].find(cell, field.column).key)
    if field.type is Type.MOMENT:
        return time_text(moment(cell, names.zone, field.column))
    if field.type is Type.NUMBER:
        low, high = (0 if bound is None else float(bound) for bound in (field.low, field.high))
        return decimal_text(number(cell, field.column, low, high))
    return cell


PLAIN_BUILDERS = {
    word: OfMeter(plain_builder(kind, constants))
    for kind in KINDS.values()
    for word, constants in kind.log.items()
    if word not in BUILDERS and word not in METER_BUILDERS
}
