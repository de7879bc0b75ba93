"""Photos of entries: which are taken, and that nothing takes them for text."""

import pytest
from django.core.exceptions import ValidationError

from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, entry_add
from kettlewell.records.photos import MOST_BYTES, type_of
from kettlewell.records.selectors import notes_of, photo_of
from kettlewell.records.tables import tables_of

SAID = {"carrier": "A firm", "waste_code": "20 01 25"}
JPEG, PNG, PDF = b"\xff\xd8\xff\xe0rest", b"\x89PNG\r\n\x1a\nrest", b"%PDF-1.7\nrest"


@pytest.fixture
def write(marrowby, hand):
    """Return a way to write a hand-over of old oil with its receipt."""

    def written(photo, **more):
        private = {"note": "Gästeeingang".encode(), "photo": photo, **more.pop("private", {})}
        told = Told(id=uuid7(hand.now), kind="collected", happened_at=hand.now, payload=SAID, private=private)
        return entry_add(marrowby, told, hand)[0]

    return written


@pytest.mark.parametrize(
    ("photo", "kind"), [(JPEG, "image/jpeg"), (PNG, "image/png"), (PDF, "application/pdf")]
)
def test_a_photo_is_known_by_its_first_bytes(write, photo, kind):
    assert type_of(photo) == kind
    assert photo_of(write(photo)) == photo


@pytest.mark.parametrize("photo", [b"", b"<svg onload=x>", b"GIF89a", b"x" + JPEG, JPEG + b"x" * MOST_BYTES])
def test_anything_else_is_refused_and_what_is_too_large(write, photo):
    with pytest.raises(ValidationError) as error:
        write(photo)
    assert set(error.value.message_dict) == {"photo"}


def test_a_photo_of_just_the_largest_size_is_taken(write):
    assert write(JPEG + b"x" * (MOST_BYTES - len(JPEG)))


def test_notes_and_tables_leave_photos_out(marrowby, write):
    entry = write(JPEG)
    assert notes_of([entry]) == {(entry.pk, "note"): "Gästeeingang"}
    (row,) = tables_of(marrowby)["collected"].rows
    assert "note: Gästeeingang" in row
    assert not any("photo" in str(cell) for cell in row)


def test_a_correction_goes_on_showing_the_receipt(marrowby, hand, write):
    entry = write(PDF)
    told = Told(
        id=uuid7(hand.now),
        kind="collected",
        happened_at=hand.now,
        payload={**SAID, "mass_kg": "20"},
        private={"reason": b"Weighed"},
        replaces=entry.pk,
    )
    assert photo_of(entry_add(marrowby, told, hand)[0]) == PDF
