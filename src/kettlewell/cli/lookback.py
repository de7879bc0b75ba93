"""The answer to `meter back`: which verdicts may not stand once a meter check failed."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Kitchen, find
from kettlewell.cli.meters import check_words
from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT
from kettlewell.core.outlook.lookback import LookBack, Relied
from kettlewell.core.outlook.meters import ChartedCheck
from kettlewell.telling import N_, Reader
from kettlewell.telling.meters import DECISIONS, DOUBTFUL, FAILED, may_fall, rests_on, told_again
from kettlewell.telling.verdicts import VERDICTS, named

NONE_FAILED = N_("No check has failed.")
READ = N_("{fryer}, {at}: read {reading} %, told: {verdict}.")
OTHERS = N_("The others stand: the chance that one does not is under 1 %.")


def is_failed(check: ChartedCheck) -> bool:
    """Tell whether a check found the meter off, as it was in use: not one made after adjusting it."""
    return check.decision.key in FAILED and not check.check.adjusted


def looked_back(found: LookBack, failed: ChartedCheck, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    """Yield every line of the answer."""
    meter = named(find(kitchen.meters, found.failed.meter))
    decision = reader.say(DECISIONS[failed.decision.key])
    yield Line(text=f"{meter}: {decision}", weight=Weight.BOLD)
    yield from (Line(text=text) for text in check_words(failed, kitchen, reader))
    yield Line(text="")
    doubtful = may_not_stand(found)
    rests = rests_on(len(found.relied), begins=found.since, after_good=found.good is not None, reader=reader)
    yield Line(text=f"{rests} {may_fall(doubtful, reader)}" if found.relied else rests)
    yield from _each(doubtful, kitchen, reader)
    if 0 < len(doubtful) < len(found.relied):
        yield Line(text="")
        yield Line(text=reader.say(OTHERS))


def may_not_stand(found: LookBack) -> list[Relied]:
    """Return the verdicts that may not stand, the most doubtful first."""
    doubtful = [relied for relied in found.relied if relied.not_stand >= DOUBTFUL]
    return sorted(doubtful, key=lambda relied: (-relied.not_stand, relied.reading.at))


def _each(doubtful: Sequence[Relied], kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    for relied in doubtful:
        yield Line(text="")
        read = reader.say(
            READ,
            fryer=named(find(kitchen.fryers, relied.reading.fryer)),
            at=relied.reading.at,
            reading=relied.reading.tpc_pct,
            verdict=reader.say(VERDICTS[relied.told]),
        )
        yield Line(text=read, weight=Weight.BOLD)
        for path, again in relied.again.items():
            yield Line(text=told_again(again, path, relied.told, reader), indent=INDENT)
