"""What is asked about entries that look like slips of the pen, in sentences."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from kettlewell.book import Entry, Kitchen
from kettlewell.book.likely import Slip, unlikely
from kettlewell.telling.message import N_, Message

SLIPS = {
    Slip.FIGURE: N_("{ref}: oil that is fried in hardly reads so. Is the figure right?"),
    Slip.AMOUNT: N_("{ref}: more than {most_kg} kg is hardly ever so. Is the amount right?"),
}
NOT_YET = N_("{ref}: this has not come yet. Is the date right?")


def slips_in(entries: Iterable[Entry], kitchen: Kitchen, now: datetime) -> Iterator[Message]:
    """Yield what is asked about entries that are hardly true."""
    for entry in entries:
        if found := unlikely(entry, kitchen):
            most = {"most_kg": round(found.most, 1)} if found.slip is Slip.AMOUNT else {}
            yield Message(text=SLIPS[found.slip], values={"ref": entry.ref, **most})
        if entry.at > now:
            yield Message(text=NOT_YET, values={"ref": entry.ref})
