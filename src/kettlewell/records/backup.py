"""A copy of a server's day books: taken while it runs, sealed with a passphrase, read back, brought back.

A copy is an archive (tar, gzip) of the database, the server's secret and a table of what they are. Sealed, it
is that archive under AES-256-GCM, its key drawn by scrypt (RFC 7914) from the passphrase. A copy bears its
name only once it was read back whole; whatever is left of one that failed begins with a dot.
"""

import fcntl
import hashlib
import io
import json
import os
import re
import secrets
import shutil
import sqlite3
import tarfile
import tempfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from kettlewell.book.words import N_

FORM = "kettlewell backup 1"
BOOK, SECRET, ABOUT = "kettlewell.sqlite3", "secret.key", "about.json"
PLAIN, SEALED = ".tar.gz", ".tar.gz.sealed"
UNFINISHED = ".unfinished-"
SALT_BYTES, NONCE_BYTES, KEY_BYTES = 16, 12, 32
SCRYPT = {
    "n": 2**15,
    "r": 8,
    "p": 1,
}  # 32 MiB; the least for interactive use by RFC 7914's authors: from memory
NAMED = re.compile(r"kettlewell-(\d{8}T\d{6}Z)\.tar\.gz(\.sealed)?")
MARK = b"kettlewell sealed 1\n"
LARGEST_BYTES = 2**30  # of a database: a kitchen of eight fryers writes some 10 MB a year

DAMAGED = N_("{file} is damaged, or no backup of a day book.")
WRONG_KEY = N_("{file} cannot be opened: another passphrase, or the file is damaged.")
NO_KEY = N_("{file} is sealed: give the passphrase in KETTLEWELL_BACKUP_KEY.")
UNFIT = N_("The copy is not fit to keep: {why}")
THERE = N_("{place} holds a day book already. Bring a backup back into an empty place.")


class BackupError(ValueError):
    """Why a copy cannot be taken or brought back: a sentence for the catalogue, and its values."""

    def __init__(self, text: str, **values: str) -> None:
        """Keep both."""
        super().__init__(text.format(**values))
        self.text, self.values = text, values


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A copy that was read back whole: its file, when it was taken, and the head of each day book in it."""

    file: Path
    taken_at: datetime
    heads: Mapping[str, tuple[int, str]]


def backup_take(home: Path, folder: Path, *, now: datetime, passphrase: str = "") -> Backup:
    """Take a copy of the day book in a home folder into another folder, and read it back.

    Raises BackupError where the copy is not as the book, OSError or sqlite3.Error where it cannot be written.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    name = f"kettlewell-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}{SEALED if passphrase else PLAIN}"
    with unfinished(folder) as place:
        heads = book_copy(home / BOOK, place / BOOK)
        about = {"form": FORM, "taken_at": now.astimezone(UTC).isoformat(), "heads": heads}
        packed = archive({BOOK: (place / BOOK).read_bytes(), SECRET: (home / SECRET).read_bytes()}, about)
        draft = place / name
        write(draft, sealed(packed, passphrase) if passphrase else packed)
        found = backup_read(draft, place / "again", passphrase=passphrase)
        draft.replace(folder / name)
        flush(folder)
    return Backup(file=folder / name, taken_at=found.taken_at, heads=found.heads)


def backup_restore(file: Path, home: Path, *, passphrase: str = "") -> Backup:
    """Bring a copy back into a home folder without a day book, all of it or nothing.

    Raises BackupError where the copy is no good or a day book is there, OSError where it cannot be written.
    """
    if (home / BOOK).exists():
        raise BackupError(THERE, place=str(home))
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    with unfinished(home) as place:
        found = backup_read(file, place, passphrase=passphrase)
        for name in (SECRET, BOOK):  # the book last: before it is there, nothing is
            (place / name).replace(home / name)
        flush(home)
    return found


def backup_read(file: Path, place: Path, *, passphrase: str = "") -> Backup:
    """Unpack a copy into a folder, and return what it is; raises BackupError where it is not whole."""
    parts = unpacked(file, opened(file, passphrase))
    try:
        about = json.loads(parts[ABOUT])
        sound = about["form"] == FORM and all(
            hashlib.sha256(parts[name]).hexdigest() == about["sha256"][name] for name in (BOOK, SECRET)
        )
        taken_at = datetime.fromisoformat(about["taken_at"])
    except (ValueError, LookupError, TypeError):
        sound = False
    if not sound:
        raise BackupError(DAMAGED, file=file.name)
    place.mkdir(mode=0o700, exist_ok=True)
    for name in (BOOK, SECRET):
        write(place / name, parts[name])
    return Backup(file=file, taken_at=taken_at, heads=heads_in(place / BOOK))


def backups_in(folder: Path) -> list[tuple[datetime, Path]]:
    """Return the copies in a folder with when each was taken, the newest first."""
    found = [(NAMED.fullmatch(file.name), file) for file in folder.glob("kettlewell-*")]
    taken = [(datetime.strptime(name[1], "%Y%m%dT%H%M%S%z"), file) for name, file in found if name]
    return sorted(taken, reverse=True)


def backups_thin(folder: Path) -> None:
    """Delete copies but the newest of each of the last 7 days, 5 weeks and 24 months that have one."""
    there = backups_in(folder)
    kept: set[Path] = set()
    for span, most in (("%Y-%m-%d", 7), ("%G-%V", 5), ("%Y-%m", 24)):
        newest: dict[str, Path] = {}
        for taken_at, file in there:
            newest.setdefault(f"{taken_at:{span}}", file)
        kept.update(list(newest.values())[:most])
    for _taken_at, file in there:
        if file not in kept:
            file.unlink()


