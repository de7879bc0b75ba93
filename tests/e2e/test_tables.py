"""A table brought in through the server as it runs, by somebody with a browser."""

import pytest
from playwright.sync_api import expect
from tables_made import workbook

from kettlewell.tables.sheets import MOST_BYTES

pytestmark = [pytest.mark.browser, pytest.mark.slow]
TABLE = workbook(
    [
        ["Log of the old kitchen"],
        ["Date", "Fryer", None, None],
        [None, "Left", "Right", "By"],
        ["3 April 2026 10:00", 12.5, 14, "AB"],
        ["4 April 2026 10:00", 13, "shut", "AB"],
    ],
    merged=("B2:C2",),
)


def choose(page, content, name="old.xlsx"):
    page.goto("/k/marrowby/kitchen/#old-readings")
    link = page.get_by_role("link", name="Bring in a table")
    if not link.is_visible():
        page.locator("#old-readings > summary").click()
    link.click()
    page.locator("input[type=file]").set_input_files({"name": name, "mimeType": "", "buffer": content})
    page.get_by_role("button", name="Look at it").click()


def test_a_table_is_looked_at_answered_brought_in_and_known_again(browse):
    page = browse("owner", size="phone")
    choose(page, TABLE)
    expect(page.get_by_role("heading", name="Please answer")).to_be_visible()
    page.get_by_label("Which fryer is “Left”?").select_option(index=1)
    page.get_by_label("Which fryer is “Right”?").select_option(index=2)
    page.get_by_role("button", name="Look again").first.click()
    expect(page.get_by_text("3 entries are new.")).to_be_visible()
    page.get_by_role("button", name="Bring in 3 entries").click()
    expect(page.get_by_text("3 entries brought in.")).to_be_visible()
    page = browse("owner", size="desktop")
    choose(page, TABLE)
    expect(page.get_by_text("3 are in the day book already.")).to_be_visible()
    expect(page.get_by_role("heading", name="Please answer")).to_have_count(0)
    expect(page.get_by_role("row", name="5 Fryer · Right 'shut' is not a number")).to_be_visible()


def test_a_file_that_is_too_large_is_refused_before_it_is_sent_and_by_the_server(browse):
    page = browse("owner")
    choose(page, b"x" * (MOST_BYTES + 1))
    said = page.locator("input[type=file]").evaluate("file => file.validationMessage")
    assert "larger than 10 MB" in said
    page.locator("input[type=file]").evaluate("file => file.form.noValidate = true")
    page.get_by_role("button", name="Look at it").click()
    expect(page.locator("main [role=alert]")).to_contain_text("larger than 10 MB")
