"""What a kitchen's folder says of its settings over time."""

from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import Reading, TopUp
from kettlewell.folder import Earlier, KitchenError, Setup, read_folder, write_folder
from kettlewell.folder.writing import earlier_names

TOML = """name = "Two fryers"
timezone = "Europe/Paris"
jug_l = {jug_l}

[[oils]]
key = "sunflower"

[[fryers]]
key = "F1"
oil = "sunflower"
oil_mass_kg = {oil_mass_kg}
"""
SECOND = """
[[fryers]]
key = "F2"
oil = "sunflower"
oil_mass_kg = 9
"""
MARCH = datetime(2026, 3, 1, 9, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path):
    """A kitchen whose jug and first bath were smaller until the morning of the first of March."""
    (tmp_path / "kitchen.toml").write_text(TOML.format(jug_l=5, oil_mass_kg=20) + SECOND, encoding="utf-8")
    was = 'until = "01.03.2026 10:00"\n' + TOML.format(jug_l=2, oil_mass_kg=8)
    (tmp_path / "kitchen-small.toml").write_text(was, encoding="utf-8")
    (tmp_path / "log.csv").write_text("when,fryer,what,amount,unit\n", encoding="utf-8")
    return tmp_path


def add(folder, row):
    with (folder / "log.csv").open("a", encoding="utf-8") as log:
        log.write(f"{row}\n")


def test_a_kitchen_is_what_its_file_said_until_the_time_that_it_names(folder):
    history = read_folder(folder).history
    masses = {at: history.at(at).fryers[0].oil_mass_kg for at in (MARCH - timedelta(seconds=1), MARCH)}
    assert masses == {MARCH - timedelta(seconds=1): 8, MARCH: 20}
    assert history.now == read_folder(folder).setup.kitchen


def test_a_row_is_read_by_the_kitchen_of_its_time(folder):
    add(folder, "01.03.2026 09:00,F1,top-up,1,jug")
    add(folder, "01.03.2026 11:00,F1,top-up,1,jug")
    add(folder, "01.03.2026 09:30,F1,top-up,12,kg")
    log = read_folder(folder).log
    first, second = log.entries
    assert isinstance(first, TopUp)
    assert second.mass_kg == pytest.approx(first.mass_kg * 2.5)
    assert [str(problem) for problem in log.problems] == [
        "log.csv, line 4, amount: 12.0 kg is more than the whole bath (8 kg); check amount and unit"
    ]


def test_a_row_may_name_what_came_later_and_nothing_that_went_before(folder):
    add(folder, "28.02.2026 09:00,F2,reading,9,%")
    (folder / "kitchen-more.toml").write_text(
        'until = "15.02.2026 10:00"\n'
        + TOML.format(jug_l=2, oil_mass_kg=8)
        + SECOND.replace('key = "F2"', 'key = "F0"'),
        encoding="utf-8",
    )
    add(folder, "28.02.2026 10:00,F0,reading,9,%")
    log = read_folder(folder).log
    assert [(type(entry), entry.fryer) for entry in log.entries] == [(Reading, "F2")]
    assert [problem.field for problem in log.problems] == ["fryer"]


def test_things_in_another_order_are_no_change(folder):
    was = 'until = "01.06.2026 10:00"\n' + TOML.format(jug_l=5, oil_mass_kg=20) + SECOND
    (folder / "kitchen-turned.toml").write_text(was, encoding="utf-8")
    head, first, second = was.removeprefix('until = "01.06.2026 10:00"\n').partition("[[fryers]]")
    fryers = [f"[[fryers]]{part}\n" for part in second.split("[[fryers]]")]
    assert first
    (folder / "kitchen.toml").write_text(head + "".join(reversed(fryers)), encoding="utf-8")
    found = read_folder(folder)
    assert [fryer.key for fryer in found.setup.kitchen.fryers] == ["F2", "F1"]
    assert len(found.history.epochs) == 2


@pytest.mark.parametrize(
    ("until", "told"),
    [
        ("", "kitchen-small.toml: says not until when it counted; add a line such as until ="),
        ("until = 2026", "kitchen-small.toml: until: "),
        ('until = "31.02.2026 10:00"', "kitchen-small.toml: until: '31.02.2026 10:00' is not a day and time"),
        ('until = "soon"', "kitchen-small.toml: until: 'soon' is not a date and time"),
    ],
)
def test_a_file_that_says_not_until_when_is_named(folder, until, told):
    (folder / "kitchen-small.toml").write_text(
        f"{until}\n{TOML.format(jug_l=2, oil_mass_kg=8)}", encoding="utf-8"
    )
    with pytest.raises(KitchenError) as refused:
        read_folder(folder)
    assert str(refused.value).startswith(told)


def test_two_files_until_one_time_are_refused(folder):
    was = (folder / "kitchen-small.toml").read_text("utf-8")
    (folder / "kitchen-small-too.toml").write_text(was, encoding="utf-8")
    with pytest.raises(KitchenError, match=r"kitchen-small.toml: until: another file ends at this time too"):
        read_folder(folder)


def test_what_was_written_of_earlier_is_read_back_the_same(folder, tmp_path):
    found = read_folder(folder)
    instants = [MARCH - timedelta(days=9), MARCH - timedelta(hours=2, microseconds=1), MARCH]
    earlier = tuple(
        Earlier(until=at, setup=Setup(kitchen=found.earlier[0].setup.kitchen, jug_l=jug_l))
        for jug_l, at in enumerate(instants, 1)
    )
    assert list(earlier_names(earlier)) == [
        "kitchen-until-2026-02-20.toml",
        "kitchen-until-2026-03-01.toml",
        "kitchen-until-2026-03-01-2.toml",
    ]
    out = tmp_path / "out"
    out.mkdir()
    write_folder(out, found.setup, [], earlier=earlier)
    assert read_folder(out).earlier == earlier
