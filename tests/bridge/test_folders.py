"""A kitchen's folder goes into the day book and comes out of it, and says the same before and after."""

import shutil
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from drawn import START
from eventful import DAYS, Weeks
from ledgers import FILES, bring, read_ledger

from kettlewell import clock
from kettlewell.book import LabResult, Load, Reading
from kettlewell.book.kinds import COUNTING
from kettlewell.book.setup import Setup
from kettlewell.book.words import ToldError
from kettlewell.bridge.folders import folder_bring, folder_of
from kettlewell.bridge.setups import history_of
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import late_entries
from kettlewell.core import answer
from kettlewell.folder import MARROWBY, Earlier, Folder, Log, read_folder, write_folder
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add, private_erase
from kettlewell.records.models import Entry, Kitchen, Person, Private, Seat
from kettlewell.records.settings import settings_of

pytestmark = pytest.mark.django_db
NOW = START + timedelta(days=DAYS, hours=2)
INSTANTS = [NOW, NOW + timedelta(hours=5), NOW + timedelta(days=1, minutes=30)]


def weeks_folder(seed):
    """Return some eventful weeks as they are told in a folder."""
    weeks = Weeks(seed)
    epochs = weeks.history.epochs
    earlier = [
        Earlier(until=later.since, setup=Setup(kitchen=epoch.kitchen)) for epoch, later in pairwise(epochs)
    ]
    log = Log(entries=tuple(map(as_exact_as_the_book, weeks.entries)), problems=())
    return Folder(setup=Setup(kitchen=weeks.history.now), log=log, earlier=tuple(earlier))


def as_exact_as_the_book(entry):
    """Return an entry with its figure to two decimals, as a laboratory tells it and the day book keeps it."""
    return replace(entry, tpc_pct=round(entry.tpc_pct, 2)) if isinstance(entry, LabResult) else entry


def as_files(folder, place):
    """Return a folder as it is read back from files."""
    place.mkdir()
    write_folder(place, folder.setup, folder.log.entries, earlier=folder.earlier, notes=folder.log.notes)
    found = read_folder(place)
    assert found.log.problems == ()
    return found


def told(assessments):
    """Return what answers say, number by number, to where another order of sums may tell."""
    return {
        one.fryer: (
            one.verdict.key,
            one.verdict.reason.code,
            one.in_use,
            pytest.approx(one.tpc_mean_pct, abs=1e-6),
            pytest.approx(one.tpc_sd_pct, abs=1e-6),
            pytest.approx(one.verdict.passing_probability, abs=1e-6),
            one.verdict.holds_until,
        )
        for one in assessments
    }


def told_of_folder(folder, at, without=()):
    """Return what `kettlewell assess` answers."""
    entries = [entry for entry in folder.log.entries if entry.ref not in without]
    return told(answer(folder.history, entries, now=at).assessments)


def said(kitchen, kinds):
    """Return what a day book says, without ids and hands, in the order it was written."""
    kept = {}
    for row in Private.objects.filter(entry__kitchen=kitchen):
        kept.setdefault(row.entry_id, {})[row.field] = bytes(row.content).decode()
    rows = Entry.objects.filter(kitchen=kitchen, kind__in=kinds).exclude(payload__thing="people")
    return [(row.kind, row.at, row.payload, kept.get(row.pk, {})) for row in rows.order_by("seq")]


def lines_not_in(brought):
    return {f"log.csv:{problem.line}" for problem in brought.problems}


@pytest.mark.parametrize("seed", range(4))
def test_a_folder_brought_in_is_answered_as_it_was_before(seed, tmp_path):
    folder = as_files(weeks_folder(seed), tmp_path / "in")
    brought = folder_bring(folder, NOW)
    kitchen = Kitchen.objects.get()
    assert brought.written == len(folder.log.entries) - len(brought.problems)
    for at in INSTANTS:
        stands = standing(kitchen, at)
        assert not stands.recomputing
        assert told(stands.assessments) == told_of_folder(folder, at, lines_not_in(brought))


@pytest.mark.parametrize("seed", range(4))
def test_a_day_book_written_out_is_answered_as_the_server_answers(seed, tmp_path):
    folder_bring(as_files(weeks_folder(seed), tmp_path / "in"), NOW)
    kitchen = Kitchen.objects.get()
    out = as_files(folder_of(kitchen), tmp_path / "out")
    assert out.history == history_of(kitchen)
    for at in INSTANTS:
        assert told_of_folder(out, at) == told(standing(kitchen, at).assessments)


