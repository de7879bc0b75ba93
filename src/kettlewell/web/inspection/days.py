"""What was done at a fryer on a day, in a line: each thing once, with how often."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from django.utils.translation import gettext as _

from kettlewell.book.kinds import KINDS
from kettlewell.records.kinds import CARE
from kettlewell.records.models import Entry
from kettlewell.web.inspection.gathered import Gathered


def days_of(entries: Iterable[Entry], gathered: Gathered) -> Iterator[list[Entry]]:
    """Yield the entries of each day that has any; they are in the order things happened."""
    for _day, of_day in groupby(entries, gathered.day):
        yield list(of_day)


def done_words(entries: Sequence[Entry], gathered: Gathered) -> str:
    """Return what was done: each thing once, with how often, and oil topped up with its mass and notes."""
    counted = Counter(label(entry) for entry in entries)
    told = [text if times == 1 else f"{times} × {text}" for text, times in counted.items()]
    tops = [Decimal(entry.payload.get("mass_kg") or 0) for entry in entries if entry.kind == "top_up"]
    weighed = [f"{gathered.reader.number(float(sum(tops)), digits=1)} kg"] if any(tops) else []
    return "; ".join([*told, *weighed, *filter(None, map(gathered.note, entries))])


def label(entry: Entry) -> str:
    """Return what was done, in the words of its tile."""
    if entry.kind == "care":
        return str(dict(CARE)[entry.payload["care"]])
    return _(KINDS[entry.kind].title or KINDS[entry.kind].words)


def people_of(entries: Iterable[Entry], gathered: Gathered) -> str:
    """Return who wrote them, each once."""
    return ", ".join(dict.fromkeys(filter(None, map(gathered.by, entries))))
