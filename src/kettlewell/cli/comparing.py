"""The answer to `meter compare`: a meter beside another instrument, oil by oil."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Kitchen, find
from kettlewell.cli.meters import signed
from kettlewell.cli.screen import Line, Weight, table
from kettlewell.cli.strip import INDENT
from kettlewell.core.metering.pairs import Pair, SideBySide
from kettlewell.telling import N_, Reader
from kettlewell.telling.meters import differs_by, pairs_missing, reads_as, why_not
from kettlewell.telling.verdicts import named

LABORATORY = N_("the laboratory")
BESIDE = N_("{meter} beside {other}")
NO_PAIR = N_(
    "There is no pair yet: the same bath measured by both within an hour, nothing fried or filled between."
)
HEADS = (N_("when"), N_("fryer"), N_("meter"), N_("other"), N_("difference"))
POINTS = N_("{difference} points")
MAY_BE = N_("This may be taken over.")


def compared(found: Sequence[SideBySide], kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    """Yield every line of the answer."""
    first = found[0]
    other = other_name(first, kitchen, reader)
    meter = named(find(kitchen.meters, first.meter))
    yield Line(text=reader.say(BESIDE, meter=meter, other=other), weight=Weight.BOLD)
    for side in found:
        yield Line(text="")
        yield Line(text=find(kitchen.oils, side.oil).name, weight=Weight.BOLD)
        yield from _in_oil(side, other, kitchen, reader)


def other_name(side: SideBySide, kitchen: Kitchen, reader: Reader) -> str:
    """Return what the meter is held against."""
    return reader.say(LABORATORY) if side.against is None else find(kitchen.meters, side.against).name


def _in_oil(side: SideBySide, other: str, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    if not side.pairs:
        yield Line(text=reader.say(NO_PAIR), indent=INDENT)
        if side.earlier:
            yield Line(text=pairs_missing(side, reader), indent=INDENT)
        return
    rows = [_cells(pair, kitchen, reader) for pair in side.pairs]
    yield from table([[reader.say(head) for head in HEADS], *rows], indent=INDENT)
    yield Line(text=reads_as(side, other, reader), indent=INDENT)
    if side.differences:
        yield Line(text=differs_by(side.differences, reader), indent=INDENT)
    if side.may_be_adopted:
        yield Line(text=reader.say(MAY_BE), indent=INDENT)
    elif reason := why_not(side, reader) or pairs_missing(side, reader):
        yield Line(text=reason, indent=INDENT)


def _cells(pair: Pair, kitchen: Kitchen, reader: Reader) -> list[str]:
    difference = signed(pair.meter_pct - pair.other_pct, reader)
    return [
        reader.date(pair.at),
        find(kitchen.fryers, pair.fryer).name,
        f"{reader.number(pair.meter_pct, digits=1)} %",
        f"{reader.number(pair.other_pct, digits=1)} %",
        reader.say(POINTS, difference=difference),
    ]