@pytest.mark.parametrize("seed", range(2))
def test_out_and_in_again_elsewhere_says_the_same(seed, tmp_path):
    folder_bring(as_files(weeks_folder(seed), tmp_path / "in"), NOW)
    first = Kitchen.objects.get()
    out = as_files(folder_of(first), tmp_path / "out")
    elsewhere = [replace(each, setup=renamed(each.setup)) for each in out.earlier]
    again = replace(out, setup=renamed(out.setup), earlier=tuple(elsewhere))
    brought = folder_bring(again, NOW, owner="owner")
    assert brought.problems == []
    assert said(brought.kitchen, COUNTING) == said(first, COUNTING)
    ours, theirs = settings_of(first), settings_of(brought.kitchen)
    ours, theirs = ({**things, "kitchen": {}, "people": {}} for things in (ours, theirs))
    assert ours == theirs


def renamed(setup):
    return replace(setup, kitchen=replace(setup.kitchen, name="Elsewhere"))


def test_twice_is_once_and_of_a_log_that_grew_what_is_new_is_written(tmp_path):
    whole = as_files(weeks_folder(1), tmp_path / "in")
    half = replace(whole, log=replace(whole.log, entries=whole.log.entries[::2]))
    first = folder_bring(half, NOW)
    second = folder_bring(half, NOW)
    assert (second.founder, second.written, second.verdicts) == (None, 0, {})
    assert Entry.objects.count() == Entry.objects.order_by("-seq").values_list("seq", flat=True).first()
    grown = folder_bring(whole, NOW)
    assert first.written + grown.written + len(grown.problems) == len(whole.log.entries)
    assert folder_bring(whole, NOW).written == 0


def test_a_log_in_another_order_writes_the_same_day_book(tmp_path):
    rows = [entry for entry in weeks_folder(2).log.entries if not isinstance(entry, Reading)]
    folder = replace(weeks_folder(2), log=Log(entries=tuple(rows), problems=()))
    first = folder_bring(as_files(folder, tmp_path / "in"), NOW).kitchen
    Random(0).shuffle(rows)  # noqa: S311 - no secret
    other = as_files(replace(folder, log=Log(entries=tuple(rows), problems=())), tmp_path / "other")
    other = replace(
        other,
        setup=renamed(other.setup),
        earlier=tuple(replace(each, setup=renamed(each.setup)) for each in other.earlier),
    )
    assert said(folder_bring(other, NOW, owner="owner").kitchen, COUNTING) == said(first, COUNTING)


def test_two_rows_alike_of_two_people_are_two_and_stay_two(tmp_path):
    folder = weeks_folder(3)
    load = Load(at=START + timedelta(hours=30), fryer="one", product="fries", mass_kg=3.0)
    twins = (replace(load, person="AB"), replace(load, person="CD"))
    folder = replace(folder, log=Log(entries=(*folder.log.entries, *twins), problems=()))
    place = as_files(folder, tmp_path / "in")
    kitchen = folder_bring(place, NOW).kitchen
    assert Entry.objects.filter(kind="load", at=load.at).count() == 2
    assert folder_bring(place, NOW).written == 0
    out = as_files(folder_of(kitchen), tmp_path / "out")
    assert sorted(entry.person for entry in out.log.entries if entry.at == load.at) == ["AB", "CD"]


def test_entries_alike_that_nobody_signed_are_told_apart_in_a_log(tmp_path):
    kitchen = folder_bring(as_files(weeks_folder(3), tmp_path / "in"), NOW).kitchen
    at = START + timedelta(hours=30)
    payload = {"fryer": "one", "product": "fries", "unit": "kg", "amount": "3", "mass_kg": "3"}
    for _ in range(2):
        told_twice = Told(id=uuid7(NOW), kind="load", happened_at=at, payload=payload)
        entry_add(kitchen, told_twice, Hand(person=None, now=NOW))
    out = as_files(folder_of(kitchen), tmp_path / "out")
    assert len([entry for entry in out.log.entries if entry.at == at]) == 2
    assert told_of_folder(out, NOW) == told(standing(kitchen, NOW).assessments)
    assert folder_bring(out, NOW).written == 0


