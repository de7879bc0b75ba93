"""Old oil: what stands in the yard, who took how much of it, and the receipt."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from kettlewell.records.models import Entry
from kettlewell.records.photos import MOST_BYTES

PDF = b"%PDF-1.7 invented"
SAID = {"mass_kg": "20,5", "carrier": "Harbour Oils", "receiver": "A refinery", "waste_code": "20 01 25"}


def receipt(content=PDF, name="<b>x.pdf", content_type="text/html"):
    return SimpleUploadedFile(name, content, content_type=content_type)


@pytest.fixture
def collect(cook, send):
    """Return a way to write as a cook that old oil was collected, and the page it leads to."""
    return lambda **said: send(cook, "collected", {**SAID, **said})


def written():
    return Entry.objects.filter(kind="collected").order_by("-seq").first()


def test_the_day_book_leads_to_it_and_it_says_what_stands_there(cook, inspector, write, collect, page):
    assert "Old oil" in page(inspector, "book")
    assert "No old oil stands in the yard" in page(inspector, "old-oil")
    write("change", {"fryer": "F1"}, ago=2)
    write("change", {"fryer": "F2"}, ago=1)
    shown = page(inspector, "old-oil")
    assert "About 28 kg of old oil stand in the yard" in shown
    assert "about 28 kg in 2 drainings" in shown
    assert "nobody weighed it" in shown
    assert "Old oil was collected" not in shown
    after = collect(paid="12,50", currency="eur").content.decode()
    assert "About 8 kg of old oil stand in the yard" in after
    for told in ("20.5 kg", "Harbour Oils", "A refinery", "20 01 25", "€12.50"):
        assert told in after
    assert written().payload["currency"] == "EUR"


def test_where_amounts_are_not_known_it_says_so(inspector, write, collect, page):
    write("change", {"fryer": "F1"}, ago=2)
    collect(mass_kg="")
    shown = page(inspector, "old-oil")
    assert "At most about 16 kg" in shown
    assert "Of 1 hand-over nobody knows how much it was." in shown


def test_more_handed_over_than_drained_is_said_as_it_is(cook, collect, page):
    collect()
    assert "About 20 kg more were handed over than drained, by the day book" in page(cook, "old-oil")


def test_carrier_and_code_are_offered_as_they_were_last(cook, collect, page):
    assert 'name="waste_code" value="20 01 25"' in page(cook, "collected")
    collect(waste_code="N 190", photo=receipt())
    shown = page(cook, "collected")
    for said in ('name="waste_code" value="N 190"', 'value="Harbour Oils"', 'value="A refinery"'):
        assert said in shown
    assert 'name="mass_kg" value' not in shown


def test_the_receipt_comes_back_as_a_file_of_its_own_type_to_those_who_read(
    signed_in, cook, inspector, stranger, collect
):
    collect(photo=receipt())
    path = f"/k/marrowby-test/book/{written().pk}/receipt/"
    assert path in signed_in(inspector).get("/k/marrowby-test/old-oil/").content.decode()
    answer = signed_in(inspector).get(path)
    assert answer.content == PDF
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'attachment; filename="receipt-{written().seq}.pdf"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"] == "private, no-store"
    assert signed_in(stranger).get(path).status_code == 404


def test_a_hand_over_without_a_receipt_has_none(signed_in, cook, collect):
    collect()
    assert signed_in(cook).get(f"/k/marrowby-test/book/{written().pk}/receipt/").status_code == 404


@pytest.mark.parametrize(
    "content", [b"<script>alert(1)</script>", b"%PDF-" + b"x" * MOST_BYTES, b"%PDF-" + b"x" * MOST_BYTES * 2]
)
def test_what_is_no_picture_or_too_large_is_refused_at_its_field(collect, content):
    answer = collect(photo=receipt(content, "x.pdf", "application/pdf"))
    assert list(answer.context["form"].errors) == ["photo"]
    assert written() is None


def test_a_file_of_just_the_largest_size_is_taken(collect):
    collect(photo=receipt(PDF + b"x" * (MOST_BYTES - len(PDF))))
    assert written() is not None


def test_a_file_is_taken_nowhere_else_and_by_no_other_name(signed_in, cook):
    for path, name in (("collected", "note"), ("book/recalls/new", "photo"), ("old-oil", "photo")):
        answer = signed_in(cook).post(f"/k/marrowby-test/{path}/", {**SAID, name: receipt()})
        assert answer.status_code in (400, 405), path
    two = {"photo": [receipt(), receipt()]}
    assert signed_in(cook).post("/k/marrowby-test/collected/", {**SAID, **two}).status_code == 400


def test_a_correction_keeps_the_receipt_and_asks_for_no_other(owner, signed_in, collect, page, send):
    collect(photo=receipt())
    first = written()
    assert 'type="file"' not in page(owner, "correct", first.pk)
    send(owner, "correct", {**SAID, "mass_kg": "21", "reason": "Weighed"}, first.pk)
    assert written().replaces == first
    assert signed_in(owner).get(f"/k/marrowby-test/book/{written().pk}/receipt/").content == PDF
