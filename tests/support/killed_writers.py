"""Writers of a day book are killed again and again; says what was lost, which should be nothing.

Run as a program of its own, because it forks: ``killed_writers.py SEED KILLS``, in the home that
KETTLEWELL_HOME names. Prints a JSON object: kills, acknowledged entries, cuts that cost something,
the faults found, and whether a cut that went too far was found out too.

After each kill the files are copied as they lie. Then the copy's log is cut, or spoilt, behind the
last acknowledged entry: what a power cut may do to what no ``fsync`` was waited for. SQLite waits
for one at each commit (synchronous=FULL), so nothing before that place may be lost.

Every copy is verified as a whole: a day book grown long begins anew, or most of the time would go into
reading again what was found whole before.
"""

import json
import os
import random
import shutil
import signal
import struct
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from uuid import UUID

import django

os.environ["DJANGO_SETTINGS_MODULE"] = "kettlewell.settings"
django.setup()

from django.core.management import call_command  # noqa: E402 - Django has to be set up first
from django.db import connection, connections  # noqa: E402

from kettlewell import clock  # noqa: E402
from kettlewell.records.ids import uuid7  # noqa: E402
from kettlewell.records.ledger import Hand, Told, entry_add, setting_add  # noqa: E402
from kettlewell.records.models import Entry, Kitchen  # noqa: E402
from kettlewell.records.verify import verify  # noqa: E402

WRITERS = 3
LONGEST_LIFE_S = 0.2
LONG_ENTRIES = 150  # by then SQLite has carried its log over into the database at least once
HEADER_BYTES, FRAME_HEADER_BYTES = 32, 24  # https://www.sqlite.org/fileformat2.html#walformat


@dataclass(slots=True, kw_only=True)
class Outcome:
    kills: int = 0
    acknowledged: int = 0
    cuts: int = 0
    faults: list[str] = field(default_factory=list)
    found_out: bool = False


def write_on(acknowledgements):
    """Write readings for ever; note each one's id and number once it is written."""
    try:
        kitchen = Kitchen.objects.get()
        while True:
            now = clock.now()
            told = Told(
                id=uuid7(now),
                kind="senses",
                happened_at=now,
                payload={"fryer": "F1", "signs": ["foam"]},
                private={"note": b"invented"},
            )
            entry, _ = entry_add(kitchen, told, Hand(person=None, now=now))
            os.write(acknowledgements, f"{entry.pk} {entry.seq}\n".encode())
    except Exception as error:  # noqa: BLE001 - whatever it is, the day book did not take an entry
        os.write(acknowledgements, f"error {error!r}\n".encode())


