"""How fast the server answers a kitchen of 8 fryers with five years of entries, 8 phones at once.

python bench/load_server.py [TIMES] [THINK_S] [DAYS] [PHONES] [ROUNDS]    about five minutes

Every phone looks at the line, opens a fryer, takes a reading and reads the verdict, with a pause
before each request, and does so twice: sixteen readings, two of each fryer. That is done several
times, each time from the same day book. Beside them a static file is asked for in the same way:
what a request costs that computes nothing. And it is told how much memory each worker of the server
holds, once started, after every phone's first look, half way and at the end (of Linux: /proc).
"""

import http.client
import os
import re
import secrets
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import numpy as np

if TYPE_CHECKING:
    from kettlewell.records.models import Kitchen, Person

FIVE_YEARS_DAYS, FRYERS, PHONES = 5 * 365, 8, 8
CYCLE_DAYS, ROUNDS = 14, 2
MAIN = "from kettlewell.cli import main; main()"
TOKEN = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
RSS, PSS = (re.compile(rf"^{word}: +(\d+) kB", re.MULTILINE) for word in ("Rss", "Pss"))
Held = tuple[float, float]  # RSS and PSS of a worker, in MB
ENTRY = re.compile(r'name="entry_id" value="([^"]+)"')
WHEN = ("once started", "after a first look", "half way", "at the end")
NAMED = ("The line", "A fryer", "The form of a reading", "Storing a reading and its verdict", "The verdict")


def settings() -> dict:
    """Return the tables of a kitchen that fries lunch and dinner every day."""
    return {
        "name": "Bench",
        "timezone": "UTC",
        "jurisdiction": "CH",
        "oils": [{"key": "oil", "name": "Oil", "kind": "rapeseed"}],
        "products": [{"key": "fries", "name": "Fries", "kind": "frozen-fries"}],
        "fryers": [
            {
                "key": f"F{n}",
                "name": f"Fryer {n}",
                "oil": "oil",
                "oil_mass_kg": 15,
                "fries": ["fries"],
                "usual_load_kg": 4,
            }
            for n in range(FRYERS)
        ],
        "meters": [{"key": "hand", "name": "Hand meter"}],
        "services": [
            {"name": "Lunch", "days": "mon-sun", "from": "11:30", "to": "14:00"},
            {"name": "Dinner", "days": "mon-sun", "from": "18:00", "to": "21:00"},
        ],
    }


def tpc_pct(day: int, fryer: int, noise_pct: float) -> float:
    """Return what is read of a fryer on a day, to the half point a meter shows."""
    return round(2 * (4.5 + 1.2 * ((day + fryer) % CYCLE_DAYS) + noise_pct)) / 2


def happenings(now: datetime, days: int) -> Iterator[tuple[datetime, str, dict]]:
    """Yield some days of (time, kind, payload): a fortnight between changes."""
    rng = np.random.default_rng(1)
    sound = dict.fromkeys(("no_food", "no_bubbles", "probe_clear", "steady"), "yes")
    first = now.replace(hour=0, minute=0, second=0, microsecond=0) - timedelta(days=days)
    for day in range(days):
        morning = first + timedelta(days=day)
        for n in range(FRYERS):
            of = {"fryer": f"F{n}"}
            if (day + n) % CYCLE_DAYS == 0 or day == 0:
                yield morning + timedelta(hours=10), "change", of
            if rng.random() < 0.8:
                read_pct = tpc_pct(day, n, rng.normal(0, 0.5))
                yield morning + timedelta(hours=11), "reading", {**of, **sound, "tpc_pct": f"{read_pct:g}"}
                key = "fry_on" if read_pct < 20 else "change_before"
                yield morning + timedelta(hours=11), "verdict", {**of, **told(read_pct), "verdict": key}
            for hour in (14, 21):
                kg = f"{rng.uniform(2, 6):.1f}"
                load = {**of, "product": "fries", "unit": "kg", "amount": kg, "mass_kg": kg}
                yield morning + timedelta(hours=hour), "load", load
            yield morning + timedelta(hours=21, minutes=5), "top_up", {**of, "unit": "mark"}
            if rng.random() < 0.25:
                yield morning + timedelta(hours=21, minutes=9), "care", {**of, "care": "filter"}


def told(read_pct: float) -> dict:
    """Return what a verdict of the past says, of the length that they have."""
    values = {"limit": {"number": "27"}, "now": {"number": f"{read_pct:g}"}}
    sentence = {"text": "The limit is {limit} %; now about {now} %.", "values": values}
    return {
        "reason": sentence,
        "changes_if": sentence,
        "passing_probability": "0.01",
        "passing_probability_next": "0.02",
        "risk": "0.05",
        "holds_until": "2026-01-01T11:30:00Z",
        "tpc_mean_pct": f"{read_pct:g}",
        "tpc_sd_pct": "0.8",
        "services": {"low": "3", "median": "5", "high": "8"},
        "limits": [{"quantity": "tpc", "unfit_when": ">", "value": "27", "unit": "%", "force": "binding"}],
        "model_version": "0",
        "head_seq": "1",
        "head_hash": "0" * 64,
    }


