"""The verdicts of a look-back, ready to be shown."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kettlewell.bridge.meters import InDoubt
from kettlewell.core.decision import VerdictKey
from kettlewell.core.metering.paths import PathKind
from kettlewell.records.models import Entry
from kettlewell.telling import N_, Reader
from kettlewell.telling.verdicts import VERDICTS
from kettlewell.web.common import Visit
from kettlewell.web.entry.lines import BookLine, book_lines
from kettlewell.web.entry.names import names_of

READ = N_("You read {reading} %; the verdict was “{verdict}”.")
NOT_TOLD = N_("You read {reading} %. No verdict was recorded; today's would be “{verdict}”.")
TODAY = N_("By what is written of that day now it would be: {today}; that is what is judged here.")
SHOULD = N_("{reading} ± {sd} %")
PATHS = {PathKind.DRIFT: N_("If it drifted bit by bit"), PathKind.STEP: N_("If it changed all at once")}


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldAnew:
    """A reading told anew on one path of the meter: ``instead`` is what would have been told."""

    path: str
    reading: str
    chance: str
    instead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtedRow:
    """A verdict that rests on a meter: what was read and told, both again, and how it was settled."""

    verdict: Entry | None
    name: str
    at: str
    read: str
    again: Sequence[ToldAnew]
    settled: BookLine | None


def doubted_rows(doubted: Sequence[InDoubt], visit: Visit) -> list[DoubtedRow]:
    """Return verdicts as rows."""
    names, reader = names_of(visit.kitchen), visit.reader
    answers = [each.settled for each in doubted if each.settled]
    settled = {line.entry.pk: line for line in book_lines(answers, names, visit)}
    return [
        DoubtedRow(
            verdict=each.verdict,
            name=names.of("fryers", each.reading.fryer),
            at=reader.date(each.reading.at),
            read=read_and_told(each, reader),
            again=list(told_anew(each, reader)),
            settled=settled.get(each.settled.pk) if each.settled else None,
        )
        for each in doubted
    ]


def read_and_told(doubted: InDoubt, reader: Reader) -> str:
    """Return what was read and told: by the day book, and by today where that is another."""
    verdict, relied = doubted.verdict, doubted.relied
    told = VerdictKey(verdict.payload["verdict"]) if verdict else relied.told
    text = reader.say(
        READ if verdict else NOT_TOLD, reading=relied.reading.tpc_pct, verdict=reader.say(VERDICTS[told])
    )
    if told is relied.told:
        return text
    return f"{text} {reader.say(TODAY, today=reader.say(VERDICTS[relied.told]))}"


def told_anew(doubted: InDoubt, reader: Reader) -> Iterator[ToldAnew]:
    """Yield a reading told anew, path by path."""
    for path, again in doubted.relied.again.items():
        reading, sd = (reader.number(pct, digits=1) for pct in (again.reading_pct, again.reading_sd_pct))
        yield ToldAnew(
            path=reader.say(PATHS[path]),
            reading=reader.say(SHOULD, reading=reading, sd=sd),
            chance=reader.chance(again.not_stand),
            instead=reader.say(VERDICTS[again.instead]),
        )
