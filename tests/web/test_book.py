"""The day book: what its pages say, and how corrections stand in it."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import translation

from kettlewell import clock
from kettlewell.book.kinds import KINDS
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, setting_add
from kettlewell.records.models import Entry, Role
from kettlewell.records.people import SeatTerms, seat_remove, seat_set
from kettlewell.records.selectors import notes_of
from kettlewell.records.settings import settings_of
from kettlewell.telling import reader
from kettlewell.web.book.forms import KIND_NAMES
from kettlewell.web.entry.names import Names
from kettlewell.web.entry.sentences import TEXTS, figure, sentence

SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
READING = {"fryer": "F1", "tpc_pct": "12.5", "oil_temp_c": "170", "meter": "hand", **SOUND}
SKIM = {"fryer": "F1", "care": "skim"}
NAMES = Names(
    things={
        ("fryers", "F1"): "Fries",
        ("fryers", "F2"): "Fish",
        ("oils", "rapeseed"): "Rapeseed oil",
        ("products", "fries"): "Frozen fries",
        ("meters", "hand"): "Hand meter",
        ("reference_lots", "bottle"): "Lot 7",
    },
    people={},
)
NOW = datetime(2026, 11, 15, 12, tzinfo=UTC)
ENGLISH, GERMAN = (reader("Europe/London", NOW, locale=locale) for locale in ("en-gb", "de"))
VERDICT = "018f2f7e-0000-7000-8000-000000000001"

CHECK = {"meter": "hand", "lot": "bottle", "readings": ["17.5", "18"], "adjusted": False}
RELIED = {"fryer": "F1", "verdict": VERDICT, "check": VERDICT}
NOT_STANDING = (
    "The verdict on Fries was wrong: the meter was off. "
    "Oil: I don't know. Food: Kept apart until the chef decides."
)

SAID = [
    ("reading", READING, "Fries read: 12.5 %, the oil at 170 °C."),
    ("reading", {"fryer": "F1", "tpc_pct": "9", **SOUND}, "Fries read: 9 %."),
    ("laboratory", {"fryer": "F1", "tpc_pct": "17.25"}, "Laboratory on Fries: 17.25 %."),
    ("senses", {"fryer": "F1", "spoiled": True, "signs": ["smoke"]}, "The oil of Fries is spoiled: Smoke."),
    ("senses", {"fryer": "F1", "spoiled": False}, "The oil of Fries was smelt and looked at: nothing wrong."),
    ("top_up", {"fryer": "F1", "unit": "mark"}, "Fries topped up to the mark."),
    (
        "top_up",
        {"fryer": "F1", "unit": "jug", "amount": "1.5", "mass_kg": "2.76"},
        "Fries topped up. Jugs: 1.5 (2.76 kg).",
    ),
    ("care", {"fryer": "F1", "care": "skim"}, "Fries skimmed."),
    ("change", {"fryer": "F1", "oil": "rapeseed"}, "Fries emptied and filled fresh with Rapeseed oil."),
    ("move", {"fryer": "F1", "into": "F2"}, "Oil moved from Fries into Fish, as much as fits."),
    (
        "load",
        {"fryer": "F1", "product": "fries", "unit": "kg", "amount": "26.5", "mass_kg": "26.5"},
        "26.5 kg of Frozen fries fried in Fries.",
    ),
    (
        "load",
        {"fryer": "F1", "product": "fries"},
        "Frozen fries fried in Fries, amount not known.",
    ),
    ("hot_hours", {"fryer": "F1", "hot_h": "2.25"}, "Fries hot for 2.25 hours."),
    ("order", {"fryer": "F1", "back": False}, "Fries taken out of use."),
    (
        "settled",
        {"fryer": "F1", "verdict": VERDICT, "oil_done": "drained", "food_done": "none"},
        "Done at Fries. Oil: Drained into the waste-oil drum. Food: Nothing was fried.",
    ),
    ("meter_check", CHECK, "Hand meter checked in the reference oil Lot 7: 17.5 / 18 %."),
    (
        "meter_check",
        {**CHECK, "oil_temp_c": "50"},
        "Hand meter checked in the reference oil Lot 7 at 50 °C: 17.5 / 18 %.",
    ),
    (
        "meter_check",
        {**CHECK, "adjusted": True},
        "Hand meter adjusted, and read in the reference oil Lot 7 after it: 17.5 / 18 %.",
    ),
    ("meter_order", {"meter": "hand", "back": False}, "The meter Hand meter was taken out of use."),
    ("meter_order", {"meter": "hand", "back": True}, "The meter Hand meter is back in use."),
    (
        "comparison",
        {"meter": "second", "against": "hand", "oil": "rapeseed"},
        "second was compared with Hand meter in Rapeseed oil; what was found counts from then on.",
    ),
    (
        "comparison",
        {"meter": "hand", "oil": "rapeseed"},
        "Hand meter was compared with the laboratory in Rapeseed oil; what was found counts from then on.",
    ),
    ("relied", {**RELIED, "stands": "stands"}, "The verdict on Fries was right, although the meter was off."),
    (
        "relied",
        {**RELIED, "stands": "not", "oil_done": "unknown", "food_done": "held"},
        NOT_STANDING,
    ),
    (
        "relied",
        {**RELIED, "stands": "unknown"},
        "Nobody knows whether the verdict on Fries was right: the meter was off.",
    ),
    (
        "setting",
        {"thing": "fryers", "key": "F1", "values": {}},
        "Settings of the fryer Fries saved.",
    ),
    ("setting", {"thing": "fryers", "key": "F9", "removed": True}, "The fryer F9 was taken off the list."),
]


@pytest.fixture
def write(marrowby, cook):
    """Return a way to write an entry ``ago`` minutes ago, by a cook, as a phone sends it."""

    def written(kind="reading", payload=READING, *, ago=0, by=cook, **told):
        now = clock.now()
        one = Told(id=uuid7(now), kind=kind, happened_at=now - timedelta(minutes=ago), payload=payload)
        return record(marrowby, replace(one, **told), Hand(person=by, now=now)).entry

    return written


@pytest.fixture
def page(marrowby, signed_in):
    """Return a way to read a page of the day book as someone."""

    def text(person, name="book", *args, **query):
        response = signed_in(person).get(reverse(name, args=(marrowby.slug, *args)), query)
        assert response.status_code == 200
        return response.content.decode()

    return text


@pytest.mark.parametrize(("kind", "payload", "said"), SAID)
def test_entry_is_said_in_one_plain_sentence(kind, payload, said):
    with translation.override("en-gb"):
        assert sentence(kind, payload, NAMES, ENGLISH) == said


def test_every_kind_of_entry_has_a_sentence_and_a_name():
    assert set(TEXTS) | {kind.key for kind in KINDS.values() if kind.says} == set(KINDS) == set(KIND_NAMES)


def test_numbers_are_written_as_the_reader_writes_them():
    assert "12,5 %" in sentence("reading", READING, NAMES, GERMAN)


def test_no_decimal_of_a_written_number_is_lost():
    assert figure("17.25", ENGLISH) == "17.25"
    assert figure("20", ENGLISH) == "20"


def test_book_reads_newest_first(cook, write, page):
    write(ago=300)
    write("care", {"fryer": "F1", "care": "skim"}, ago=10)
    text = page(cook)
    assert text.index("Fries (F1) skimmed.") < text.index("Fries (F1) read: 12.5 %")


def test_book_shows_fifty_entries_a_page(marrowby, cook, page):
    hand = Hand(person=cook, now=clock.now())
    for number in range(60):
        told = Told(id=uuid7(hand.now), kind="call", happened_at=hand.now, payload={"fryer": "F1"})
        record(marrowby, replace(told, happened_at=hand.now - timedelta(minutes=number)), hand)
    assert page(cook, kind="call").count("The chef was called to Fries (F1).") == 50
    assert page(cook, kind="call", page=2).count("The chef was called to Fries (F1).") == 10


@pytest.fixture
def summer(marrowby, cook):
    """Read F1 on three evenings of July 2025, half an hour after midnight by the kitchen's clocks."""
    for day in (1, 2, 3):
        at = datetime(2025, 7, day, 23, 30, tzinfo=UTC)
        told = Told(id=uuid7(at), kind="reading", happened_at=at, payload={**READING, "tpc_pct": f"1{day}.5"})
        record(marrowby, told, Hand(person=cook, now=clock.now()))


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ({"since": "2025-07-03"}, [12, 13]),
        ({"until": "2025-07-03"}, [11, 12]),
        ({"since": "2025-07-03", "until": "2025-07-03"}, [12]),
        ({"since": "2025-07-03", "fryer": "F2"}, []),
        ({"since": "third of July", "until": "2025-07-02"}, [11]),
    ],
)
def test_book_is_filtered_by_days_of_the_kitchens_calendar(cook, summer, page, asked, shown):
    text = page(cook, kind="reading", **{"fryer": "F1", **asked})
    assert [number for number in (11, 12, 13) if f"{number}.5 %" in text] == shown