def fill(kitchen: "Kitchen", person: "Person", now: datetime, *, days: int) -> int:
    """Write these days into the day book, chained as the ledger chains them; return how many."""
    from kettlewell.records.canonical import VERSION, sha256
    from kettlewell.records.ids import uuid7
    from kettlewell.records.ledger import asks, document
    from kettlewell.records.models import Entry

    rows: list[Entry] = []
    for at, kind, payload in sorted(happenings(now, days), key=lambda one: one[0]):
        entry = Entry(
            id=uuid7(at),
            kitchen=kitchen,
            seq=kitchen.head_seq + 1,
            kind=kind,
            happened_at=at,
            received_at=at,
            person=person,
            fryer=payload["fryer"],
            payload=payload,
            version=VERSION,
            previous=kitchen.head_hash,
            at=at,
            about=rows[-1] if kind == "verdict" else None,
            asks=asks(kind, payload),
        )
        if entry.about:
            entry.payload = {**payload, "answers": str(entry.about_id)}
        entry.hash = sha256(document(entry))
        kitchen.head_seq, kitchen.head_hash = entry.seq, entry.hash
        rows.append(entry)
    Entry.objects.bulk_create(rows, batch_size=500)
    kitchen.save()
    return len(rows)


def seed(home: Path, days: int, phones: int = PHONES) -> list[str]:
    """Fill a day book and return a session for each phone."""
    from kettlewell.cli import server

    os.environ["KETTLEWELL_HOME"] = str(home)
    server.start()
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    from kettlewell import clock
    from kettlewell.bridge.folder_settings import things_bring, things_of
    from kettlewell.bridge.standing import standing
    from kettlewell.folder import setup_from
    from kettlewell.records.ledger import Hand
    from kettlewell.records.models import Kitchen, Replay, Role
    from kettlewell.records.people import SeatTerms, person_add, seat_set

    now = clock.now()
    kitchen = Kitchen.objects.create(slug="bench")
    people = [
        person_add(sign_in=f"cook{n}", name=f"Cook {n}", password=secrets.token_hex(12))
        for n in range(phones)
    ]
    hand = Hand(person=people[0], now=now - timedelta(days=days))
    for person in people:
        seat_set(kitchen, person, SeatTerms(role=Role.OWNER), hand=hand)
    things_bring(kitchen, {}, things_of(setup_from(settings())), hand, counts_from=hand.now)
    begun = time.perf_counter()
    entries = fill(kitchen, people[0], now, days=days)
    print(f"{entries} entries written in {time.perf_counter() - begun:.0f} s")
    begun = time.perf_counter()
    standing(kitchen, now)
    print(f"first answer, from the last 90 days: {time.perf_counter() - begun:.1f} s")
    while Replay.objects.exists():
        time.sleep(0.1)
    print(f"everything replayed: {time.perf_counter() - begun:.1f} s")
    sessions = []
    for person in people:
        session = SessionStore()
        session[SESSION_KEY] = str(person.pk)
        session[BACKEND_SESSION_KEY] = "django.contrib.auth.backends.ModelBackend"
        session[HASH_SESSION_KEY] = person.get_session_auth_hash()
        session.create()
        sessions.append(session.session_key)
    return sessions


class Phone:
    """A phone that goes round: the line, a fryer, a reading, its verdict."""

    def __init__(self, number: int, session: str, *, port: int, think_s: float) -> None:
        """Connect, signed in."""
        self.number, self.think_s = number, think_s
        self.cookies = {"sessionid": session}
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self.rng = np.random.default_rng(number)
        self.took_s, self.sizes = defaultdict(list), defaultdict(list)

    def ask(self, name: str, path: str, form: dict | None = None) -> tuple[str, str]:
        """Return the page at a path and where it sends on; keep how long it took."""
        time.sleep(self.rng.uniform(0, 2 * self.think_s))
        headers = {"Cookie": "; ".join(f"{key}={value}" for key, value in self.cookies.items())}
        body = None
        if form is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urlencode(form)
        begun = time.perf_counter()
        self.connection.request("POST" if form is not None else "GET", path, body, headers)
        answer = self.connection.getresponse()
        page = answer.read()
        self.took_s[name].append(time.perf_counter() - begun)
        self.sizes[name].append(len(page))
        for key, value in answer.getheaders():
            if key.lower() == "set-cookie":
                cookie, _, held = value.partition(";")[0].partition("=")
                self.cookies[cookie] = held
        if answer.status >= 400:
            raise RuntimeError(f"{path}: {answer.status}")
        return page.decode("utf-8", "replace"), answer.getheader("Location") or ""

    def first_look(self) -> None:
        """Go round only to look, which is not counted."""
        self.look(f"F{self.number % FRYERS}")
        self.took_s.clear()

    def rounds(self, static: str, day: int, number: int) -> None:
        """Go round and take readings, so many times; a connection left idle meanwhile is opened anew."""
        self.connection.close()
        for n in range(number):
            fryer = (self.number + n) % FRYERS
            page = self.look(f"F{fryer}")
            reading = {
                "csrfmiddlewaretoken": TOKEN.search(page)[1],
                "entry_id": ENTRY.search(page)[1],
                "all_so": "yes",
                "meter": "hand",
                "tpc_pct": f"{tpc_pct(day, fryer, self.rng.normal(0, 0.5)):.1f}",
                "oil_temp_c": "150",
            }
            _, to = self.ask(NAMED[3], f"/k/bench/fryers/F{fryer}/read/", reading)
            self.ask(NAMED[4], to)
            self.ask("A static file", static)

    def look(self, fryer: str) -> str:
        """Open the line, a fryer and the form of a reading; return the form."""
        self.ask(NAMED[0], "/k/bench/")
        self.ask(NAMED[1], f"/k/bench/fryers/{fryer}/")
        return self.ask(NAMED[2], f"/k/bench/fryers/{fryer}/read/")[0]


