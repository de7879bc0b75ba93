"""The wall card as a page: what stands on it, in which order, and who sees it."""

import pytest

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}


@pytest.fixture
def filled(write):
    """Both fryers filled three days ago and read since."""
    for fryer in ("F1", "F2"):
        write("change", {"fryer": fryer}, ago=3)
        write("reading", {"fryer": fryer, "tpc_pct": "9", "oil_temp_c": "170", **SOUND}, ago=0.8)


def test_the_card_tells_caution_then_spoiled_oil_then_the_meter_then_every_fryer(cook, filled, page):
    text = page(cook, "card")
    starts = ("Valid until", "Hot oil burns", "Oil that smokes", "For Hand meter (hand)", "<h3>Fries (F1)")
    places = [text.index(start) for start in starts]
    assert places == sorted(places)
    assert "No number overrides that." in text
    assert "<h3>Fish (F2)" in text


def test_the_card_of_one_fryer_tells_it_alone(cook, filled, page):
    text = page(cook, "fryer-card", "F1")
    assert "<h3>Fries (F1)" in text
    assert "<h3>Fish" not in text


def test_line_and_fryer_lead_to_the_card(cook, filled, page):
    assert "/card/" in page(cook, "line")
    assert "/fryers/F1/card/" in page(cook, "fryer", "F1")


def test_whoever_may_only_look_sees_the_card(inspector, filled, page):
    assert "Hot oil burns" in page(inspector, "card")


def test_a_meter_found_off_is_told_in_letters_as_large_as_the_lines(cook, filled, checked, page):
    checked("18", ago=0.2)
    assert 'class="unfit"' not in page(cook, "card")
    checked("15")
    assert '<p class="unfit">For Hand meter (hand), which was found off:' in page(cook, "card")


def test_the_card_carries_the_check_code_of_the_day_book(cook, filled, marrowby, page):
    marrowby.refresh_from_db()
    head = marrowby.head_hash
    code = " ".join(head[begin : begin + 4] for begin in range(0, 16, 4))
    assert f"Day book up to entry {marrowby.head_seq}, check code {code}" in page(cook, "card")
