"""The pages on which a table is brought in."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from tables_made import bomb, workbook

from kettlewell.records.models import Entry, KeptTable

ROWS = (
    "Date;Fryer;TPM;Topped up\n"
    "13.10.2026 10:00;Fries;12,5;\n14.10.2026 10:00;The old one;14;2\n15.10.2026 10:00;Fries;65;\n"
)


@pytest.fixture
def browser(signed_in, owner, marrowby):
    return signed_in(owner)


@pytest.fixture
def bring(browser, marrowby):
    """Send a file, and return the page that follows."""

    def sent(content, name="old.csv"):
        data = content.encode() if isinstance(content, str) else content
        file = SimpleUploadedFile(name, data)
        return browser.post(reverse("tables", args=[marrowby.slug]), {"table": file}, follow=True)

    return sent


def text(page):
    return " ".join(page.content.decode().split())


def test_a_table_is_seen_before_anything_is_written_and_brought_in_after_it(browser, bring, marrowby):
    page = bring(ROWS)
    assert "Which fryer is “The old one”?" in text(page)
    assert "<strong>1 entry</strong> is new" in text(page)
    assert not Entry.objects.filter(kind="reading").exists()
    here = page.redirect_chain[-1][0]
    answers = {**sendable(page), "fryer_1": "F2", "unit": "l"}
    page = browser.post(here, answers, follow=True)
    assert "<strong>3 entries</strong> are new" in text(page)
    assert "1 cell looks like a slip of the pen" in text(page)
    page = browser.post(here, {**sendable(page), "bring": "yes", "sure": "yes"}, follow=True)
    assert "4 entries brought in." in text(page)
    assert not KeptTable.objects.exists()
    assert Entry.objects.filter(kind="reading").count() == 3
    book = browser.get(reverse("book", args=[marrowby.slug]), {"kind": "reading"})
    assert text(book).count("From a file, see entry") == 3


def sendable(page):
    """Return the answers that the form of a page holds."""
    form = page.context["form"]
    return {name: "" if form[name].value() is None else str(form[name].value()) for name in form.fields}


def test_what_was_changed_is_looked_at_before_it_is_brought_in(browser, bring):
    page = bring(ROWS)
    here = page.redirect_chain[-1][0]
    page = browser.post(here, {**sendable(page), "fryer_1": "F2", "bring": "yes"}, follow=True)
    assert "Look at it once more" in text(page)
    assert not Entry.objects.filter(kind="reading").exists()


def test_problems_stay_on_the_page_after_the_rest_was_brought_in(browser, bring):
    page = bring(ROWS)
    here = page.redirect_chain[-1][0]
    page = browser.post(here, {**sendable(page), "bring": "yes"}, follow=True)
    assert "1 entry brought in." in text(page)
    assert "1 is in the day book already." in text(page)
    assert "&#x27;The old one&#x27; is no fryer of this kitchen" in text(page)


def test_html_in_a_table_and_its_name_is_shown_as_text(bring):
    evil = "<img src=x onerror=alert(1)>"
    page = bring(f"Date;Fryer;TPM;{evil}\n13.10.2026 10:00;{evil};{evil};{evil}\n", name=f"{evil}.csv")
    assert "<img src=x" not in page.content.decode()
    assert "&lt;img src=x" in page.content.decode()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (lambda: b"%PDF-1.7\n" + bytes(range(256)) * 9, "This is no table."),
        (bomb, "larger than 100 MB"),
        (lambda: b"x" * 10_000_001, "larger than 10 MB"),
        (lambda: b"", "empty"),
    ],
)
def test_what_is_no_table_is_refused_at_its_field_and_nothing_is_kept(bring, content, says):
    page = bring(content())
    assert says in text(page)
    assert not KeptTable.objects.exists()


def test_a_file_is_kept_once_for_each_person_and_gone_where_it_was_replaced(browser, bring):
    first = bring(ROWS).redirect_chain[-1][0]
    bring(workbook([["Date", "Fryer", "TPM"], ["2026-10-13 10:00", "Fries", 12.5]]), name="new.xlsx")
    assert KeptTable.objects.count() == 1
    assert "kept no longer" in text(browser.get(first, follow=True))
