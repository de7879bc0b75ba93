"""The demo kitchen, whenever it is looked at."""

import tomllib
from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from kettlewell.book import MeterCheck
from kettlewell.bridge.demo import TOLD_FOR, days_to, demo_kitchen, moved_row, moved_up_to
from kettlewell.bridge.meters import looked_back
from kettlewell.bridge.standing import standing
from kettlewell.core import answer
from kettlewell.core.decision import VerdictKey
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.folder.kitchen import setup_from
from kettlewell.records.models import Entry
from kettlewell.records.settings import settings_of
from kettlewell.telling import reader

NOW = datetime(2027, 2, 3, 9, 0, tzinfo=UTC)
FOLDER = read_folder(MARROWBY)
TABLES = tomllib.loads((MARROWBY / "kitchen.toml").read_text("utf-8"))
LONDON = ZoneInfo("Europe/London")
# two weeks, each with a night in which the clocks change
BEGINS = (date(2027, 3, 25), date(2027, 10, 28))
HOURS = (time(1, 30), time(7, 12), time(11, 0), time(14, 30, 30), time(23, 59, 59))
MOMENTS = [
    datetime.combine(begins + timedelta(days=day), at, LONDON).astimezone(UTC)
    for begins in BEGINS
    for day in range(7)
    for at in HOURS
]


@pytest.mark.parametrize("day", range(7))
def test_on_every_day_its_meter_was_adjusted_lately_and_verdicts_from_before_are_told(day):
    now = NOW + timedelta(days=day)
    entries = moved_up_to(FOLDER, days_to(FOLDER, now), now)
    (adjusted,) = (entry.at for entry in entries if isinstance(entry, MeterCheck) and entry.adjusted)
    assert now - TOLD_FOR < adjusted - timedelta(days=2)
    assert adjusted < now


@pytest.mark.slow
def test_at_any_day_and_hour_each_verdict_stands_somewhere():
    """Over the clocks' changes too."""
    missing = {}
    for now in MOMENTS:
        moved = days_to(FOLDER, now)
        tables = {
            name: [moved_row(row, moved) for row in rows] if isinstance(rows, list) else rows
            for name, rows in TABLES.items()
        }
        told = answer(setup_from(tables).kitchen, moved_up_to(FOLDER, moved, now), now=now)
        if lacking := set(VerdictKey) - {each.verdict.key for each in told.assessments}:
            missing[now.isoformat()] = lacking
        assert len(told.assessments) == 5
    assert not missing


@pytest.mark.slow
@pytest.mark.django_db
@pytest.mark.parametrize("now", [NOW, datetime(2027, 10, 31, 1, 15, tzinfo=UTC)], ids=str)
def test_each_verdict_stands_on_the_line_of_the_demo(now):
    kitchen, _people = demo_kitchen(now)
    told = Counter(each.verdict.key for each in standing(kitchen, now).assessments)
    assert set(told) == set(VerdictKey)


def test_the_days_of_its_breakfasts_are_moved_with_its_log():
    breakfast = next(row for row in TABLES["services"] if row["name"] == "Breakfast")
    assert moved_row(breakfast, timedelta(days=1))["days"] == ["mon", "sun"]
    assert moved_row(breakfast, timedelta(days=-4))["days"] == ["tue", "wed"]


@pytest.mark.django_db
def test_its_days_are_moved_with_its_log_and_a_verdict_from_before_the_failed_check_is_in_doubt():
    kitchen, _people = demo_kitchen(NOW)
    things = settings_of(kitchen)
    opened, best_before = (things["reference_lots"]["R18"][name] for name in ("opened", "best_before"))
    checks = Entry.objects.filter(kind="meter_check").order_by("at")
    first, *_, last = (check.at.date().isoformat() for check in checks)
    assert things["meters"]["hand"]["in_use_since"] < opened < first < last < best_before
    failed = Entry.objects.filter(kind="meter_check", payload__adjusted=False).latest("at")
    doubted = looked_back(kitchen, failed).doubted[0]
    assert doubted.relied.not_stand > 0.5
    assert doubted.verdict is not None


@pytest.mark.django_db
def test_to_a_german_reader_place_people_and_things_have_german_names():
    kitchen, people = demo_kitchen(NOW, reader("UTC", NOW, locale="de").say)
    settings = settings_of(kitchen)
    english = {
        row["name"] for rows in TABLES.values() if isinstance(rows, list) for row in rows if "name" in row
    }
    named = {row["name"] for table in settings.values() for row in table.values() if "name" in row}
    assert named & english == set()
    assert {"Fährterminal Marrowby", "Pommes", "Backfisch", "Paniertes Hähnchen", "Frühstück"} <= named
    assert {row["reason"] for row in settings["limits"].values()} == {
        "Hausregel: Im Gesetz fand sich keine Zahl"
    }
    assert people[0].name == "Ada Bach"
    assert len(standing(kitchen, NOW).assessments) == len(TABLES["fryers"])