def book_copy(source: Path, target: Path) -> dict[str, tuple[int, str]]:
    """Copy a database that may be written to meanwhile, and return the heads in the copy."""
    address = f"{source.absolute().as_uri()}?mode=ro"
    with (
        closing(sqlite3.connect(address, uri=True, timeout=20)) as kept,
        closing(sqlite3.connect(target)) as copy,
    ):
        kept.backup(copy)  # in one step: nothing that others write makes it begin anew
        copy.execute("PRAGMA journal_mode=DELETE")
    return heads_in(target)


def heads_in(book: Path) -> dict[str, tuple[int, str]]:
    """Return number and hash of each kitchen's last entry; raises BackupError for an unfit database."""
    try:
        with closing(sqlite3.connect(f"{book.absolute().as_uri()}?mode=ro", uri=True)) as copy:
            wrong = [row[0] for row in copy.execute("PRAGMA integrity_check") if row[0] != "ok"]
            wrong += [f"{row[0]}, row {row[1]}" for row in copy.execute("PRAGMA foreign_key_check")]
            wrong += [row[0] for row in copy.execute(LOST_HEADS)]
            heads = {slug: (seq, head) for slug, seq, head in copy.execute(HEADS)}
    except sqlite3.Error as error:
        wrong = [str(error)]
    if wrong:
        raise BackupError(UNFIT, why="; ".join(wrong[:3]))
    return heads


HEADS = "SELECT slug, head_seq, head_hash FROM records_kitchen ORDER BY slug"
LOST_HEADS = """
    SELECT slug FROM records_kitchen AS kitchen WHERE head_seq > 0 AND NOT EXISTS (
        SELECT 1 FROM records_entry WHERE kitchen_id = kitchen.id AND seq = head_seq AND hash = head_hash
    )
"""


def archive(parts: Mapping[str, bytes], about: Mapping[str, Any]) -> bytes:
    """Return files and a table of what they are as one compressed archive."""
    digests = {name: hashlib.sha256(content).hexdigest() for name, content in parts.items()}
    told = json.dumps({**about, "sha256": digests}, indent=1).encode()
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w:gz") as tar:
        for name, content in {ABOUT: told, **parts}.items():
            member = tarfile.TarInfo(name)
            member.size, member.mode = len(content), 0o600
            tar.addfile(member, io.BytesIO(content))
    return packed.getvalue()


def unpacked(file: Path, packed: bytes) -> dict[str, bytes]:
    """Return the files of an archive, of those that belong in one; none is written anywhere."""
    parts: dict[str, bytes] = {}
    try:
        with tarfile.open(fileobj=io.BytesIO(packed), mode="r:gz") as tar:
            for member in tar:
                content = tar.extractfile(member) if member.isfile() else None
                if content is None or member.name not in (BOOK, SECRET, ABOUT) or member.size > LARGEST_BYTES:
                    raise BackupError(DAMAGED, file=file.name)
                parts[member.name] = content.read()
    except (tarfile.TarError, EOFError, OSError, zlib.error):
        raise BackupError(DAMAGED, file=file.name) from None
    return parts


def sealed(packed: bytes, passphrase: str) -> bytes:
    """Return an archive that only the passphrase opens; nobody can change it unseen."""
    salt, nonce = secrets.token_bytes(SALT_BYTES), secrets.token_bytes(NONCE_BYTES)
    return MARK + salt + nonce + AESGCM(key_of(passphrase, salt)).encrypt(nonce, packed, MARK)


def opened(file: Path, passphrase: str) -> bytes:
    """Return the archive in a file; raises BackupError where the passphrase does not open it."""
    content = file.read_bytes()
    if not content.startswith(MARK):
        return content
    if not passphrase:
        raise BackupError(NO_KEY, file=file.name)
    rest = content.removeprefix(MARK)
    salt, nonce = rest[:SALT_BYTES], rest[SALT_BYTES : SALT_BYTES + NONCE_BYTES]
    try:
        return AESGCM(key_of(passphrase, salt)).decrypt(nonce, rest[SALT_BYTES + NONCE_BYTES :], MARK)
    except (InvalidTag, ValueError):
        raise BackupError(WRONG_KEY, file=file.name) from None


def key_of(passphrase: str, salt: bytes) -> bytes:
    """Return the key that a passphrase and a salt make."""
    return Scrypt(salt=salt, length=KEY_BYTES, **SCRYPT).derive(passphrase.encode())


@contextmanager
def unfinished(folder: Path) -> Iterator[Path]:
    """Give a folder for what is not finished, on the same disk as what it is for, and gone afterwards.

    What an earlier copy left that was cut short goes too: one at a time is made in a place.
    """
    with (folder / f"{UNFINISHED}lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        for left in folder.glob(f"{UNFINISHED}*/"):
            shutil.rmtree(left)
        with tempfile.TemporaryDirectory(prefix=UNFINISHED, dir=folder) as place:
            yield Path(place)


def write(path: Path, content: bytes) -> None:
    """Write a file for its owner alone, down to the disk."""
    path.touch(mode=0o600, exist_ok=False)
    with path.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def flush(folder: Path) -> None:
    """Bring the names in a folder down to the disk."""
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)
