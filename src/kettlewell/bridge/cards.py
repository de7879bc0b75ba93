"""The wall card of a kitchen, from its day book."""

from collections.abc import Collection

from kettlewell.bridge.setups import history_of
from kettlewell.bridge.standing import Standing, basis_of
from kettlewell.core import Answer, card_sheets
from kettlewell.records.models import Kitchen


def card_answers(kitchen: Kitchen, stands: Standing, of: Collection[str] | None = None) -> tuple[Answer, ...]:
    """Return what the sheets of a kitchen's card are told from, of every fryer or of some."""
    history = history_of(kitchen, at_seq=stands.head_seq)
    basis = basis_of(kitchen, history, stands.at, upto_seq=stands.head_seq, recomputing=stands.recomputing)
    return card_sheets(history, basis.entries, now=stands.at, since=basis.since, of=of)