def main(
    times: int = 10,
    think_s: float = 1.0,
    days: int = FIVE_YEARS_DAYS,
    number: int = PHONES,
    rounds: int = ROUNDS,
) -> None:
    """Fill, serve, ask, and print what it took."""
    phones: list[Phone] = []
    held: list[list[Held]] = [[] for _ in WHEN]
    with tempfile.TemporaryDirectory() as folder:
        sessions = seed(Path(folder, "seeded"), days, number)
        for n in range(times):
            home = shutil.copytree(Path(folder, "seeded"), Path(folder, str(n)))
            asked, workers = served(home, sessions, think_s, day=days, rounds=rounds)
            phones += asked
            held = [[*before, *now] for before, now in zip(held, workers, strict=True)]
    for name in (*NAMED, "A static file"):
        took_ms = sorted(1000 * took for phone in phones for took in phone.took_s[name])
        largest_kb = max(size for phone in phones for size in phone.sizes[name]) / 1000
        p95_ms = took_ms[int(0.95 * len(took_ms))]
        middle_ms = statistics.median(took_ms)
        told = f"median {middle_ms:4.0f} ms, p95 {p95_ms:4.0f} ms, at most {largest_kb:.0f} kB"
        print(f"{name:36} {len(took_ms):4} times: {told}")
    for when, workers in zip(WHEN, held, strict=True):
        rss, pss = ([round(of_worker[n]) for of_worker in workers] for n in range(2))
        print(f"A worker's memory {when:19} RSS {min(rss)}-{max(rss)} MB, PSS {min(pss)}-{max(pss)} MB")
    grown = max(last[1] - middle[1] for middle, last in zip(*held[-2:], strict=True))
    print(f"A worker's PSS has grown in the second half by {grown:.1f} MB at most")


def memory_mb(server: int) -> list[Held]:
    """Return the resident memory of each worker of a server and its share of it, in MB."""
    workers = Path(f"/proc/{server}/task/{server}/children").read_text("ascii").split()
    told = [Path(f"/proc/{worker}/smaps_rollup").read_text("ascii") for worker in workers]
    return [(int(RSS.search(text)[1]) / 1000, int(PSS.search(text)[1]) / 1000) for text in told]


def served(
    home: Path, sessions: list[str], think_s: float, *, day: int, rounds: int
) -> tuple[list[Phone], list[list[Held]]]:
    """Serve a day book, have all phones go round at once; return them and what the workers held ``WHEN``."""
    port = free_port()
    phones = [Phone(n, session, port=port, think_s=think_s) for n, session in enumerate(sessions)]
    command = [sys.executable, "-c", MAIN, "serve", "--port", str(port)]
    environment = {**os.environ, "KETTLEWELL_HOME": str(home)}
    with subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL) as server:  # noqa: S603 - our own
        try:
            static = re.search(r'href="(/static/[^"]+app[^"]*\.css)"', patiently(phones[0]))[1]
            held = [memory_mb(server.pid)]
            with ThreadPoolExecutor(len(phones)) as pool:
                list(pool.map(Phone.first_look, phones))
                held.append(memory_mb(server.pid))
                for part in (rounds // 2, rounds - rounds // 2):
                    list(pool.map(Phone.rounds, phones, repeat(static), repeat(day), repeat(part)))
                    held.append(memory_mb(server.pid))
        finally:
            server.terminate()
            for phone in phones:
                phone.connection.close()
    return phones, held


def free_port() -> int:
    """Return a port that nobody listens at."""
    with socket.socket() as asked:
        asked.bind(("127.0.0.1", 0))
        return int(asked.getsockname()[1])


def patiently(phone: Phone) -> str:
    """Return the line, once the server answers."""
    for _ in range(120):
        try:
            return phone.ask("start", "/k/bench/")[0]
        except OSError:
            phone.connection.close()
            time.sleep(0.5)
    raise TimeoutError("the server does not answer")


if __name__ == "__main__":
    main(*(kind(argument) for kind, argument in zip((int, float, int, int, int), sys.argv[1:], strict=False)))
