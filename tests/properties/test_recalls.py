"""What must hold of recalled oil, whatever was poured, read and smelled."""

from datetime import timedelta
from zoneinfo import ZoneInfo

from babel import Locale
from drawn import FEWER, KITCHEN, NOW, START, begun, books
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import Change, Recall, in_order
from kettlewell.book.account import in_fryer
from kettlewell.book.lots import held
from kettlewell.core import answer, card_sheets, checkpoint
from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.telling.cards import sheets_of
from kettlewell.telling.verdicts import verdict_words
from kettlewell.telling.words import Reader

LOT = "L1"
READER = Reader(locale=Locale.parse("en_GB"), zone=ZoneInfo("UTC"), now=NOW)
FILLED = [Change(at=START - timedelta(hours=1), fryer="one", delivery=LOT)]


def holding(book):
    """Return the fryers that hold oil of the lot at the end of a book."""
    stretches = held(LOT, in_order(book), KITCHEN)
    still = {one.vessel for one in stretches if one.until is None}
    return {key for key in ("one", "two") if in_fryer(key) in still}


@FEWER
@given(books, st.integers(0, 5), st.integers(0, 5))
def test_nobody_is_told_to_fry_on_in_recalled_oil(book, recalled_on, day):
    """Whenever it was recalled: in a verdict, on any line of a wall card, from a checkpoint on."""
    book = in_order([*FILLED, *book, Recall(at=START + timedelta(days=recalled_on), delivery=" l 1")])
    before = checkpoint(KITCHEN, book, at=START + timedelta(days=day))
    later = [entry for entry in book if entry.at >= before.covers_to]
    recalled = holding(book)
    for found in (answer(KITCHEN, book, now=NOW), answer(KITCHEN, later, now=NOW, since=before)):
        for told in (told for told in found.assessments if told.fryer in recalled):
            assert told.verdict.reason.code in (Reason.RECALLED, Reason.EMPTY)
            assert {line.key for line in told.card.lines} == {VerdictKey.CHANGE_BEFORE}
            assert "ry on" not in verdict_words(told, READER)
        for other in found.assessments:
            assert not recalled & {over.fryer for over in other.verdict.taken_over_by}
    for sheet in sheets_of(card_sheets(KITCHEN, book, now=NOW), KITCHEN, None, READER):
        for bath in (bath for bath in sheet.baths if bath.key in recalled):
            assert not any("fry on" in row.act for row in bath.rows)


@FEWER
@given(begun)
def test_a_recall_changes_nothing_where_its_oil_is_not(book):
    elsewhere = [*book, Recall(at=NOW - timedelta(hours=1), delivery="L 99")]
    told, again = (answer(KITCHEN, each, now=NOW).assessments for each in (book, elsewhere))
    assert [each.verdict for each in told] == [each.verdict for each in again]
