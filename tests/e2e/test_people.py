"""Who sees what, with a real browser."""

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SCREENS = ("", "fryers/F1/", "book/", "kitchen/")


def test_an_inspector_reads_every_screen_and_can_write_nothing(browse):
    page = browse("inspector")
    for screen in SCREENS:
        assert page.goto(f"/k/marrowby/{screen}").status == 200
        expect(page.locator("main form[method=post]")).to_have_count(0)
        expect(page.get_by_role("link", name="Take a reading")).to_have_count(0)
    for screen in ("read/", "fryers/F1/read/", "fryers/F1/acts/", "people/"):
        assert page.context.request.get(f"/k/marrowby/{screen}").status == 403


def test_a_stranger_sees_nothing_and_is_asked_to_sign_in(browse):
    page = browse()
    for screen in SCREENS:
        page.goto(f"/k/marrowby/{screen}")
        expect(page.locator("input[name=password]")).to_be_visible()
        expect(page.locator("body")).not_to_contain_text("Marrowby")


def test_on_a_shared_tablet_a_cook_signs_with_name_and_pin(browse, marrowby_server):
    page = browse("owner")
    page.goto("/k/marrowby/people/")
    page.locator("input[name=tablet_name]").fill("By the fryers")
    page.get_by_role("button", name="Make this device a shared tablet").click()
    page.wait_for_url("**/sign/")
    page.get_by_text("Ben Carr").click()
    page.locator("input[name=pin]").fill(marrowby_server.people["cook"]["pin"])
    page.get_by_role("button", name="Sign", exact=True).click()
    page.wait_for_url("**/k/marrowby/")
    expect(page.locator("header.top")).to_contain_text("Ben Carr")