def test_last_day_before_the_first_is_said_at_its_field(cook, summer, page):
    text = page(cook, since="2025-07-03", until="2025-07-02")
    assert "This day lies before the first." in text


def test_pages_keep_what_was_asked_for(cook, write, page):
    for minutes in range(51):
        write("care", SKIM, ago=minutes)
    asked = "fryer=F1&amp;kind=care&amp;since=2025-07-03"
    assert f"?page=2&amp;{asked}" in page(cook, fryer="F1", kind="care", since="2025-07-03")


def printed_head(text):
    """Return what stands only on paper above the entries, as words."""
    head = text[text.index('<dl class="facts printed">') :]
    return " ".join(re.sub(r"<[^>]+>", " ", head[: head.index("</dl>")]).split())


def test_printed_book_says_of_which_fryer_kind_and_days_it_is(cook, summer, page):
    text = page(cook, fryer="F1", kind="reading", since="2025-07-02", until="2025-07-04")
    said = "Fryer Fries (F1) What Readings From 2 Jul 2025 To 4 Jul 2025 Entries 3 Printed "
    assert printed_head(text).startswith(said)


def test_printed_book_says_which_page_of_how_many_it_is(cook, write, page):
    for minutes in range(51):
        write("care", SKIM, ago=minutes)
    said = "Fryer All fryers What Skimming, filtering, boiling out Entries 51: Page 2 of 2 Printed "
    assert printed_head(page(cook, kind="care", page="2")).startswith(said)


