"""At the fryer, with a real browser: from a reading to what to do."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
VERDICTS = re.compile("Fry on|Measure again|Do not fry|Change after this service|Stop frying")
SPOILED = re.compile("Do not fry|Stop frying")


class Taps:
    """Counts every tap, or click on a desktop, that is not a digit: of the pad, or of the keyboard there."""

    def __init__(self, page, size):
        self.page, self.phone, self.count = page, size == "phone", 0

    def on(self, locator):
        locator.tap() if self.phone else locator.click()
        self.count += 1

    def digits(self, number):
        for digit in number:
            if self.phone:
                self.page.locator(".pad button", has_text=digit).first.tap()
            else:
                self.page.keyboard.type(digit)


def test_from_the_line_a_reading_leads_to_its_verdict_in_at_most_five_taps(browse, view):
    page = browse("cook", **view)
    taps = Taps(page, view["size"])
    taps.on(page.locator(".strip").get_by_role("link", name="Take a reading").first)
    taps.on(page.get_by_text("All four are OK"))
    taps.on(page.locator("input[name=oil_temp_c]"))
    taps.digits("152")
    taps.on(page.locator("input[name=tpc_pct]"))
    taps.digits("12.5")
    taps.on(page.get_by_role("button", name="Save and see the verdict"))
    page.wait_for_url("**/told/**")
    expect(page.locator("h1")).to_have_text(VERDICTS)
    assert taps.count <= 5


@pytest.mark.parametrize("typed", ["11,5", "11.5"])
def test_a_german_cook_types_comma_or_point_and_reads_commas(browse, typed):
    page = browse("porter", language="de-DE")
    page.goto("/k/marrowby/fryers/F3/read/")
    expect(page.locator("html")).to_have_attribute("lang", "de")
    page.locator("input[name=all_so][value=yes]").check(force=True)
    page.locator("input[name=tpc_pct]").fill(typed)
    page.locator("form[data-entry] button.primary").click()
    page.wait_for_url("**/told/**")
    page.goto("/k/marrowby/fryers/F3/")
    expect(page.get_by_text("11,5 %").first).to_be_visible()


def test_from_spoiled_oil_to_a_fresh_fill_it_is_six_taps_and_three_pages(browse, view):
    """Whatever the meter said; what was done is asked once, where the verdict stands."""
    page = browse("cook", **view)
    page.goto("/k/marrowby/")
    taps, pages = [], []
    page.on("framenavigated", lambda frame: pages.append(frame.url))

    def tap(target):
        target.click()
        taps.append(target)

    doughnuts = page.locator(".glances > li", has_text="Doughnuts")
    tap(doughnuts.locator("summary"))
    tap(doughnuts.get_by_role("link", name="Smell it and look at it"))
    tap(page.get_by_role("button", name="Yes, it is spoiled"))
    page.wait_for_url("**/told/**")
    expect(page.locator("h1")).to_have_text(SPOILED)
    expect(page.get_by_text("It smells or looks spoiled")).to_be_visible()
    expect(page.get_by_text("Cleo Dunn")).to_have_count(0)
    tap(page.locator("label", has_text="Drained, and filled with fresh oil"))
    tap(page.locator("label", has_text="Nothing was fried"))
    tap(page.get_by_role("button", name="Save"))
    page.wait_for_url(lambda url: url not in pages[:2])
    expect(page.locator("main")).not_to_contain_text("It smells or looks spoiled")
    assert len(taps) <= 6
    assert len(pages) <= 3
    page.goto("/k/marrowby/book/?kind=settled&fryer=F4")
    expect(page.locator(".entry").first).to_contain_text("Drained into the waste-oil drum")
    expect(page.locator(".entry").first).to_contain_text("Ben Carr")


def test_a_wrong_reading_is_corrected_with_a_reason_and_both_are_kept(browse, view):
    page = browse("owner", **view)
    page.goto("/k/marrowby/fryers/F5/read/")
    page.locator("input[name=all_so][value=yes]").check(force=True)
    page.locator("input[name=tpc_pct]").fill("19.5")
    page.locator("form[data-entry] button.primary").click()
    page.wait_for_url("**/told/**")
    page.goto("/k/marrowby/book/?kind=reading")
    page.locator(".entry:not(.replaced) a", has_text="19.5").first.click()
    wrong = page.locator("h1").inner_text()
    page.get_by_role("link", name="Correct").click()
    page.locator("input[name=tpc_pct]").fill("9.5")
    page.locator("[name=reason]").first.fill("typed wrong")
    page.locator("form[data-entry] button.primary").click()
    page.wait_for_url(lambda url: "/correct/" not in url)
    expect(page.locator("main")).to_contain_text("Why: typed wrong")
    page.goto("/k/marrowby/book/?kind=reading")
    expect(page.locator(".entry.replaced", has_text=wrong)).to_contain_text("19.5")
    expect(page.locator(".entry:not(.replaced)", has_text="typed wrong").first).to_contain_text("9.5")


def test_what_one_tap_wrote_is_undone_again(browse, view):
    page = browse("porter", **view)
    taps = Taps(page, view["size"])
    page.goto("/k/marrowby/fryers/F3/acts/")
    page.get_by_role("button", name="Skimmed").click()
    page.wait_for_url(lambda url: "/acts/" not in url)
    taps.on(page.locator(".messages").get_by_role("link", name="Undo"))
    taps.on(page.get_by_text("Tapped by mistake"))
    taps.on(page.get_by_role("button", name="Undo"))
    page.wait_for_url("**/book/*/")
    expect(page.locator(".entry-said.replaced")).to_contain_text("kimmed")
    assert taps.count <= 3


def test_two_taps_on_the_same_button_call_the_chef_once(browse):
    page = browse("porter")
    calls = page.locator(".entry", has_text="chef")
    page.goto("/k/marrowby/book/?kind=call")
    before = calls.count()
    page.goto("/k/marrowby/fryers/F2/read/")
    page.get_by_role("button", name="Call the chef").dblclick()
    page.wait_for_url(lambda url: "/read/" not in url)
    page.goto("/k/marrowby/book/?kind=call")
    expect(calls).to_have_count(before + 1)


def test_a_reading_can_be_taken_with_the_keyboard_alone(browse):
    page = browse("cook", size="desktop")
    page.goto("/k/marrowby/fryers/F2/read/")

    def tab_to(selector):
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        pytest.fail(f"{selector} is not reached by Tab")

    tab_to("input[name=all_so]")
    page.keyboard.press("Space")
    tab_to("input[name=oil_temp_c]")
    page.keyboard.type("150")
    tab_to("input[name=tpc_pct]")
    page.keyboard.type("14,5")
    page.keyboard.press("Enter")
    expect(page.locator("h1")).to_have_text(VERDICTS)


def test_what_was_typed_wrong_is_shown_again_with_what_to_do_and_the_focus_there(browse):
    page = browse("cook")
    page.goto("/k/marrowby/fryers/F2/read/")
    page.locator("input[name=all_so][value=yes]").check(force=True)
    page.locator("input[name=oil_temp_c]").fill("150")
    page.locator("input[name=tpc_pct]").fill("125")
    page.locator("form[data-entry] button.primary").click()
    expect(page.locator("input[name=tpc_pct]")).to_have_value("125")
    expect(page.locator("input[name=oil_temp_c]")).to_have_value("150")
    told = page.locator("main [role=alert]")
    expect(told).to_be_focused()
    told.get_by_role("link").first.click()
    expect(page.locator("input[name=tpc_pct]")).to_be_focused()


def test_what_if_redraws_the_forecast_without_leaving_the_page(browse):
    page = browse("cook")
    page.goto("/k/marrowby/fryers/F1/")
    page.locator("input[name=set_temp_c]").fill("185")
    page.locator("form[action*='what-if'] button, form[hx-get*='what-if'] button").first.click()
    expect(page.locator("[id^='life-supposed']").first).to_be_attached()
    assert page.url.endswith("/fryers/F1/")
