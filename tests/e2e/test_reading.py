"""At the fryer, with a real browser: from a reading to what to do."""

import re

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
DESKTOP = {"width": 1280, "height": 900}
VERDICTS = re.compile("Fry on|Measure again|Change before frying|Change after this service|Stop frying")


class Taps:
    """Counts every tap that is not a digit of the pad."""

    def __init__(self, page):
        self.page, self.count = page, 0

    def on(self, locator):
        locator.tap()
        self.count += 1

    def digits(self, number):
        for digit in number:
            self.page.locator(".pad button", has_text=digit).first.tap()


def test_from_the_line_a_reading_leads_to_its_verdict_in_at_most_five_taps(browse):
    page = browse("cook")
    taps = Taps(page)
    strip = page.locator(".strip").first
    taps.on(strip.get_by_role("link", name="Take a reading"))
    taps.on(page.get_by_text("All four are so"))
    taps.on(page.locator("input[name=oil_temp_c]"))
    taps.digits("152")
    taps.on(page.locator("input[name=tpc_pct]"))
    taps.digits("12.5")
    taps.on(page.get_by_role("button", name="What does it mean?"))
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


def test_oil_that_smells_spoiled_is_to_be_changed_whatever_the_meter_said(browse):
    page = browse("cook")
    page.goto("/k/marrowby/fryers/F4/acts/senses/")
    page.locator("input[name=signs][value=smell]").check(force=True)
    page.locator("input[name=spoiled][value=yes]").check(force=True)
    page.locator("form[data-entry] button.primary").click()
    expect(page.locator("h1")).to_have_text(re.compile("Change before frying|Stop frying"))
    expect(page.get_by_text("The senses say spoiled")).to_be_visible()
    page.get_by_role("link", name="Say what was done").first.click()
    page.locator("input[name=oil_done][value=drained]").check(force=True)
    page.locator("input[name=food_done][value=none]").check(force=True)
    offered = page.locator("input[name=drained_by]")
    assert offered.count() >= 2
    expect(page.get_by_text("Cleo Dunn")).to_have_count(0)
    offered.first.check(force=True)
    page.locator("form[data-entry] button.primary").click()
    expect(page.locator("body")).not_to_contain_text("The senses say spoiled")


def test_a_wrong_reading_is_corrected_with_a_reason_and_both_are_kept(browse):
    page = browse("owner")
    page.goto("/k/marrowby/fryers/F5/read/")
    page.locator("input[name=all_so][value=yes]").check(force=True)
    page.locator("input[name=tpc_pct]").fill("19.5")
    page.locator("form[data-entry] button.primary").click()
    page.wait_for_url("**/told/**")
    page.goto("/k/marrowby/book/?kind=reading")
    page.locator(".entry a", has_text=re.compile("19.5")).first.click()
    page.get_by_role("link", name="Correct").click()
    page.locator("input[name=tpc_pct]").fill("9.5")
    page.locator("[name=reason]").first.fill("typed wrong")
    page.locator("form[data-entry] button.primary").click()
    page.goto("/k/marrowby/book/?kind=reading")
    expect(page.locator(".entry.replaced", has_text="19.5").first).to_be_visible()
    expect(page.locator(".entry:not(.replaced)", has_text="9.5").first).to_be_visible()


def test_a_reading_can_be_taken_with_the_keyboard_alone(browse):
    page = browse("cook", screen=DESKTOP)
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


def test_what_was_typed_wrong_is_shown_again_with_what_to_do(browse):
    page = browse("cook")
    page.goto("/k/marrowby/fryers/F2/read/")
    page.locator("input[name=all_so][value=yes]").check(force=True)
    page.locator("input[name=oil_temp_c]").fill("150")
    page.locator("input[name=tpc_pct]").fill("125")
    page.locator("form[data-entry] button.primary").click()
    expect(page.locator("input[name=tpc_pct]")).to_have_value("125")
    expect(page.locator("input[name=oil_temp_c]")).to_have_value("150")
    expect(page.locator(".errorlist").first).to_be_visible()


def test_what_if_redraws_the_forecast_without_leaving_the_page(browse):
    page = browse("cook")
    page.goto("/k/marrowby/fryers/F1/")
    page.locator("input[name=set_temp_c]").fill("185")
    page.locator("form[action*='what-if'] button, form[hx-get*='what-if'] button").first.click()
    expect(page.locator("[id^='life-supposed']").first).to_be_attached()
    assert page.url.endswith("/fryers/F1/")
