"""The line at a glance, in a real browser: all fryers on the first screen, kept up to date."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
IN_A_BROWSER = {"width": 390, "height": 664}  # of a phone: what the browser's own bars leave
LAPTOP = {"width": 1440, "height": 900}
EIGHT = 8
MINUTE_MS = 60_000
FIGURES = re.compile(r"now [\d.]+, limit 24\s%.*(read [\d.]+\s%|not read yet)")
HEAVY = "one => parseFloat(getComputedStyle(one).fontSize) * getComputedStyle(one).fontWeight"
CUT_OFF = """
    console.error = () => {};  // where htmx tells of it too
    XMLHttpRequest.prototype.send = function () { setTimeout(() => this.dispatchEvent(new Event("error"))) };
"""


@pytest.fixture
def line(browse, untouched_server):
    """Return the line before which the owner sits."""

    def page_of(*, size="phone", viewport=IN_A_BROWSER, **view):
        page = browse("owner", at=untouched_server, size=size, **view)
        page.set_viewport_size(viewport)
        page.goto("/k/marrowby/")
        return page

    return page_of


def lowest_px(page, selector):
    """Return where the lowest of what is found ends."""
    return max(
        box["y"] + box["height"] for box in (one.bounding_box() for one in page.locator(selector).all())
    )


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_five_fryers_and_what_cannot_wait_stand_on_the_first_screen_of_a_phone(line, scheme):
    """On a bad day: two to change, one to measure again, an open call."""
    page = line(scheme=scheme)
    strips = page.locator(".strip")
    expect(strips).to_have_count(5)
    expect(page.locator(".waits")).to_contain_text("Chef called: Fish")
    for strip in strips.all():
        expect(strip.locator(".verdict")).to_be_visible()
        expect(strip.locator(".figures")).to_contain_text(FIGURES)
        expect(strip.locator(".quick")).to_be_visible()
    bar_top_px = page.locator(".screens").bounding_box()["y"]
    assert page.locator(".waits").bounding_box()["y"] > 0
    assert lowest_px(page, ".strip summary") <= bar_top_px


def test_the_verdict_is_the_heaviest_word_of_its_strip(line):
    page = line()
    for strip in page.locator(".strip").all():
        weights = {name: strip.locator(name).evaluate(HEAVY) for name in (".verdict", ".name", ".figures")}
        assert weights[".verdict"] > 1.5 * max(weights[".name"], weights[".figures"])


def test_eight_fryers_fit_a_laptop_with_their_walls_in_one_column(line):
    page = line(size="desktop", viewport=LAPTOP)
    heights = [strip.bounding_box()["height"] for strip in page.locator(".strip").all()]
    top = page.locator(".line").bounding_box()["y"]
    calm = min(heights)
    assert top + sum(heights) + (EIGHT - len(heights)) * calm <= LAPTOP["height"]
    walls = {round(wall.bounding_box()["x"]) for wall in page.locator(".strip .mark-wall").all()}
    assert len(walls) == 1


def test_a_tap_shows_the_details_and_another_the_fryer(line):
    page = line()
    strip = page.locator(".strip").last
    strip.locator("summary").tap()
    expect(strip.locator(".life")).to_be_visible()
    strip.get_by_role("link", name="More of").tap()
    page.wait_for_url("**/fryers/*/")


def test_the_line_looks_again_by_itself_and_says_when_it_cannot(line):
    page = line()
    stale = page.locator("[data-stale]")
    with page.expect_response("**/k/marrowby/"):
        page.clock.fast_forward(MINUTE_MS + 1_000)
    expect(stale).to_be_hidden()
    page.evaluate(CUT_OFF)
    page.clock.fast_forward(MINUTE_MS + 1_000)
    expect(stale).to_be_visible()
    expect(stale).to_contain_text("No connection")


def test_a_fryer_that_is_looked_into_is_not_closed_by_looking_again(line):
    page = line()
    asked = []
    page.on("request", lambda sent: asked.append(sent.url) if sent.resource_type == "xhr" else None)
    page.locator(".strip summary").first.tap()
    page.clock.fast_forward(3 * MINUTE_MS)
    expect(page.locator(".strip details").first).to_have_attribute("open", "")
    assert asked == []
