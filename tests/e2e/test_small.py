"""Small screens and large text: field, keys and save together, whole words, numbers with their units."""

from itertools import product

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SIZES = {"phone": (390, 664), "small": (320, 568), "landscape": (844, 390)}
LANGUAGES = ("en-GB", "de-DE")
TEXT_PX = {"text as it is": 16, "text twice as large": 32}
LEAST_TARGET_PX = 44
PAGES = {"reading": "/k/marrowby/fryers/F2/read/", "check": "/k/marrowby/meters/check/"}
LOOKED_AT = {
    **PAGES,
    "line": "/k/marrowby/",
    "fryer": "/k/marrowby/fryers/F2/",
    "acts": "/k/marrowby/fryers/F2/acts/",
    "round of readings": "/k/marrowby/round/readings/",
    "round after a service": "/k/marrowby/round/service/",
    "meters": "/k/marrowby/meters/",
    "day book": "/k/marrowby/book/",
    "kitchen": "/k/marrowby/kitchen/",
}
TOGETHER = [".pad [data-key='1']", ".pad [data-key='0']", ".pad [data-key='on']", ".keys > .primary"]
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
ON_TOP = """
    target => {
        const {x, y, width, height, bottom, right} = target.getBoundingClientRect();
        const inside = x >= 0 && y >= 0 && right <= innerWidth + 0.5 && bottom <= innerHeight + 0.5;
        const found = document.elementFromPoint(x + width / 2, y + height / 2);
        const low = document.elementFromPoint(x + width / 2, bottom - 2);
        return inside && [found, low].every(top => target.contains(top));
    }
"""
# the pieces of a text that lie on more than one line though they should not
PARTED = """
    pattern => {
        const parted = [], texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (texts.nextNode()) {
            const text = texts.currentNode;
            const holds = text.parentElement, shown = holds.checkVisibility() && holds.offsetWidth > 1;
            if (!shown || text.data.includes("://") || holds.closest("svg, .address, .code")) continue;
            for (const found of text.data.matchAll(new RegExp(pattern, "gu"))) {
                const range = document.createRange();
                range.setStart(text, found.index);
                range.setEnd(text, found.index + found[0].length);
                const lines = [...range.getClientRects()].map(line => Math.round(line.top));
                if (new Set(lines).size > 1) parted.push(found[0]);
            }
        }
        return parted;
    }
"""
WORD = r"[\p{L}\p{M}\d]+"
NUMBER_AND_UNIT = r"\d[  ](%|°C|kg|g|l|h|min|points?|Punkte?)(?![\p{L}\d])"


@pytest.fixture
def small(browse, untouched_server):
    """Return a page of a size, in a language, with text as large as the browser is set to."""

    def page_of(size, language, text_px=16):
        page = browse("owner", at=untouched_server, language=language)
        width, height = SIZES[size]
        page.set_viewport_size({"width": width, "height": height})
        browser = page.context.new_cdp_session(page)
        browser.send("Page.enable")
        browser.send("Page.setFontSizes", {"fontSizes": {"standard": text_px}})
        return page

    return page_of


def last_reading(page):
    page.goto("/k/marrowby/book/?kind=reading")
    return page.locator(".entry:not(.replaced) .said a").first.get_attribute("href")


def to_a_correction(page):
    page.goto(f"{last_reading(page)}correct/")


def parted(page):
    """Return what is parted on a page, and whether it is too wide."""
    found = {
        "words": page.evaluate(PARTED, WORD),
        "numbers": page.evaluate(PARTED, NUMBER_AND_UNIT),
        "too wide": page.evaluate(WIDER) > 0,
    }
    return [(what, told) for what, told in found.items() if told]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize(("size", "text"), list(product(SIZES, TEXT_PX)))
def test_field_keys_and_save_are_on_the_screen_together(small, size, text, language):
    page, hidden = small(size, language, TEXT_PX[text]), []
    for name in (*PAGES, "correction"):
        if name in PAGES:
            page.goto(PAGES[name])
        else:
            to_a_correction(page)
        fields = page.locator("input.number")
        assert fields.count() >= 2
        for field in fields.all():
            field.tap()
            beside = (field, *map(page.locator, TOGETHER))
            hidden += [(name, str(needed), size) for needed in beside if not needed.evaluate(ON_TOP)]
        assert page.locator("nav.screens").is_hidden()
        assert page.evaluate(WIDER) <= 0, name
    assert hidden == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_reading_is_taken_on_a_phone_without_scrolling(small, language):
    page = small("phone", language)
    page.goto(PAGES["reading"])
    for needed in (".conditions .tile", ".at-once", "input.number", *TOGETHER):
        for found in page.locator(needed).all():
            assert found.evaluate(ON_TOP), str(found)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", SIZES)
def test_what_is_tapped_is_at_least_44_px_each_way(small, size, language):
    page, too_small = small(size, language), []
    for name, path in PAGES.items():
        page.goto(path)
        for target in page.locator("main :is(button, .button, input.number, .tile):visible").all():
            box = target.bounding_box()
            if min(box["width"], box["height"]) < LEAST_TARGET_PX:
                too_small.append((name, target.inner_text(), box))
    assert too_small == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", SIZES)
def test_no_word_breaks_no_number_parts_from_its_unit_and_no_page_scrolls_sideways(small, size, language):
    page, wrong = small(size, language), []
    for name, path in LOOKED_AT.items():
        page.goto(path)
        wrong += [(name, *each) for each in parted(page)]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", ["phone", "landscape"])
def test_nor_does_it_with_text_twice_as_large(small, size, language):
    page, wrong = small(size, language, TEXT_PX["text twice as large"]), []
    entry = last_reading(page)
    more = {"correction": f"{entry}correct/", "verdict": entry.replace("/book/", "/told/")}
    for name, path in {**PAGES, "line": LOOKED_AT["line"], **more}.items():
        page.goto(path)
        wrong += [(name, *each) for each in parted(page)]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("size", SIZES)
def test_the_bar_at_the_foot_holds_every_screen_with_large_text(small, size, language):
    page = small(size, language, TEXT_PX["text twice as large"])
    page.goto(LOOKED_AT["line"])
    screens = page.locator("nav.screens a").all()
    assert len(screens) > 3
    for screen in screens:
        assert screen.evaluate(ON_TOP), screen.inner_text()
        assert screen.evaluate("link => link.scrollWidth <= link.clientWidth"), screen.inner_text()


def test_a_picture_lights_by_a_tap_and_all_four_by_one(small):
    page = small("phone", "en-GB")
    page.goto(PAGES["reading"])
    all_four = page.locator("[name=all_so][value=yes]")
    lit = page.locator("[name=so]:checked")
    page.locator(".tile", has_text="All four are OK").tap()
    assert lit.count() == 4
    page.locator(".tile", has_text="Steady").tap()
    assert (lit.count(), all_four.is_checked()) == (3, False)
    page.locator(".tile", has_text="Steady").tap()
    assert (lit.count(), all_four.is_checked()) == (4, True)
    page.locator(".tile", has_text="I don't know").first.tap()
    assert (lit.count(), all_four.is_checked()) == (0, False)
