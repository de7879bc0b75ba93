"""The book for an inspection and the month sheet: what stands in them, and for whom."""

import io
from dataclasses import replace
from datetime import timedelta

import pikepdf
import pytest

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.marks.qr import qr_printed
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, setting_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.settings import settings_of
from kettlewell.web.entry import paper
from kettlewell.web.inspection import views

READING = {"fryer": "F1", "no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}
ALL = "&".join(f"parts={key}" for key in views.PARTS)


@pytest.fixture
def sheets(monkeypatch):
    """What is set, in place of its pages: these have tests of their own."""
    found = []
    monkeypatch.setattr(paper, "typeset", lambda sheet: found.append(sheet) or b"%PDF-")
    return found


@pytest.fixture
def write(marrowby, hand):
    """Write an entry that happened now, or so long ago; return it."""

    def write_down(kind, payload, *, ago=timedelta(), hand=hand, **more):
        now = clock.now()
        told = Told(id=uuid7(now), kind=kind, happened_at=now - ago, payload=payload, **more)
        return record(marrowby, told, replace(hand, now=now)).entry

    return write_down


def said(sheet):
    """Return all that a sheet says, part by part under its headings of level 1."""
    parts, title = {}, ""
    for block in sheet.blocks:
        if block.block == "heading" and block.level == 1:
            title = block.text
        told = [getattr(block, "text", ""), *(cell for row in getattr(block, "rows", ()) for cell in row)]
        parts[title] = " | ".join([parts.get(title, ""), *filter(None, told)])
    return parts


def test_the_page_of_the_books_stands_under_the_day_book(signed_in, owner, marrowby):
    page = signed_in(owner).get(f"/k/{marrowby.slug}/inspection/").content.decode()
    assert f'href="/k/{marrowby.slug}/book/" aria-current="page"' in page


def book(client, marrowby, query=ALL):
    return client.get(f"/k/{marrowby.slug}/inspection/book/?{query}")


def test_the_book_is_a_pdf_in_the_readers_language(signed_in, owner, marrowby):
    for language in ("en", "de"):
        answer = signed_in(owner).get(
            f"/k/{marrowby.slug}/inspection/book/?{ALL}", headers={"accept-language": language}
        )
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
        assert answer["Content-Disposition"].startswith('inline; filename="kettlewell-marrowby-test-')
        assert str(pikepdf.open(io.BytesIO(answer.content)).Root.Lang) == language


def test_the_same_book_is_the_same_to_the_last_byte(signed_in, owner, marrowby):
    assert book(signed_in(owner), marrowby).content == book(signed_in(owner), marrowby).content


def test_it_tells_a_reading_with_its_verdict_and_who_took_it(signed_in, owner, marrowby, write, sheets):
    write("reading", READING | {"tpc_pct": "14.5", "oil_temp_c": "170"}, private={"note": b"After lunch"})
    book(signed_in(owner), marrowby)
    told = said(sheets[0])["Readings and verdicts"]
    assert "14.5 % in oil of 170 °C “After lunch” | Olive Owner | " in told.replace("\xa0", " ")
    verdict = Entry.objects.filter(kind="verdict").last()
    assert f"{float(verdict.payload['tpc_mean_pct']):.1f} ± " in told


def test_what_was_not_done_is_on_the_first_page_and_what_was_is_not(
    signed_in, owner, marrowby, write, sheets
):
    write("senses", {"fryer": "F1", "spoiled": True, "signs": ["smell"]})
    book(signed_in(owner), marrowby)
    first = said(sheets[0])["Records of frying oil"]
    assert "nobody wrote down what was done" in first
    assert "1; what was done is written down for 0 of them" in first
    verdict = Entry.objects.get(kind="verdict", fryer="F1")
    done = {"verdict": str(verdict.pk), "oil_done": "stored", "food_done": "thrown_away"}
    write("settled", {"fryer": "F1", **done, "drained_by": str(owner.pk)})
    book(signed_in(owner), marrowby)
    parts = said(sheets[1])
    assert "nobody wrote down" not in parts["Records of frying oil"]
    assert "Thrown away" in parts["What was wrong, and what was done"]


def test_what_was_said_after_the_last_day_of_the_book_closes_what_was_open_in_it(
    signed_in, owner, marrowby, write, sheets, monkeypatch
):
    write("senses", {"fryer": "F1", "spoiled": True, "signs": ["smell"]})
    verdict, now = Entry.objects.get(kind="verdict", fryer="F1"), clock.now()
    days = f"until={now.date()}&parts=deviations"
    book(signed_in(owner), marrowby, days)
    monkeypatch.setattr(clock, "now", lambda: now + timedelta(days=1))
    done = {"verdict": str(verdict.pk), "oil_done": "drained", "food_done": "none"}
    write("settled", {"fryer": "F1", **done, "drained_by": str(owner.pk)})
    book(signed_in(owner), marrowby, days)
    before, after = (said(sheet)["Records of frying oil"] for sheet in sheets)
    assert "nobody wrote down" in before
    assert "nobody wrote down" not in after


def test_a_fresh_fill_after_a_verdict_that_nobody_settled_is_told(signed_in, owner, marrowby, write, sheets):
    write("senses", {"fryer": "F1", "spoiled": True, "signs": ["smell"]})
    write("change", {"fryer": "F1", "drained_by": str(owner.pk)})
    book(signed_in(owner), marrowby)
    told = said(sheets[0])["What was wrong, and what was done"]
    assert "(Olive Owner). Of the old oil and the food nothing is written down." in told


def test_complaints_recalls_trainings_and_reviews_are_told(signed_in, owner, cook, marrowby, write, sheets):
    today = str(clock.now().date())
    write("complaint", {"fryer": "F1", "complained_of": ["taste"]})
    write("recall", {"delivery": "L-77"})
    write("training", {"trained": str(cook.pk), "trained_in": ["draining"]})
    write("review", {"first_day": today, "last_day": today})
    book(signed_in(owner), marrowby)
    parts = said(sheets[0])
    wrong = parts["What was wrong, and what was done"]
    assert "A guest complained" in wrong
    assert "L-77" in wrong
    assert "Cora Cook was trained" in parts["People"]
    assert "looked through" in parts["Corrected, undone, written down late"]


def test_old_oil_is_told_with_who_took_it(signed_in, owner, marrowby, write, sheets):
    handed = {"mass_kg": "40", "carrier": "Harbour Carts", "receiver": "Old Mill", "waste_code": "20 01 25"}
    write("collected", handed)
    book(signed_in(owner), marrowby)
    told = said(sheets[0])["Old oil"].replace("\xa0", " ")
    assert "40 kg | Harbour Carts | Old Mill | 20 01 25 | No" in told


def test_corrections_stand_with_what_they_correct_and_why(signed_in, owner, marrowby, write, sheets):
    first = write("reading", READING | {"tpc_pct": "41.5"}, sure=True)
    write("reading", READING | {"tpc_pct": "14.5"}, replaces=first.pk, private={"reason": b"Misread"})
    book(signed_in(owner), marrowby)
    parts = said(sheets[0])
    told = parts["Corrected, undone, written down late"]
    assert told.index("41.5") < told.index("14.5") < told.index("Misread")
    assert "41.5" not in parts["Readings and verdicts"]


def test_what_was_written_down_late_is_told(signed_in, owner, marrowby, write, sheets):
    write("top_up", {"fryer": "F1", "unit": "mark"}, ago=timedelta(hours=3))
    book(signed_in(owner), marrowby)
    assert "topped up to the mark" in said(sheets[0])["Corrected, undone, written down late"]


def test_only_the_days_asked_for_are_told(signed_in, owner, marrowby, write, sheets):
    write("top_up", {"fryer": "F1", "unit": "mark"}, ago=timedelta(days=3))
    today = clock.now().date()
    for since, until, times in ((1, 0, 0), (4, 2, 1), (9, 4, 0)):
        days = f"since={today - timedelta(days=since)}&until={today - timedelta(days=until)}&parts=changes"
        book(signed_in(owner), marrowby, days)
        assert said(sheets[-1]).get("Changes, top-ups and care", "").count("Oil topped up") == times


def test_only_the_parts_asked_for_are_told_between_the_first_page_and_the_code(
    signed_in, owner, marrowby, sheets
):
    book(signed_in(owner), marrowby, "parts=people")
    assert list(said(sheets[0])) == [
        "Records of frying oil",
        "People",
        "How to know that nothing was changed",
    ]
    code = said(sheets[0])["How to know that nothing was changed"]
    assert marrowby.head_hash in code.replace(" ", "")


def test_a_book_that_was_tampered_with_says_so_on_its_first_page(
    signed_in, owner, marrowby, sheets, drop_triggers
):
    drop_triggers()
    Entry.objects.filter(seq=5).update(fryer="F9")
    book(signed_in(owner), marrowby)
    assert "as it was written up to entry 4 only" in said(sheets[0])["Records of frying oil"]


@pytest.mark.parametrize(
    ("query", "wrong"),
    [
        ("since=2026-02-30", "enter a valid date"),
        ("since=2026-11-02&until=2026-11-01", "lies before the first"),
        ("since=1990-01-01", "Five years at most"),
        ("parts=secrets", "not one of the available choices"),
    ],
)
def test_what_cannot_be_asked_is_asked_again(signed_in, owner, marrowby, query, wrong):
    answer = book(signed_in(owner), marrowby, query)
    assert answer.status_code == 422
    assert wrong.casefold() in answer.text.casefold()


def test_the_month_sheet_has_a_page_for_each_fryer_and_a_row_for_each_day(
    signed_in, owner, marrowby, write, sheets
):
    write("reading", READING | {"tpc_pct": "14.5"})
    for _ in range(2):
        write("care", {"fryer": "F1", "care": "skim"})
    month = f"{clock.now():%Y-%m}"
    client = signed_in(owner)
    assert client.get(f"/k/{marrowby.slug}/inspection/month/?fryer=F1&month={month}").status_code == 200
    [table] = [block for block in sheets[0].blocks if block.block == "table"]
    [row] = table.rows
    assert (row[0], row[1].replace("\xa0", " "), row[4]) == (str(clock.now().day), "14.5 %", "2 × Skimmed")
    client.get(f"/k/{marrowby.slug}/inspection/month/?month={month}")
    assert [block.text[:2] for block in sheets[1].blocks if block.block == "heading"] != []
    assert client.get(f"/k/{marrowby.slug}/inspection/month/?month=1999-01").status_code == 422


def test_a_sheet_to_write_on_has_the_caution_first_and_fits_on_one_page(signed_in, cook, marrowby):
    answer = signed_in(cook).get(f"/k/{marrowby.slug}/inspection/blank/")
    assert len(pikepdf.open(io.BytesIO(answer.content)).pages) == 1


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_training_sheet_fits_on_one_page_with_a_sentence_for_each_picture(
    signed_in, cook, marrowby, language
):
    address = f"/k/{marrowby.slug}/inspection/teaching/"
    answer = signed_in(cook).get(address, headers={"accept-language": language})
    opened = pikepdf.open(io.BytesIO(answer.content))
    assert len(opened.pages) == 1
    assert str(opened.Root.Lang) == language
    figures = [
        one for one in opened.objects if isinstance(one, pikepdf.Dictionary) and one.get("/S") == "/Figure"
    ]
    assert len({str(figure.Alt) for figure in figures}) == len(figures) == 15


def test_the_training_sheet_tells_the_cautions_before_the_reading(signed_in, cook, marrowby, sheets):
    signed_in(cook).get(f"/k/{marrowby.slug}/inspection/teaching/")
    blocks = sheets[0].blocks
    assert blocks[1].weight == "framed"
    first, then = [block for block in blocks if block.block == "steps"]
    assert first.steps[0].text.startswith("Never water on burning oil")
    assert then.numbered
    assert any("meter's instructions" in step.text for step in then.steps)


def test_labels_lead_to_fryers_and_to_the_check_of_a_meter(signed_in, owner, marrowby, sheets):
    signed_in(owner).get(f"/k/{marrowby.slug}/inspection/labels/")
    [labels] = [block.labels for block in sheets[0].blocks if block.block == "labels"]
    assert [label.name for label in labels] == ["Fries (F1)", "Fish (F2)", "Hand meter"]
    assert labels[0].svg == str(qr_printed(f"http://testserver/k/{marrowby.slug}/fryers/F1/"))
    assert labels[2].svg == str(qr_printed(f"http://testserver/k/{marrowby.slug}/meters/check/?meter=hand"))


def test_without_an_address_for_phones_there_are_no_labels_and_it_is_said(signed_in, owner, marrowby):
    client = signed_in(owner)
    told = client.get(f"/k/{marrowby.slug}/inspection/labels/", headers={"host": "localhost"}, follow=True)
    assert "No address is known here" in told.text


def test_an_inspector_may_have_it_and_a_stranger_sees_nothing(signed_in, inspector, stranger, marrowby):
    assert book(signed_in(inspector), marrowby).status_code == 200
    assert book(signed_in(stranger), marrowby).status_code == 404


def test_the_day_book_leads_to_it(signed_in, owner, marrowby):
    assert f"/k/{marrowby.slug}/inspection/" in signed_in(owner).get(f"/k/{marrowby.slug}/book/").text


def test_a_book_of_past_days_tells_the_settings_of_those_days_and_what_was_set_otherwise_in_them(
    signed_in, owner, marrowby, hand, sheets, monkeypatch
):
    last_day = clock.now()
    for days, degrees in ((0, "181"), (3, "163")):
        now = last_day + timedelta(days=days)
        monkeypatch.setattr(clock, "now", lambda now=now: now)
        values = {**settings_of(Kitchen.objects.get(pk=marrowby.pk))["fryers"]["F1"], "set_temp_c": degrees}
        setting_add(marrowby, "fryers", "F1", values, hand=replace(hand, now=now))
    for until in (last_day, last_day + timedelta(days=3)):
        days = f"since={last_day.date()}&until={until.date()}"
        book(signed_in(owner), marrowby, f"{days}&parts=kitchen")
    then, now = (said(sheet)["The kitchen and its limits"].replace("\xa0", " ") for sheet in sheets)
    fryer_then, changed_then = then.split("What was set otherwise")
    assert "181 °C" in fryer_then
    assert "Set temperature: 181 °C | Olive Owner" in changed_then
    assert "163 °C" not in then
    assert "163 °C" in now.split("What was set otherwise")[0]
    assert "Set temperature: 163 °C" in now
