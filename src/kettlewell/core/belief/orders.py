"""Which fryers stand cold: out of order, or closed."""

from collections.abc import Iterable
from dataclasses import replace

from kettlewell.book import Closed, Entry, OutOfOrder, Recall
from kettlewell.book.account import spelled
from kettlewell.core.belief.services import StoodCold
from kettlewell.core.belief.settle import place_of
from kettlewell.core.belief.state import Bookmark, State
from kettlewell.core.belief.week import Slot


def cold_in(at: Bookmark, written: Iterable[OutOfOrder | Closed]) -> StoodCold:
    """Return what tells which fryers stood cold in a service: out of order at its middle, or closed."""
    orders: list[OutOfOrder] = []
    closed = list(at.closed)
    for entry in written:
        if isinstance(entry, Closed):
            closed.append(entry)
        else:
            orders.append(entry)

    def stood_cold(slot: Slot) -> frozenset[str]:
        if not (closed or orders):
            return at.out_of_order
        middle = slot.begins + (slot.ends - slot.begins) / 2
        back = {order.fryer: order.back for order in orders if order.at < middle}
        out = at.out_of_order - back.keys() | {fryer for fryer, again in back.items() if not again}
        return out | {
            fryer for fryer in at.baths.fryers for closure in closed if closure.covers(fryer, middle)
        }

    return stood_cold


def ordered(state: State, entries: Iterable[Entry]) -> State:
    """Return the state once fryers were taken out of use, put back or closed, and oil was recalled."""
    orders = [entry for entry in entries if isinstance(entry, OutOfOrder | Closed | Recall)]
    if not orders:
        return state
    at = place_of(state)
    out, recalled, closed = set(at.out_of_order), set(at.recalled), at.closed
    for order in orders:
        if isinstance(order, Closed):
            closed = (*(closure for closure in closed if closure.until > order.at), order)
        elif isinstance(order, Recall):
            recalled.add(spelled(order.delivery))
        else:
            (out.discard if order.back else out.add)(order.fryer)
    place = replace(at, out_of_order=frozenset(out), closed=closed, recalled=frozenset(recalled))
    return replace(state, place=place)