def test_long_book_asks_the_database_no_more_than_a_short_one(cook, write, page):
    asked = []
    for _ in range(2):
        for minutes in range(8):
            write(ago=minutes)
        page(cook)  # settings are read once
        with CaptureQueriesContext(connection) as queries:
            page(cook)
        asked.append(len(queries))
    assert asked[0] == asked[1]


def test_book_of_one_fryer_holds_what_was_moved_into_it(cook, write, page):
    write("change", {"fryer": "F1"}, ago=300)
    write("move", {"fryer": "F1", "into": "F2", "mass_kg": "5"}, ago=200)
    text = page(cook, fryer="F2")
    assert "5 kg of oil moved from Fries (F1) into Fish (F2)" in text
    assert "emptied" not in text
    assert text.count("Verdict for Fish (F2):") == 1


def test_what_was_told_stands_with_the_entry_it_answers(cook, write, page):
    entry = write()
    text = page(cook)
    assert text.count("Verdict for Fries (F1):") == 1
    assert text.index("Fries (F1) read:") < text.index("Verdict for Fries (F1):")
    told = Entry.objects.get(payload__answers=str(entry.pk))
    assert reverse("entry", args=(entry.kitchen.slug, told.pk)) in text


@pytest.fixture
def bottle(marrowby, hand):
    setting_add(
        marrowby, "reference_lots", "bottle", {"name": "Lot 7", "tpc_pct": 18, "expanded_u_pct": 1}, hand=hand
    )


@pytest.mark.usefixtures("bottle")
def test_all_that_was_told_in_answer_to_a_meter_check_stands_with_it(cook, write, page):
    check = write("meter_check", CHECK)
    fryers = list(check.answers.values_list("fryer", flat=True))
    assert fryers == ["F1", "F2"]
    text, own, entry = page(cook), page(cook, fryer="F2"), page(cook, "entry", check.pk)
    for said in ("Verdict for Fries (F1):", "Verdict for Fish (F2):"):
        assert text.count(said) == entry.count(said) == 1
    assert ("Verdict for Fries (F1):" in own, "Verdict for Fish (F2):" in own) == (False, True)


