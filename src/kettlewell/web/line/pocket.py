"""The wall card for a pocket: the same sheets, on cards of A6 to cut out and fold."""

from collections.abc import Iterator

from django.utils.translation import gettext as _

from kettlewell.pages.blocks import Facts, Heading, Pocket, Text
from kettlewell.telling.cards import OfBath, Sheet

Piece = list[Heading | Text | Facts]


def pocket_of(sheets: list[Sheet], noted: str) -> Pocket:
    """Return the sheets of a card for a pocket; ``noted`` is up to where the day book is."""
    return Pocket(cards=[list(pieces_of(sheet, noted)) for sheet in sheets], cut=_("cut"), fold=_("fold"))


def pieces_of(sheet: Sheet, noted: str) -> Iterator[Piece]:
    """Yield the pieces of a card in the order of the sheet."""
    yield [Heading(text=sheet.title, follows=True), Text(text=sheet.valid, weight="strong")]
    yield [Text(text=sheet.caution, weight="framed")]
    yield [Text(text=sheet.spoiled, weight="strong")]
    meter = Text(text=sheet.meter, weight="plain" if sheet.fit else "strong")
    yield [meter, *([Text(text=sheet.how)] if sheet.how else [])]
    for bath in sheet.baths:
        yield list(bath_blocks(bath))
    yield [Text(text=f"{sheet.made} {noted}", weight="small")]
    for text in sheet.below:
        yield [Text(text=text, weight="small")]


def bath_blocks(bath: OfBath) -> Iterator[Heading | Text | Facts]:
    """Yield a fryer's name and lines; without a reading these stand below one another."""
    yield Heading(text=bath.name, level=2)
    if all(row.reading for row in bath.rows):
        yield Facts(rows=[(row.reading, row.act) for row in bath.rows])
    else:
        yield from (Text(text=row.act, weight="strong") for row in bath.rows)
