"""The receipt of a hand-over of old oil, through the server as it runs."""

import pytest
from playwright.sync_api import expect

from kettlewell.records.photos import MOST_BYTES

pytestmark = [pytest.mark.browser, pytest.mark.slow]
JPEG = b"\xff\xd8\xff\xe0" + b"x" * (MOST_BYTES - 4)


def hand_over(page, photo):
    page.goto("/k/marrowby/collected/")
    page.locator("input[name=mass_kg]").fill("40")
    page.locator("input[name=carrier]").fill("Harbour Oils")
    sent = {"name": "receipt.jpg", "mimeType": "image/jpeg", "buffer": photo}
    page.locator("input[name=photo]").set_input_files(sent)
    page.get_by_role("button", name="Save").click()


def test_a_receipt_of_the_largest_size_comes_back_as_it_was(browse):
    page = browse("cook")
    hand_over(page, JPEG)
    page.wait_for_url("**/old-oil/")
    with page.expect_download() as found:
        page.get_by_role("link", name="Receipt").first.click()
    assert found.value.path().read_bytes() == JPEG
    assert found.value.suggested_filename.endswith(".jpeg")


def test_one_that_is_larger_is_refused_at_its_field(browse):
    page = browse("cook")
    hand_over(page, JPEG + b"x")
    expect(page.locator("main [role=alert]")).to_contain_text("It is larger than 3 MB")
    hand_over(page, JPEG * 4)
    expect(page.locator("main [role=alert]")).to_contain_text("It is larger than 3 MB")