@pytest.mark.usefixtures("bottle")
@pytest.mark.parametrize("kind", ["meter_check", "meter_order", "relied"])
def test_what_decides_over_meters_and_verdicts_is_undone_by_who_sets_up_the_kitchen(
    kind, cook, owner, write, signed_in, page
):
    check = write("meter_check", CHECK)
    relied = {"fryer": "F1", "check": str(check.pk), "stands": "stands"}
    relied["verdict"] = str(check.answers.get(fryer="F1").pk)
    entry = {
        "meter_check": lambda: check,
        "meter_order": lambda: write(kind, {"meter": "hand", "back": False}, by=owner),
        "relied": lambda: write(kind, relied, by=owner),
    }[kind]()
    address = reverse("undo", args=(entry.kitchen.slug, entry.pk))
    assert (">Undo</a>" in page(cook, "entry", entry.pk)) is (kind == "meter_check")
    for person in (cook, owner):
        signed_in(person).post(address, {"why": "slip"})
        assert Entry.objects.filter(replaces=entry).exists() is (person is owner or kind == "meter_check")


def test_correction_and_what_it_corrects_lead_to_each_other(cook, write, page):
    wrong = write(ago=20)
    right = write(
        payload={**READING, "tpc_pct": "13"}, ago=20, replaces=wrong.pk, private={"reason": b"Misread."}
    )
    text = page(cook)
    assert "Fries (F1) read: 12.5 %" in text
    assert "Fries (F1) read: 13 %" in text
    assert "Why: Misread." in text
    assert reverse("entry", args=(wrong.kitchen.slug, right.pk)) in page(cook, "entry", wrong.pk)
    assert reverse("entry", args=(wrong.kitchen.slug, wrong.pk)) in page(cook, "entry", right.pk)


def test_people_who_left_keep_their_names_in_the_book(marrowby, owner, area_manager, write, page, hand):
    terms = SeatTerms(role=Role.AREA_MANAGER, trained_to_drain=True)
    seat_set(marrowby, area_manager, terms, hand=hand)
    write("change", {"fryer": "F1", "drained_by": str(area_manager.pk)})
    seat_remove(marrowby, area_manager, hand=hand)
    text = page(owner)
    assert "Ari Area no longer has a place in this kitchen." in text
    assert str(area_manager.pk) not in text
    change = Entry.objects.get(kind="change")
    assert "Ari Area" in page(owner, "entry", change.pk)
    assert "<span>Ari Area</span>" in page(owner, "correct", change.pk)


def test_late_entry_says_when_it_was_written_down(cook, write, page):
    write(ago=5)
    assert "written down" not in page(cook)
    write(ago=300)
    assert "written down" in page(cook)


def test_clock_wrong_by_more_than_a_minute_is_said(cook, write, page):
    write(clock_error_s=Decimal(50))
    assert "The clock of the phone" not in page(cook)
    write(ago=-3, clock_error_s=Decimal(180))
    assert "The clock of the phone was 3 minutes fast" in page(cook)


def test_conditions_that_were_not_met_are_said(cook, write, page):
    write(payload={**READING, "steady": "no", "no_food": "unknown"})
    text = page(cook)
    assert "Not so: Temperature steady." in text
    assert "Not known: Bath empty of food." in text


def test_verdict_shows_the_settings_of_its_day(marrowby, owner, cook, write, page):
    entry = write()
    fish = {**settings_of(marrowby)["fryers"]["F2"], "name": "Fish and scampi"}
    setting_add(marrowby, "fryers", "F2", fish, hand=Hand(person=owner, now=clock.now()))
    told = Entry.objects.get(payload__answers=str(entry.pk))
    text = page(cook, "entry", told.pk)
    assert "Fish" in text
    assert "Fish and scampi" not in text


def test_foot_names_the_last_entry_and_the_beginning_of_its_code(marrowby, cook, write, page):
    write()
    marrowby.refresh_from_db()
    head = marrowby.head_hash
    code = " ".join(head[begin : begin + 4] for begin in range(0, 16, 4))
    assert f"number {marrowby.head_seq}, its check code begins with {code}." in page(cook)


def test_inspector_reads_entries_and_changes_none(inspector, cook, write, page):
    entry = write()
    assert ">Undo</a>" in page(cook, "entry", entry.pk)
    text = page(inspector, "entry", entry.pk)
    assert "Fries (F1) read: 12.5 %" in text
    assert ">Undo</a>" not in text
    assert reverse("correct", args=(entry.kitchen.slug, entry.pk)) not in text


