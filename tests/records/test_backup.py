"""Copies of the day book: whole or not there at all, sealed or not, brought back into an empty place."""

import hashlib
import io
import os
import random
import resource
import signal
import sqlite3
import subprocess
import sys
import tarfile
from contextlib import closing
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.records.backup import (
    BOOK,
    SECRET,
    BackupError,
    archive,
    backup_restore,
    backup_take,
    backups_in,
    backups_thin,
    heads_in,
)

NOW = datetime(2026, 11, 30, 4, 0, tzinfo=UTC)
PASSPHRASE = "salt and four potatoes"
HEADS = {"harbour": (3, "c" * 64), "pier": (0, "")}
FLIPS = 60
TAKE = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from kettlewell.records.backup import backup_take
print("begun", flush=True)
backup_take(Path(sys.argv[1]), Path(sys.argv[2]), now=datetime(2026, 11, 30, 5, tzinfo=UTC))
"""


@pytest.fixture
def home(tmp_path):
    """A home folder with a day book of two kitchens, as small as a copy asks of one."""
    home = tmp_path / "home"
    home.mkdir()
    (home / SECRET).write_text("of the server", "ascii")
    with closing(sqlite3.connect(home / BOOK)) as book:
        book.executescript(
            """
            PRAGMA journal_mode=WAL;
            CREATE TABLE records_kitchen (id, slug, head_seq, head_hash);
            CREATE TABLE records_entry (kitchen_id, seq, hash, payload);
            """
        )
        rows = [("k", n, letter * 64, os.urandom(4000).hex()) for n, letter in enumerate("abc", 1)]
        book.executemany("INSERT INTO records_entry VALUES (?, ?, ?, ?)", rows)
        kitchens = [("k", "harbour", *HEADS["harbour"]), ("p", "pier", *HEADS["pier"])]
        book.executemany("INSERT INTO records_kitchen VALUES (?, ?, ?, ?)", kitchens)
        book.commit()
    return home


@pytest.fixture
def copies(tmp_path):
    return tmp_path / "copies"


@pytest.mark.parametrize("passphrase", ["", PASSPHRASE], ids=["plain", "sealed"])
def test_a_copy_brings_the_day_book_back(home, copies, tmp_path, passphrase):
    taken = backup_take(home, copies, now=NOW, passphrase=passphrase)
    assert taken.heads == HEADS
    assert [file for _at, file in backups_in(copies)] == [taken.file]
    back = backup_restore(taken.file, tmp_path / "new", passphrase=passphrase)
    assert (back.taken_at, back.heads) == (NOW, HEADS)
    assert (tmp_path / "new" / SECRET).read_text("ascii") == "of the server"
    assert rows(tmp_path / "new") == rows(home)


def rows(home):
    with closing(sqlite3.connect(home / BOOK)) as book:
        return book.execute("SELECT * FROM records_entry").fetchall()


def test_what_others_write_meanwhile_is_in_it_or_not_but_never_by_half(home, copies):
    with closing(sqlite3.connect(home / BOOK)) as writer:
        writer.execute("INSERT INTO records_entry VALUES ('k', 4, 'd', '')")
        assert backup_take(home, copies, now=NOW).heads == HEADS  # not committed: not in it
        writer.commit()


def test_nobody_else_may_read_a_copy(home, copies):
    file = backup_take(home, copies, now=NOW).file
    assert (file.stat().st_mode & 0o777, copies.stat().st_mode & 0o777) == (0o600, 0o700)


def test_a_sealed_copy_holds_nothing_readable(home, copies):
    content = backup_take(home, copies, now=NOW, passphrase=PASSPHRASE).file.read_bytes()
    assert b"kettlewell.sqlite3" not in content
    assert content != backup_take(home, copies, now=NOW, passphrase=PASSPHRASE).file.read_bytes()


@pytest.mark.parametrize(
    ("given", "said"), [("", "is sealed: give the passphrase"), ("salt and five", "another passphrase")]
)
def test_without_its_passphrase_a_sealed_copy_stays_shut(home, copies, tmp_path, given, said):
    file = backup_take(home, copies, now=NOW, passphrase=PASSPHRASE).file
    with pytest.raises(BackupError, match=said):
        backup_restore(file, tmp_path / "new", passphrase=given)
    assert not (tmp_path / "new" / BOOK).exists()


@pytest.mark.parametrize("passphrase", ["", PASSPHRASE], ids=["plain", "sealed"])
def test_a_copy_in_which_a_byte_is_another_is_refused_or_brings_back_the_same(
    home, copies, tmp_path, passphrase
):
    """The few bytes of a compressed file that say nothing (its time, its system) may be others."""
    file = backup_take(home, copies, now=NOW, passphrase=passphrase).file
    content, rng, refused = file.read_bytes(), random.Random(3), 0  # noqa: S311 - no secret
    for number in range(FLIPS):
        place = rng.randrange(len(content))
        file.write_bytes(
            content[:place] + bytes([content[place] ^ 1 << rng.randrange(8)]) + content[place + 1 :]
        )
        new = tmp_path / f"new{number}"
        try:
            backup_restore(file, new, passphrase=passphrase)
        except BackupError:
            refused += 1
            assert {path.name for path in new.glob("[!.]*")} == set()
        else:
            assert rows(new) == rows(home)
    assert refused >= FLIPS - 3


def test_a_copy_cut_short_is_refused(home, copies, tmp_path):
    file = backup_take(home, copies, now=NOW).file
    file.write_bytes(file.read_bytes()[:-1000])
    with pytest.raises(BackupError, match="is damaged"):
        backup_restore(file, tmp_path / "new")


@pytest.mark.parametrize("name", ["../escaped", "/escaped", "another"])
def test_an_archive_with_anything_else_in_it_is_refused_and_nothing_is_written(tmp_path, name):
    file = tmp_path / "made.tar.gz"
    file.write_bytes(archive({BOOK: b"", SECRET: b"", name: b"x"}, {}))
    with pytest.raises(BackupError, match="is damaged"):
        backup_restore(file, tmp_path / "new")
    assert {path.name for path in tmp_path.rglob("*")} & {"escaped", "another"} == set()


def test_a_link_in_an_archive_is_not_followed(tmp_path):
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w:gz") as tar:
        link = tarfile.TarInfo(BOOK)
        link.type, link.linkname = tarfile.SYMTYPE, "/etc/passwd"
        tar.addfile(link)
    (tmp_path / "made.tar.gz").write_bytes(packed.getvalue())
    with pytest.raises(BackupError, match="is damaged"):
        backup_restore(tmp_path / "made.tar.gz", tmp_path / "new")


def test_no_day_book_is_written_over(home, copies):
    file, before = backup_take(home, copies, now=NOW).file, rows(home)
    with pytest.raises(BackupError, match="holds a day book already"):
        backup_restore(file, home)
    assert rows(home) == before


def test_a_book_whose_end_is_cut_off_makes_no_copy(home, copies):
    with closing(sqlite3.connect(home / BOOK)) as book:
        book.execute("DELETE FROM records_entry WHERE seq = 3")
        book.commit()
    with pytest.raises(BackupError, match="not fit to keep: harbour"):
        backup_take(home, copies, now=NOW)
    assert backups_in(copies) == []


def test_a_damaged_book_makes_no_copy(home, copies):
    with closing(sqlite3.connect(home / BOOK)) as book:
        book.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    content = bytearray((home / BOOK).read_bytes())
    content[4096 : 3 * 4096] = bytes(2 * 4096)
    (home / BOOK).write_bytes(content)
    with pytest.raises((BackupError, sqlite3.DatabaseError)):
        backup_take(home, copies, now=NOW)
    assert backups_in(copies) == []


def take(home, copies, **options):
    command = [sys.executable, "-c", TAKE, str(home), str(copies)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **options)


@pytest.mark.slow
def test_a_copy_cut_short_at_any_moment_leaves_the_earlier_ones_and_the_next_clears_up(home, copies):
    kept = backup_take(home, copies, now=NOW)
    digest = hashlib.sha256(kept.file.read_bytes()).hexdigest()
    rng = random.Random(7)  # noqa: S311 - no secret
    for _ in range(20):
        with take(home, copies) as process:
            process.stdout.readline()
            try:
                process.wait(timeout=rng.uniform(0.0, 0.03))
            except subprocess.TimeoutExpired:
                process.send_signal(signal.SIGKILL)
        for _at, file in backups_in(copies):
            new = home.parent / f"new-{rng.random()}"
            assert backup_restore(file, new).heads == HEADS
    assert hashlib.sha256(kept.file.read_bytes()).hexdigest() == digest
    backup_take(home, copies, now=NOW + timedelta(hours=2))
    assert [path.name for path in copies.glob(".unfinished-*") if path.is_dir()] == []


def test_a_full_disk_leaves_the_earlier_copy(home, copies):
    kept = backup_take(home, copies, now=NOW)
    little = 2048

    def full():
        resource.setrlimit(resource.RLIMIT_FSIZE, (little, little))
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)

    with take(home, copies, preexec_fn=full) as process:
        _out, error = process.communicate()
    assert process.returncode != 0
    assert "File too large" in error or "disk" in error
    assert [file for _at, file in backups_in(copies)] == [kept.file]


def test_of_many_copies_the_newest_of_each_day_week_and_month_stay(tmp_path):
    at = NOW
    for _ in range(3 * 800):
        (tmp_path / f"kettlewell-{at:%Y%m%dT%H%M%SZ}.tar.gz").touch()
        at -= timedelta(hours=8)
    (tmp_path / "kettlewell-notes.txt").touch()
    backups_thin(tmp_path)
    kept = [taken_at for taken_at, _file in backups_in(tmp_path)]
    assert [taken.date() for taken in kept[:7]] == [(NOW - timedelta(days=day)).date() for day in range(7)]
    assert {f"{taken:%G-%V}" for taken in kept[:10]} >= {
        f"{NOW - timedelta(weeks=week):%G-%V}" for week in range(5)
    }
    assert len({f"{taken:%Y-%m}" for taken in kept}) == 24
    assert len(kept) <= 7 + 5 + 24
    assert (tmp_path / "kettlewell-notes.txt").exists()
    before = list(tmp_path.iterdir())
    backups_thin(tmp_path)
    assert list(tmp_path.iterdir()) == before


def test_the_heads_of_a_copy_are_those_of_its_kitchens(home):
    assert heads_in(home / BOOK) == HEADS
