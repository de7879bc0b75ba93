"""The demo kitchen, whenever it is looked at."""

from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import MeterCheck
from kettlewell.bridge.demo import TOLD_FOR, demo_kitchen, moved_up_to, weeks_to
from kettlewell.bridge.meters import looked_back
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.records.models import Entry
from kettlewell.records.settings import settings_of

NOW = datetime(2027, 2, 3, 9, 0, tzinfo=UTC)
FOLDER = read_folder(MARROWBY)


@pytest.mark.parametrize("day", range(7))
def test_on_every_day_its_meter_was_adjusted_lately_and_verdicts_from_before_are_told(day):
    now = NOW + timedelta(days=day)
    entries = moved_up_to(FOLDER, weeks_to(FOLDER, now), now)
    (adjusted,) = (entry.at for entry in entries if isinstance(entry, MeterCheck) and entry.adjusted)
    assert now - TOLD_FOR < adjusted - timedelta(days=2)
    assert adjusted < now


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