def test_what_was_corrected_or_undone_goes_out_as_it_stands_and_does_not_come_back(tmp_path):
    folder = as_files(weeks_folder(4), tmp_path / "in")
    kitchen = folder_bring(folder, NOW).kitchen
    hand, readings = Hand(person=None, now=NOW), Entry.objects.filter(kind="reading").order_by("-at")
    wrong, never = readings[0], readings[1]
    right = {**wrong.payload, "tpc_pct": "9.5"}
    for kind, replaced, payload in (("reading", wrong, right), ("undone", never, {})):
        correction = Told(
            id=uuid7(NOW),
            kind=kind,
            happened_at=replaced.at,
            payload=payload,
            replaces=replaced.pk,
            private={"reason": b"Misread"},
        )
        entry_add(kitchen, correction, hand)
    out = as_files(folder_of(kitchen), tmp_path / "out")
    assert len(out.log.entries) == Entry.objects.filter(kind__in=COUNTING, replaced_by=None).count()
    assert told_of_folder(out, NOW) == told(standing(kitchen, NOW).assessments)
    for again in (folder, out):
        assert folder_bring(again, NOW).written == 0


def test_no_row_has_a_verdict_of_its_own_and_each_fryer_one_in_the_end(tmp_path):
    brought = folder_bring(as_files(weeks_folder(5), tmp_path / "in"), NOW)
    mark = Entry.objects.get(kind="imported")
    verdicts = Entry.objects.filter(kind="verdict")
    in_use = {one.fryer for one in standing(brought.kitchen, NOW).assessments if one.in_use}
    assert sorted(verdict.fryer for verdict in verdicts) == sorted(in_use) == sorted(brought.verdicts)
    assert all(verdict.seq > mark.seq and not verdict.payload["recomputing"] for verdict in verdicts)
    brought_in = Entry.objects.filter(kind__in=COUNTING).order_by("seq").values_list("seq", flat=True)
    assert [mark.payload["first"], mark.payload["last"]] == [
        str(seq) for seq in (brought_in[0], list(brought_in)[-1])
    ]


# ---- what is not written


