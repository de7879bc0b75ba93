"""The sheet for a paper book in a real browser: from cell to cell by keyboard, and a list on a phone."""

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]
ADDRESS = "/k/marrowby/backlog/?since=2026-01-05&also=oil_temp_c"
FOCUSED = "document.activeElement.name"


def test_enter_and_arrows_go_from_cell_to_cell_and_send_nothing(browse):
    page = browse("cook", size="desktop")
    page.goto(ADDRESS)
    page.locator("[name='tpc_pct.20260105.0']").focus()
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "tpc_pct.20260106.0"
    page.keyboard.type("13")
    page.keyboard.press("ArrowRight")
    assert page.evaluate(FOCUSED) == "oil_temp_c.20260106.0"
    page.keyboard.press("ArrowRight")
    assert page.evaluate(FOCUSED) == "tpc_pct.20260106.1"
    page.keyboard.press("ArrowUp")
    assert page.evaluate(FOCUSED) == "tpc_pct.20260105.1"
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(FOCUSED) == "tpc_pct.20260105.0"
    assert page.evaluate("document.activeElement.value") == "12"
    assert page.url.endswith(ADDRESS)


def test_an_arrow_within_a_number_moves_the_caret_alone(browse):
    page = browse("cook", size="desktop")
    page.goto(ADDRESS)
    page.locator("[name='tpc_pct.20260105.1']").focus()
    page.keyboard.type("12")
    page.keyboard.press("ArrowLeft")
    assert page.evaluate(FOCUSED) == "tpc_pct.20260105.1"


def test_on_a_phone_each_day_is_a_list_that_names_the_fryers_and_nothing_stands_out(browse):
    page = browse("cook", size="phone")
    page.goto(ADDRESS)
    first = page.locator("[data-grid] tbody tr").first
    assert first.locator(".across").first.is_visible()
    lefts = {round(cell.bounding_box()["x"]) for cell in first.locator("td").all()}
    assert len(lefts) == 1
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
