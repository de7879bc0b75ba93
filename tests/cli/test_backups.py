"""What the commands say of copies, and the copy of each day."""

from datetime import timedelta

import pytest

from kettlewell import clock
from kettlewell.cli import backups
from kettlewell.records.backup import BackupError, backups_in
from kettlewell.telling import reader

NOW = clock.now()
WORDS = reader("UTC", NOW, locale="en")


class Taken:
    """Stands for the taking of a copy, which has tests of its own."""

    def __init__(self, monkeypatch, error=None):
        self.asked, self.error = [], error
        monkeypatch.setattr(backups, "backup_take", self.take)

    def take(self, _home, folder, *, now, passphrase):
        self.asked.append((now, passphrase))
        if self.error:
            raise self.error
        file = folder / f"kettlewell-{now:%Y%m%dT%H%M%SZ}.tar.gz"
        file.touch()
        return backups.Backup(file=file, taken_at=now, heads={})


@pytest.fixture
def told(monkeypatch):
    """What the log is told."""
    said = []
    monkeypatch.setattr(
        "kettlewell.records.access_log.tell", lambda event, _person, **more: said.append((str(event), more))
    )
    return said


@pytest.mark.parametrize(("hours", "due"), [(1, False), (23.9, False), (24, True), (400, True), (-30, True)])
def test_a_copy_is_taken_when_the_newest_is_a_day_old_or_lies_ahead(monkeypatch, tmp_path, told, hours, due):
    at = NOW - timedelta(hours=hours)
    (tmp_path / f"kettlewell-{at:%Y%m%dT%H%M%SZ}.tar.gz").touch()
    taken = Taken(monkeypatch)
    backups.take_if_due(tmp_path, tmp_path, "a long passphrase")
    assert taken.asked == ([(NOW, "a long passphrase")] if due else [])
    assert [event for event, _more in told] == (["backup-taken"] if due else [])


def test_the_first_copy_is_taken_at_once(monkeypatch, tmp_path, told):
    Taken(monkeypatch)
    backups.take_if_due(tmp_path, tmp_path, "")
    assert [taken_at for taken_at, _file in backups_in(tmp_path)] == [NOW.replace(microsecond=0)]


@pytest.mark.parametrize("error", [OSError("No space left on device"), BackupError("Not fit")])
def test_why_there_is_no_copy_is_logged_and_the_earlier_ones_stay(monkeypatch, tmp_path, told, error):
    old = tmp_path / f"kettlewell-{NOW - timedelta(days=900):%Y%m%dT%H%M%SZ}.tar.gz"
    old.touch()
    Taken(monkeypatch, error)
    backups.take_if_due(tmp_path, tmp_path, "")
    assert [(event, str(more["why"])) for event, more in told] == [("backup-failed", str(error))]
    assert old.exists()


def test_a_passphrase_that_is_soon_guessed_is_refused(monkeypatch):
    monkeypatch.setenv(backups.KEY, "short")
    with pytest.raises(ValueError, match="shorter than 12"):
        backups.passphrase(WORDS)


def test_a_day_book_on_postgresql_is_copied_otherwise(settings, monkeypatch):
    monkeypatch.setitem(settings.DATABASES["default"], "ENGINE", "django.db.backends.postgresql")
    with pytest.raises(ValueError, match="pg_dump"):
        backups.home_of_file(WORDS)
