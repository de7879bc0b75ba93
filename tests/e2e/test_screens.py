"""Every screen, phone and desktop, light and dark: no finding of axe, nothing sideways, and print."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
PHONE, DESKTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
SCREENS = (
    "",
    "read/",
    "fryers/F1/",
    "fryers/F1/read/",
    "fryers/F1/acts/",
    "fryers/F1/acts/top_up/",
    "fryers/F1/acts/senses/",
    "fryers/F1/acts/move/",
    "fryers/F1/what-if/?set_temp_c=180",
    "book/",
    "kitchen/",
    "kitchen/fryers/F1/",
    "kitchen/new/limits/",
    "people/",
    "people/new/",
)
WIDER = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
LARGEST_KB = 150


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("screen", [PHONE, DESKTOP], ids=["phone", "desktop"])
def test_axe_finds_nothing_on_any_screen_and_nothing_runs_out_sideways(browse, screen, dark):
    page = browse("owner", screen=screen, dark=dark)
    found = {}
    for address in SCREENS:
        assert page.goto(f"/k/marrowby/{address}").status == 200, address
        results = Axe().run(page)
        found[address] = [(one["id"], one["nodes"][0]["html"]) for one in results.response["violations"]]
        assert page.evaluate(WIDER) <= 0, f"{address or 'line'} runs out sideways"
    assert {address: rows for address, rows in found.items() if rows} == {}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_where_nobody_is_signed_in(browse, dark):
    page = browse(dark=dark)
    page.goto("/sign-in/")
    assert Axe().run(page).violations_count == 0


def test_no_page_weighs_more_than_150_kb_with_all_it_needs(browse):
    page = browse("owner")
    for address in SCREENS:
        weights = []
        page.on("response", lambda answer, weights=weights: weights.append(weight(answer)))
        page.goto(f"/k/marrowby/{address}", wait_until="networkidle")
        assert sum(weights) <= 1000 * LARGEST_KB, address


def weight(answer):
    length = answer.headers.get("content-length")
    return int(length) if length else len(answer.body())


def test_the_day_book_prints_without_what_only_a_screen_needs(browse):
    page = browse("inspector", screen=DESKTOP)
    page.goto("/k/marrowby/book/")
    page.emulate_media(media="print")
    expect(page.locator("nav.screens")).to_be_hidden()
    expect(page.locator(".entry").first).to_be_visible()
    expect(page.locator("header.top .place")).to_have_text("Marrowby ferry terminal")
