"""What is printed, in a real browser: the wall card's pages and letters, and that nothing is torn."""

import re

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]
MM_PER_PX = 25.4 / 96
LEAST_MM, LARGE_MM = 4.0, 5.8
PAGE_MM = 297 - 15 - 18  # within the margins of app.css
CAPITALS = """row => {
    const pen = document.createElement("canvas").getContext("2d"), look = getComputedStyle(row);
    pen.font = `${look.fontWeight} ${look.fontSize} ${look.fontFamily}`;
    return pen.measureText("H").actualBoundingBoxAscent;
}"""
KEPT_WHOLE = """kinds => [...document.querySelectorAll(kinds)].map(one => ({
    mm: one.getBoundingClientRect().height * 25.4 / 96,
    whole: getComputedStyle(one).breakInside,
}))"""


def pages_of(page):
    """Return how many sheets a page is printed on."""
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(prefer_css_page_size=True)))


def capitals_mm(page):
    """Return the height of the capitals in every name and line of the card as it is printed."""
    page.emulate_media(media="print")
    page.evaluate("document.fonts.ready")
    rows = page.locator(".hot, .spoiled, .bath h3, .bath dt, .bath dd").all()
    assert rows
    return [row.evaluate(CAPITALS) * MM_PER_PX for row in rows]


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
def test_the_card_of_five_fryers_has_one_page_for_each_service(browse, language):
    page = browse("inspector", size="desktop", language=language)
    page.goto("/k/marrowby/card/")
    sheets = page.locator(".sheet")
    assert sheets.first.locator(".bath").count() == 5
    assert pages_of(page) == sheets.count()
    assert min(capitals_mm(page)) >= LEAST_MM - 0.05


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
def test_the_card_of_one_fryer_is_larger_and_still_one_page_for_each_service(browse, language):
    page = browse("inspector", size="desktop", language=language)
    page.goto("/k/marrowby/fryers/F3/card/")
    assert page.locator(".sheet").first.locator(".bath").count() == 1
    assert pages_of(page) == page.locator(".sheet").count()
    assert min(capitals_mm(page)) >= LARGE_MM


def test_the_card_is_black_on_white_without_what_only_a_screen_needs(browse):
    page = browse("inspector", size="desktop", scheme="dark")
    page.goto("/k/marrowby/card/")
    page.emulate_media(media="print")
    assert page.locator(".sheet").first.evaluate(
        "one => [getComputedStyle(one).color, getComputedStyle(one).backgroundColor]"
    ) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    for chrome in (".top", ".screens", ".screen-only"):
        assert not page.locator(chrome).first.is_visible()


@pytest.mark.parametrize(
    ("address", "parts"),
    [
        ("card/", ".bath"),
        ("fryers/F3/", ".strip, .chart, .facts, .entry"),
        ("book/", ".entry"),
    ],
)
def test_nothing_that_belongs_together_is_torn_over_an_edge(browse, address, parts):
    """Each part is kept whole, and is small enough for that."""
    page = browse("inspector", size="desktop")
    page.goto(f"/k/marrowby/{address}")
    page.set_viewport_size({"width": 703, "height": 998})  # A4 within its margins
    page.emulate_media(media="print")
    told = page.evaluate(KEPT_WHOLE, parts)
    assert told
    assert {part["whole"] for part in told} == {"avoid"}
    assert max(part["mm"] for part in told) < PAGE_MM
