"""The wall card in plain text: to be printed, pinned up, and taken down when it expires."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Kitchen
from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT
from kettlewell.core import Answer
from kettlewell.core.outlook.meters import MeterReport, first_in_use
from kettlewell.telling import Reader
from kettlewell.telling.cards import Sheet, sheets_of


def wall_card(
    answers: Sequence[Answer], reports: Sequence[MeterReport], kitchen: Kitchen, reader: Reader
) -> Iterator[Line]:
    """Yield the lines of the card, sheet by sheet."""
    for number, sheet in enumerate(sheets_of(answers, kitchen, first_in_use(reports), reader)):
        if number:
            yield from (Line(text=""), Line(text=""))
        yield from lines_of(sheet, reader)


def lines_of(sheet: Sheet, reader: Reader) -> Iterator[Line]:
    """Yield the lines of one sheet."""
    yield Line(text=sheet.title, weight=Weight.BOLD)
    yield Line(text=sheet.valid, weight=Weight.BOLD)
    for text in (sheet.caution, sheet.spoiled):
        yield Line(text="")
        yield Line(text=text, weight=Weight.BOLD)
    yield Line(text="")
    yield from (Line(text=text) for text in (sheet.meter, sheet.how) if text)
    for bath in sheet.baths:
        yield Line(text="")
        yield Line(text=bath.name, weight=Weight.BOLD)
        yield from (Line(text=row.sentence(reader), indent=INDENT) for row in bath.rows)
    yield Line(text="")
    yield from (Line(text=text) for text in (sheet.made, *sheet.below))