def kill_writers(acknowledgements, life_s):
    """Let a process write from several threads, and kill it."""
    connections.close_all()
    child = os.fork()
    if child == 0:
        for _ in range(WRITERS):
            threading.Thread(target=write_on, args=[acknowledgements]).start()
        signal.pause()
    time.sleep(life_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def log_path(database):
    return database.with_name(database.name + "-wal")


def copied(database, folder):
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    copy = folder / "copy.sqlite3"
    shutil.copyfile(database, copy)
    if log_path(database).exists():
        shutil.copyfile(log_path(database), log_path(copy))
    return copy


def commits(log):
    """Return where each commit of a write-ahead log ends, and the log itself, in bytes.

    Behind its end lie pages of an older round, which SQLite writes over.
    """
    if len(log) < HEADER_BYTES:
        return [0], 0
    page_bytes, salts = struct.unpack(">I", log[8:12])[0], log[16:24]
    ends, at = [HEADER_BYTES], HEADER_BYTES
    while len(log) >= at + FRAME_HEADER_BYTES + page_bytes and log[at + 8 : at + 16] == salts:
        (pages_after_commit,) = struct.unpack(">I", log[at + 4 : at + 8])
        at += FRAME_HEADER_BYTES + page_bytes
        if pages_after_commit:
            ends.append(at)
    return ends, at


def looked_into(copy, acknowledged):
    """Return the last number of a copy of a day book, and what is wrong with it."""
    connections.close_all()
    ours, connection.settings_dict["NAME"] = connection.settings_dict["NAME"], str(copy)
    try:
        kitchen = Kitchen.objects.get()
        faults = [f"found {finding}"] if (finding := verify(kitchen)) else []
        if lost := set(acknowledged) - set(Entry.objects.values_list("pk", flat=True)):
            faults.append(f"lost {sorted(acknowledged[one] for one in lost)}")
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA integrity_check")
            if (said := cursor.fetchone()[0]) != "ok":
                faults.append(said)
        return kitchen.head_seq, faults
    finally:
        connections.close_all()
        connection.settings_dict["NAME"] = ours


def log_of(copy):
    log = log_path(copy)
    return log.read_bytes() if log.exists() else b""


def spoilt(copy, at, end, rng):
    """Cut the log of a copy at a byte, or fill it from there to its end with what may lie on a disk."""
    content = log_of(copy)
    torn = rng.randbytes(end - at) + content[end:] if rng.random() < 1 / 2 else b""
    log_path(copy).write_bytes(content[:at] + torn)


def told_of(path):
    acknowledged, faults = {}, []
    for line in path.read_text().splitlines():
        name, said = line.split(" ", 1)
        if name == "error":
            faults.append(said)
        else:
            acknowledged[UUID(name)] = int(said)
    return acknowledged, faults


def after_kill(database, folder, acknowledged, rng):
    """Look into a copy, into one whose log was cut where it may be, and into one cut too far.

    Returns the faults, whether the cut cost something, and whether the cut too far was found out.
    """
    copy = copied(database, folder)
    ends, end = commits(log_of(copy))
    head_seq, faults = looked_into(copy, acknowledged)
    unheard = head_seq - max(acknowledged.values(), default=0)
    kept = ends[-1 - unheard] if unheard < len(ends) else 0
    at = rng.randint(kept, end)
    copy = copied(database, folder)
    spoilt(copy, at, end, rng)
    faults += [f"log cut: {fault}" for fault in looked_into(copy, acknowledged)[1]]
    if kept <= HEADER_BYTES:
        return faults, at < end, False
    copy = copied(database, folder)
    log_path(copy).write_bytes(log_of(copy)[: kept - 1])
    return faults, at < end, looked_into(copy, acknowledged)[1] != []


def begin_anew(database, unwritten, notes):
    """Put the day book back in which nothing was written yet."""
    for ending in ("-wal", "-shm"):
        database.with_name(database.name + ending).unlink(missing_ok=True)
    shutil.copyfile(unwritten, database)
    os.truncate(notes, 0)


def main(seed, kills):
    rng = random.Random(seed)  # noqa: S311 - kills are no secret
    call_command("migrate", verbosity=0)
    kitchen = Kitchen.objects.create(slug="written-in-a-hurry")
    setting_add(kitchen, "fryers", "F1", {"name": "Fries"}, hand=Hand(person=None, now=clock.now()))
    database = Path(connection.settings_dict["NAME"])
    notes, folder = database.with_name("acknowledged"), database.with_name("copy")
    connections.close_all()
    unwritten = copied(database, database.with_name("unwritten"))
    acknowledgements = os.open(notes, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    outcome, before = Outcome(), 0
    while outcome.kills < kills and not outcome.faults:
        kill_writers(acknowledgements, rng.uniform(0, LONGEST_LIFE_S))
        acknowledged, faults = told_of(notes)
        found, cut, found_out = after_kill(database, folder, acknowledged, rng)
        outcome.faults = [f"seed {seed}, kill {outcome.kills}: {fault}" for fault in faults + found]
        outcome.kills += 1
        outcome.cuts += cut
        outcome.found_out |= found_out
        outcome.acknowledged = before + len(acknowledged)
        if len(acknowledged) > LONG_ENTRIES:
            before = outcome.acknowledged
            begin_anew(database, unwritten, notes)
    print(json.dumps({name: getattr(outcome, name) for name in Outcome.__slots__}))  # noqa: T201 - the answer


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
