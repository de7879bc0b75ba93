"""What the screens say of entries that were brought in from a folder."""

import html

import pytest
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.folders import folder_bring
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.records.models import Entry
from kettlewell.records.verify import verify

pytestmark = pytest.mark.django_db


@pytest.fixture
def brought():
    return folder_bring(read_folder(MARROWBY), clock.now(), owner="Olive")


def page(brought, signed_in, name, *args):
    response = signed_in(brought.founder.person).get(reverse(name, args=(brought.kitchen.slug, *args)))
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def test_an_entry_is_told_with_who_wrote_it_in_the_file(brought, signed_in):
    row = Entry.objects.filter(kind="reading").order_by("-at").first()
    text = page(brought, signed_in, "entry", row.pk)
    assert "AB, from a file" in text or "CD, from a file" in text
    assert "The program" not in text


def test_the_day_book_says_which_entries_came_from_files(brought, signed_in):
    mark = Entry.objects.get(kind="imported")
    told = f"Entries {mark.payload['first']} to {mark.payload['last']} were brought in from files."
    assert told in page(brought, signed_in, "entry", mark.pk)


@pytest.mark.parametrize("name", ["line", "book", "meters", "kitchen", "people"])
def test_every_page_of_the_kitchen_opens(brought, signed_in, name):
    assert brought.founder.person.name in page(brought, signed_in, name)


def test_who_signed_in_the_file_can_be_erased(brought, signed_in):
    row = Entry.objects.filter(kind="reading").exclude(private__has_key="note").order_by("-at").first()
    assert row.private.keys() == {"name"}
    browser = signed_in(brought.founder.person)
    browser.post(reverse("erase", args=(brought.kitchen.slug, row.pk)))
    assert "from a file" not in page(brought, signed_in, "entry", row.pk)
    assert verify(brought.kitchen) is None
