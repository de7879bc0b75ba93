"""A paper book is typed in on one sheet: what can be is written once, what cannot be stays in its cell."""

import re
from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.records.models import Entry

ALSO = "?also=oil_temp_c&also=topped&also=changed"


@pytest.fixture
def sheet(signed_in, cook, marrowby):
    """Return a way to send a sheet: figures by days ago, number of the fryer and what they are of."""
    client = signed_in(cook)
    address = f"/k/{marrowby.slug}/backlog/{ALSO}"

    def send(figures, *, of=None, **more):
        page = client.get(address).content.decode()
        given = re.search(r'name="entry_id" value="([^"]+)"', page)[1]
        names = {f"{what}.{day(ago)}.{n}": figure for (ago, n, what), figure in figures.items()}
        about = {"entry_id": of or given, "at": "09:00", "sound": "yes", "meter": "hand"}
        answer = client.post(address, {**about, **names, **more}, follow=True)
        assert answer.status_code == 200
        return answer.content.decode()

    return send


def day(ago):
    return f"{(clock.now() - timedelta(days=ago)).date():%Y%m%d}"


def written(kind):
    return list(Entry.objects.filter(kind=kind).order_by("at"))


def test_each_cell_is_an_entry_of_its_day_at_the_time_of_the_sheet_marked_as_from_paper(sheet):
    sheet(
        {
            (5, 0, "changed"): "on",
            (4, 0, "tpc_pct"): "12,5",
            (4, 0, "oil_temp_c"): "170",
            (3, 0, "topped"): "2",
        }
    )
    [change], [reading], [top_up] = written("change"), written("reading"), written("top_up")
    assert reading.payload["tpc_pct"] == "12.5"
    assert reading.payload["steady"] == "yes"
    assert top_up.payload["amount"] == "2"
    assert {entry.payload["source"] for entry in (change, reading, top_up)} == {"paper"}
    assert {f"{entry.at.astimezone(clock.now().tzinfo):%Y%m%d}" for entry in (change, reading, top_up)} == {
        day(5),
        day(4),
        day(3),
    }


def test_a_day_is_read_before_it_is_filled_fresh(sheet):
    sheet({(5, 0, "changed"): "on", (3, 0, "changed"): "on", (3, 0, "tpc_pct"): "24"})
    [reading] = written("reading")
    assert reading.at == written("change")[1].at
    assert reading.seq < written("change")[1].seq


def test_nothing_of_it_gets_a_verdict_before_that_is_all_is_said(sheet, signed_in, cook, marrowby):
    page = sheet({(5, 0, "changed"): "on", (4, 0, "tpc_pct"): "12", (5, 1, "changed"): "on"})
    assert not written("verdict")
    assert "That is all" in page
    signed_in(cook).post(f"/k/{marrowby.slug}/late/")
    assert {verdict.fryer for verdict in written("verdict")} == {"F1", "F2"}


def test_what_cannot_be_is_said_in_its_cell_and_what_can_is_written(sheet):
    page = sheet(
        {
            (4, 0, "tpc_pct"): "abc",
            (4, 1, "tpc_pct"): "11",
            (3, 1, "tpc_pct"): "130",
            (3, 0, "oil_temp_c"): "170",
        }
    )
    assert [entry.payload["tpc_pct"] for entry in written("reading")] == ["11"]
    for kept in ("abc", "130", "170"):
        assert f'value="{kept}"' in page
    assert page.count('class="wrong"') == 7  # three cells, a sentence in each, and what 130 may mean
    assert "1 entry written down." in page


def test_a_sheet_with_nothing_typed_says_so(sheet):
    assert "Nothing is typed in yet." in sheet({})


def test_html_in_a_cell_is_shown_as_it_was_typed(sheet):
    page = sheet({(4, 0, "tpc_pct"): '"><b>1'})
    assert "&quot;&gt;&lt;b&gt;1" in page
    assert "<b>1" not in page


def test_a_sheet_of_a_dozen_fryers_may_be_sent(signed_in, cook, marrowby):
    names = {
        f"{what}.{day(ago)}.{n}": ""
        for what in ("tpc_pct", "oil_temp_c", "topped", "changed")
        for ago in range(14)
        for n in range(12)
    }
    assert signed_in(cook).post(f"/k/{marrowby.slug}/backlog/", names).status_code == 200


def test_what_is_unlikely_is_written_once_somebody_is_sure(sheet):
    page = sheet({(4, 0, "tpc_pct"): "70"})
    assert not written("reading")
    assert "Yes, it is right as it stands" in page
    sheet({(4, 0, "tpc_pct"): "70", (4, 0, "sure"): "on"})
    assert [entry.payload["tpc_pct"] for entry in written("reading")] == ["70"]


def test_a_sheet_that_is_sent_twice_is_written_once(sheet, marrowby):
    figures = {(4, 0, "tpc_pct"): "12", (3, 0, "tpc_pct"): "13"}
    own = "01890a5d-ac96-774b-bcce-b302099a8057"
    sheet(figures, of=own)
    sheet(figures, of=own)
    assert len(written("reading")) == 2


def test_what_the_day_book_has_of_a_day_is_shown_and_not_asked_again(sheet, write):
    taken = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")
    write("reading", {"fryer": "F1", "tpc_pct": "9", "oil_temp_c": "170", **taken}, ago=4)
    page = sheet({(4, 0, "tpc_pct"): "12"})
    assert [entry.payload["tpc_pct"] for entry in written("reading")] == ["9"]
    assert f"tpc_pct.{day(4)}.0" not in page
    assert f"tpc_pct.{day(4)}.1" in page


def test_a_time_that_is_none_is_asked_again_and_nothing_is_lost(sheet):
    page = sheet({(4, 0, "tpc_pct"): "12"}, at="morning")
    assert not written("reading")
    assert 'value="12"' in page


def test_what_is_not_a_day_late_gets_the_verdict_that_follows(sheet):
    sheet({(5, 0, "changed"): "on", (0, 0, "tpc_pct"): "12"})
    [verdict] = written("verdict")
    assert verdict.about == written("reading")[0]


def test_the_day_book_leads_to_it(cook, page):
    assert "/backlog/" in page(cook, "book")
