"""Every kind of entry, told once.

What each says, whom it concerns, what it answers, who may write it, and its words: payloads, rows of
log.csv, forms, checks and tables of the documentation follow from here.
"""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from kettlewell.book.entries import Entry
from kettlewell.book.kinds.at_fryers import AT_FRYERS
from kettlewell.book.kinds.at_meters import AT_METERS
from kettlewell.book.kinds.in_ledger import IN_LEDGER
from kettlewell.book.kinds.kind import CONDITIONS, SOURCE, Concerns, EntryKind, MayWrite

# what happens at a fryer or a meter may stand on a sheet of paper first
KINDS: Mapping[str, EntryKind] = MappingProxyType(
    {kind.key: replace(kind, fields=(*kind.fields, SOURCE)) for kind in (*AT_FRYERS, *AT_METERS)}
    | {kind.key: kind for kind in IN_LEDGER}
)
OF_VALUE: Mapping[type[Entry], EntryKind] = MappingProxyType(
    {kind.value: kind for kind in KINDS.values() if kind.value}
)
AT_A_FRYER = frozenset(kind.key for kind in AT_FRYERS)
COUNTING = frozenset(kind.key for kind in KINDS.values() if kind.counts)
CORRECTABLE = frozenset(kind.key for kind in KINDS.values() if kind.correctable)

__all__ = [
    "AT_A_FRYER",
    "CONDITIONS",
    "CORRECTABLE",
    "COUNTING",
    "KINDS",
    "OF_VALUE",
    "Concerns",
    "EntryKind",
    "MayWrite",
]
