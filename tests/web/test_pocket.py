"""The wall card for a pocket: the same sheets as on the wall, on cards of A6."""

import io

import pikepdf
import pytest

from kettlewell.web.entry import paper

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}


@pytest.fixture
def filled(write):
    """Both fryers filled three days ago and read since."""
    for fryer in ("F1", "F2"):
        write("change", {"fryer": fryer}, ago=3)
        write("reading", {"fryer": fryer, "tpc_pct": "9", "oil_temp_c": "170", **SOUND}, ago=0.8)


@pytest.fixture
def cards(monkeypatch):
    """What is set, in place of its pages."""
    found = []
    monkeypatch.setattr(paper, "typeset", lambda sheet: found.extend(sheet.blocks[0].cards) or b"%PDF-")
    return found


def texts(card):
    """Return what a card says, in its order."""
    for block in (block for piece in card for block in piece):
        yield from (said for row in getattr(block, "rows", [[getattr(block, "text", "")]]) for said in row)


def test_it_says_what_the_wall_card_says_in_the_same_order(signed_in, cook, filled, cards, page, marrowby):
    wall = page(cook, "card")
    signed_in(cook).get(f"/k/{marrowby.slug}/card/pocket/")
    assert len(cards) == wall.count("<article")
    places = []
    for said in [said for card in cards for said in texts(card)]:
        places.append(wall.index(said, places[-1] if places else 0))
    assert places == sorted(places)


def test_the_caution_stands_before_any_fryer_and_the_check_code_on_each_card(
    signed_in, cook, filled, cards, marrowby
):
    signed_in(cook).get(f"/k/{marrowby.slug}/card/pocket/")
    marrowby.refresh_from_db()
    for card in cards:
        said = list(texts(card))
        assert said[2].startswith("Hot oil burns")
        assert any(
            f"entry {marrowby.head_seq}, check code {marrowby.head_hash[:4]} " in text for text in said
        )


def test_that_of_one_fryer_tells_it_alone(signed_in, cook, filled, cards, marrowby):
    signed_in(cook).get(f"/k/{marrowby.slug}/fryers/F1/card/pocket/")
    said = list(texts(cards[0]))
    assert "Fries (F1)" in said
    assert not any(text.startswith("Fish") for text in said)


def test_it_is_a_pdf_and_two_cards_of_two_fryers_share_a_page(signed_in, cook, filled, marrowby, page):
    answer = signed_in(cook).get(f"/k/{marrowby.slug}/card/pocket/")
    assert answer["Content-Type"] == "application/pdf"
    sheets = page(cook, "card").count("<article")
    assert len(pikepdf.open(io.BytesIO(answer.content)).pages) == (sheets + 1) // 2


def test_the_page_of_the_card_leads_to_it(cook, filled, page):
    assert "/card/pocket/" in page(cook, "card")
    assert "/fryers/F1/card/pocket/" in page(cook, "fryer-card", "F1")
