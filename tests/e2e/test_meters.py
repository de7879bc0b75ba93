"""The meters on a phone: a check from the button to what it means, adjusting, and the look-back."""

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def check(page, *readings):
    """Type a check and send it."""
    page.locator("input[name=oil_temp_c]").fill("50")
    for n, reading in enumerate(readings, start=1):
        page.locator(f"input[name=reading_{n}]").fill(reading)
    page.get_by_role("button", name="Save and see the verdict").tap()
    page.wait_for_url(lambda url: "/meters/check/" not in url)


def test_a_meter_is_checked_adjusted_and_read_again(browse):
    """With the number pad, with commas, and from one page to the next by its own buttons."""
    page = browse("cook")
    page.goto("/k/marrowby/")
    page.get_by_role("navigation", name="Screens").get_by_role("link", name="Meters").tap()
    page.get_by_role("link", name="Check this meter").tap()
    expect(page.locator(".steps li")).to_have_count(4)
    page.locator("input[name=reading_1]").tap()
    for digit in "20":
        page.locator(".pad button", has_text=digit).first.tap()
    expect(page.locator("input[name=reading_1]")).to_have_value("20")
    check(page, "20,5", "20.5", "20,5")
    expect(page.locator("h1 .verdict")).to_have_text("Adjust it")
    page.get_by_role("link", name="Read it again after adjusting").tap()
    expect(page.locator("h1")).to_have_text("Read it again after adjusting")
    check(page, "18", "18", "18")
    expect(page.locator("h1 .verdict")).to_have_text("Fit for use")
    expect(page.locator("main")).to_contain_text("It reads right")
    page.get_by_role("link", name="To the meters").tap()
    expect(page.locator("figure.chart").first).to_contain_text("adjusted")


def test_after_a_failed_check_a_verdict_is_settled_by_who_answers_for_the_kitchen(browse):
    page = browse("owner")
    page.goto("/k/marrowby/book/?kind=meter_check")
    page.locator(".entry .said a", has_text="16.5").first.tap()
    page.get_by_role("link", name="What it found").tap()
    page.get_by_role("link", name="Look back at its verdicts").tap()
    expect(page.locator("p.verdict")).to_contain_text("verdicts used this meter.")
    page.locator("main details > summary", has_text="slight doubt").tap()
    page.get_by_role("link", name="Was it right?").first.tap()
    page.locator("label", has_text="It was wrong").tap()
    page.locator("label", has_text="Drained into the waste-oil drum").tap()
    page.locator("label", has_text="Served already").tap()
    page.get_by_role("button", name="Save").tap()
    page.wait_for_url("**/back/")
    settled = page.locator(".entry.back", has_text="was wrong: the meter was off")
    expect(settled).to_contain_text("Ada Brook")
    expect(settled.get_by_role("link", name="Was it right?")).to_have_count(0)


def test_a_look_back_prints_what_is_in_doubt_without_buttons(browse):
    page = browse("inspector", size="desktop")
    page.goto("/k/marrowby/book/?kind=meter_check")
    page.locator(".entry .said a", has_text="16.5").first.click()
    page.get_by_role("link", name="What it found").click()
    page.get_by_role("link", name="Look back at its verdicts").click()
    page.emulate_media(media="print")
    expect(page.locator("dl.printed")).to_be_visible()
    expect(page.locator(".entry.back").first).to_be_visible()
    expect(page.locator("main details .entry.back").last).to_be_hidden()
    expect(page.get_by_role("link", name="To the meters")).to_be_hidden()