def changed_folder(tmp_path, old, new, file="kitchen.toml"):
    place = tmp_path / "changed"
    shutil.copytree(MARROWBY, place)
    text = (place / file).read_text("utf-8")
    assert old in text
    (place / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    return lately(read_folder(place))


AFTER_MARROWBY = max(entry.at for entry in read_folder(MARROWBY).log.entries) + timedelta(hours=1)


def lately(folder):
    """Return a folder with the last days of its log, which are brought in sooner."""
    since = AFTER_MARROWBY - timedelta(days=9)
    entries = tuple(entry for entry in folder.log.entries if entry.at >= since)
    return replace(folder, log=replace(folder.log, entries=entries))


@pytest.fixture
def canteen(db):
    return folder_bring(lately(read_folder(MARROWBY)), AFTER_MARROWBY, owner="Olive")


def test_bad_rows_are_told_with_their_line_and_the_good_ones_are_written(canteen):
    assert [(problem.line, problem.field) for problem in canteen.problems] == [
        (256, "fryer"),
        (518, "amount"),
        (858, "unit"),
    ]
    assert canteen.written == len(lately(read_folder(MARROWBY)).log.entries)


def test_a_row_of_a_time_to_come_waits_for_it(tmp_path):
    folder = lately(read_folder(MARROWBY))
    early = AFTER_MARROWBY - timedelta(days=5)
    brought = folder_bring(folder, early)
    late = [entry for entry in folder.log.entries if entry.at > early + timedelta(minutes=5)]
    waiting = [problem for problem in brought.problems if problem.field == "when"]
    assert len(waiting) == len(late) > 0
    assert folder_bring(folder, AFTER_MARROWBY).written == len(late)


def test_a_row_that_the_vessels_refuse_stays_out(canteen, tmp_path):
    header = (MARROWBY / "log.csv").read_text("utf-8").splitlines(keepends=True)[0]
    between = ";" if ";" in header else ","
    columns = header.strip().split(between)
    row = dict.fromkeys(columns, "") | {"when": "2026-11-12 07:00", "fryer": "F2", "what": "return"}
    folder = changed_folder(tmp_path, header, header + between.join(row.values()) + "\n", "log.csv")
    brought = folder_bring(folder, AFTER_MARROWBY)
    assert brought.written == 0
    [problem] = [each for each in brought.problems if each.line == 2]
    assert "no oil of this fryer is kept" in problem.reason


def test_a_kitchen_set_up_otherwise_is_named_thing_by_thing_and_nothing_is_written(canteen, tmp_path):
    before = Entry.objects.count()
    folder = changed_folder(tmp_path, "oil_mass_kg = 25", "oil_mass_kg = 24")
    with pytest.raises(ToldError, match=r"\[\[fryers\]\] F1 \(oil_mass_kg\)"):
        folder_bring(folder, AFTER_MARROWBY)
    assert Entry.objects.count() == before


def test_a_kitchen_of_another_name_is_founded_by_whom_the_server_knows_or_not_at_all(canteen, tmp_path):
    folder = changed_folder(tmp_path, 'name = "Marrowby ferry terminal"', 'name = "Second"')
    with pytest.raises(ToldError, match="no kitchen called 'Second' here, but Marrowby ferry terminal"):
        folder_bring(folder, AFTER_MARROWBY)
    with pytest.raises(ToldError, match="nobody signs in as nemo"):
        folder_bring(folder, AFTER_MARROWBY, owner="nemo")
    assert Kitchen.objects.count() == 1
    brought = folder_bring(folder, AFTER_MARROWBY, owner="OLIVE")
    assert (brought.founder.person, brought.founder.password) == (Person.objects.get(), "")
    assert Seat.objects.get(kitchen=brought.kitchen).person.sign_in == "olive"


def test_a_setting_that_the_server_refuses_is_named_and_nothing_is_there(tmp_path):
    folder = changed_folder(tmp_path, 'key = "hand"', 'key = "hand 1"')
    with pytest.raises(ToldError, match=r"kitchen.toml: \[\[meters\]\] hand 1: key: Use letters"):
        folder_bring(folder, AFTER_MARROWBY)
    assert [model.objects.count() for model in (Kitchen, Person, Entry)] == [0, 0, 0]


def test_who_wrote_a_row_and_its_note_come_out_again(canteen, tmp_path):
    folder, out = read_folder(MARROWBY), as_files(folder_of(canteen.kitchen), tmp_path / "out")
    by_place = {(entry.at, type(entry), getattr(entry, "fryer", "")): entry for entry in folder.log.entries}
    for entry in out.log.entries:
        was = by_place[entry.at, type(entry), getattr(entry, "fryer", "")]
        assert (entry.person, out.log.notes.get(entry.ref)) == (was.person, folder.log.notes.get(was.ref))


def test_no_file_leads_out_of_its_folder(canteen, tmp_path):
    as_files(folder_of(canteen.kitchen), tmp_path / "out")
    assert {path.name for path in Path(tmp_path / "out").iterdir()} == {"kitchen.toml", "log.csv"}


def test_nothing_is_left_that_asks_for_a_verdict(tmp_path):
    kitchen = folder_bring(as_files(weeks_folder(0), tmp_path / "in"), NOW).kitchen
    in_use = {one.fryer for one in standing(kitchen, NOW).assessments if one.in_use}
    assert not in_use & late_entries(kitchen).keys()


def test_what_was_erased_goes_out_no_more(canteen, tmp_path):
    said = "fresh for Monday"
    noted = Private.objects.get(field="note", content=said.encode()).entry
    private_erase(canteen.kitchen, [noted], Hand(person=None, now=AFTER_MARROWBY))
    out = as_files(folder_of(canteen.kitchen), tmp_path / "out")
    [entry] = [each for each in out.log.entries if each.ref and each.at == noted.at and each.person is None]
    assert out.log.notes.get(entry.ref) is None
    assert said not in (tmp_path / "out" / "log.csv").read_text("utf-8")
    assert folder_bring(out, AFTER_MARROWBY).written == 0


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_day_book_of_an_earlier_version_goes_out_but_for_what_no_folder_takes(file, tmp_path, monkeypatch):
    ledger = read_ledger(file)
    bring(ledger)
    monkeypatch.setenv(clock.SETTING, ledger.now.isoformat())
    left = {}
    for kitchen in Kitchen.objects.all():
        folder, place = folder_of(kitchen), tmp_path / kitchen.slug
        place.mkdir()
        write_folder(place, folder.setup, folder.log.entries, earlier=folder.earlier)
        out = read_folder(place)
        left[kitchen.slug] = [str(problem) for problem in out.log.problems]
        assert out.history == history_of(kitchen)
        if not out.log.problems:
            assert told_of_folder(out, ledger.now) == told(standing(kitchen, ledger.now).assessments)
    too_much = "amount: 5000.0 kg is more than the whole bath (10 kg); check amount and unit"
    assert left == {"pier": [], "quay": [f"log.csv, line 4, {too_much}"]}