def test_correcting_keeps_the_time_and_both_entries(cook, write, signed_in):
    wrong = write(ago=90)
    address = reverse("correct", args=(wrong.kitchen.slug, wrong.pk))
    client = signed_in(cook)
    assert 'value="12.5"' in client.get(address).content.decode()
    sent = {**READING, "tpc_pct": "13,5", "reason": "Misread."}
    assert client.post(address, sent).status_code == 302
    right = Entry.objects.get(replaces=wrong)
    assert right.payload["tpc_pct"] == "13.5"
    assert abs(right.happened_at - wrong.happened_at) < timedelta(seconds=1)
    assert Entry.objects.filter(pk=wrong.pk).exists()


def test_a_correction_offers_the_reasons_that_undoing_does(cook, write, signed_in, page):
    wrong = write()
    asked = {name: page(cook, name, wrong.pk) for name in ("correct", "undo")}
    for text in asked.values():
        tiles, words = text.index("Tapped by mistake"), text.index('name="reason"')
        assert text.index("Wrong fryer") < text.index("Wrong number") < tiles < words
        assert f'href="{reverse("entry", args=(wrong.kitchen.slug, wrong.pk))}">Back</a>' in text
    sent = {**READING, "tpc_pct": "13", "why": "number"}
    signed_in(cook).post(reverse("correct", args=(wrong.kitchen.slug, wrong.pk)), sent)
    right = Entry.objects.get(replaces=wrong)
    assert notes_of([right]) == {(right.pk, "reason"): "Wrong number"}


def test_correction_without_a_reason_writes_nothing(cook, write, signed_in):
    wrong = write()
    sent = {**READING, "tpc_pct": "13"}
    response = signed_in(cook).post(reverse("correct", args=(wrong.kitchen.slug, wrong.pk)), sent)
    assert response.status_code == 200
    assert not Entry.objects.filter(replaces=wrong).exists()
    text = response.content.decode()
    summary = text[text.index('role="alert"') :]
    assert 'href="#id_why"' in summary[: summary.index("</ul>")]


def test_number_pad_is_shown_only_where_a_number_is_asked_for(cook, write, page):
    asked = {kind: write(kind, payload) for kind, payload in (("reading", READING), ("care", SKIM))}
    shown = {kind: 'class="pad"' in page(cook, "correct", entry.pk) for kind, entry in asked.items()}
    assert shown == {"reading": True, "care": False}


def test_undoing_marks_the_entry_and_twice_is_once(cook, write, signed_in, page):
    wrong = write()
    address = reverse("undo", args=(wrong.kitchen.slug, wrong.pk))
    client = signed_in(cook)
    for _ in range(2):
        assert client.post(address, {"why": "fryer", "reason": "It was F2."}).status_code == 302
    undone = Entry.objects.get(replaces=wrong, kind="undone")
    assert notes_of([undone]) == {(undone.pk, "reason"): "Wrong fryer; It was F2."}
    assert "undone" in page(cook, "entry", wrong.pk)


def test_undoing_without_a_reason_writes_nothing(cook, write, signed_in):
    wrong = write()
    answer = signed_in(cook).post(reverse("undo", args=(wrong.kitchen.slug, wrong.pk)))
    assert list(answer.context["form"].errors) == ["why"]
    assert not Entry.objects.filter(replaces=wrong).exists()


@pytest.mark.parametrize(
    "odd",
    [
        {"phone_now": "1970-01-01T00:00:00Z"},
        {"phone_now": "soon"},
        {"entry_id": "00000000-0000-4000-8000-000000000000"},
        {"entry_id": "7"},
    ],
)
def test_an_undoing_with_an_odd_clock_or_id_is_refused_or_taken_and_never_a_fault(
    cook, write, signed_in, odd
):
    wrong = write()
    address = reverse("undo", args=(wrong.kitchen.slug, wrong.pk))
    answer = signed_in(cook).post(address, {"why": "fryer", **odd})
    undone = Entry.objects.filter(replaces=wrong).exists()
    assert answer.status_code == (302 if undone else 200)
    assert undone or answer.context["form"].errors


def test_verdict_of_the_program_cannot_be_undone(cook, write, signed_in):
    told = Entry.objects.get(payload__answers=str(write().pk))
    response = signed_in(cook).post(reverse("undo", args=(told.kitchen.slug, told.pk)), {"reason": "No."})
    assert response.status_code == 403
