"""What is lost when a server is killed, stopped and pestered while phones write: nothing should be.

python bench/faults.py [FAULTS] [SEED]    twenty minutes for 250 of them

Four phones write readings all the time, and send again what was not answered. Meanwhile, drawn by the seed: a
worker is killed, the parent, or all; the server is stopped by either signal, to it alone or to its group;
forms are half sent; a second server is started on the same home. What a phone was told as stored has to be in
the day book in the end, which has to verify; no process may outlive its server, and no stop take over 5 s.
With KETTLEWELL_DATABASE the day book is in that database, which has to be empty.
"""

import http.client
import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from load_server import ENTRY, MAIN, TOKEN, Phone, free_port, seed

WRITERS, DAYS = 4, 20
STOP_S, START_S = 5.0, 60.0
HALF = b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 900\r\n\r\nhalf"


@dataclass(slots=True, kw_only=True)
class Served:
    """A server that is started again whenever it ended, and what was found of it."""

    home: Path
    port: int = field(default_factory=free_port)
    process: "subprocess.Popen[bytes] | None" = None
    orphans: int = 0
    slow_stops: int = 0
    slowest_stop_s: float = 0.0
    second_servers: int = 0

    @property
    def pid(self) -> int:
        """The parent's number."""
        assert self.process is not None  # noqa: S101 - tells mypy
        return self.process.pid

    def command(self, port: int) -> "subprocess.Popen[bytes]":
        """Start a server in a process group of its own."""
        return subprocess.Popen(  # noqa: S603 - our own
            [sys.executable, "-c", MAIN, "serve", "--port", str(port)],
            env={**os.environ, "KETTLEWELL_HOME": str(self.home)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )

    def begin(self) -> None:
        """Start it unless it runs, and wait until it listens and has its workers."""
        if self.process is None or self.process.poll() is not None:
            self.process = self.command(self.port)
        until = time.monotonic() + START_S
        while len(self.workers()) < 2 or not self.listens():
            if time.monotonic() > until:
                raise TimeoutError("the server does not come back")
            if self.process.poll() is not None:
                self.process = self.command(self.port)
            time.sleep(0.05)

    def listens(self) -> bool:
        """Tell whether somebody takes the connection."""
        with suppress(OSError), socket.create_connection(("127.0.0.1", self.port), timeout=2):
            return True
        return False

    def workers(self) -> list[int]:
        """Return the numbers of its workers."""
        with suppress(OSError):
            listed = Path(f"/proc/{self.pid}/task/{self.pid}/children").read_text("ascii")
            return [int(child) for child in listed.split()]
        return []

    def end_by(self, told: Callable[[int, int], None], by: signal.Signals) -> None:
        """End it, and see how long it takes and whether a worker stays."""
        assert self.process is not None  # noqa: S101 - tells mypy
        workers, begun = self.workers(), time.monotonic()
        told(self.pid, by)
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(timeout=4 * STOP_S)
        took_s = time.monotonic() - begun
        self.slowest_stop_s = max(self.slowest_stop_s, took_s)
        self.slow_stops += took_s > STOP_S
        until = time.monotonic() + STOP_S
        while any(map(alive, workers)) and time.monotonic() < until:
            time.sleep(0.05)
        self.orphans += sum(map(alive, workers))
        with suppress(ProcessLookupError):
            os.killpg(self.pid, signal.SIGKILL)
        self.process.wait()


def alive(pid: int) -> bool:
    """Tell whether a process is there and no mere remnant."""
    with suppress(FileNotFoundError):
        return Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()[0] != "Z"
    return False


class Writer(Phone):
    """A phone that writes readings all the time, and keeps which of them were told as stored."""

    def write_on(self, stop: threading.Event) -> None:
        """Write until told to stop; what was not answered is sent again as it was."""
        self.stored: list[str] = []
        self.refused = Counter[str]()
        path, reading = f"/k/bench/fryers/F{self.number}/read/", None
        while not stop.is_set():
            try:
                reading = reading or filled_in(self.ask("form", path)[0])
                if self.ask("store", path, reading)[1]:
                    self.stored.append(reading["entry_id"])
                else:
                    self.refused["asked about"] += 1
                reading = None
            except RuntimeError as error:
                self.refused[str(error)[-3:]] += 1
                reading = None
            except (OSError, http.client.HTTPException):
                self.connection.close()
                time.sleep(0.1)


def filled_in(page: str) -> dict[str, str]:
    """Return a reading as its form sends it."""
    token, entry = TOKEN.search(page), ENTRY.search(page)
    if token is None or entry is None:
        raise RuntimeError("no form")
    told = {"all_so": "yes", "meter": "hand", "tpc_pct": "10.0", "oil_temp_c": "150"}
    return {"csrfmiddlewaretoken": token[1], "entry_id": entry[1], **told}


def half_send(port: int) -> None:
    """Begin two dozen forms, and go away while they are waited for."""
    half = []
    with suppress(OSError):
        for _ in range(24):
            half.append(socket.create_connection(("127.0.0.1", port), timeout=2))
            half[-1].sendall(HALF)
        time.sleep(0.3)
    for connection in half:
        connection.close()


def fault(served: Served, rng: random.Random) -> str:
    """Do one thing to a server, and return its name."""
    stops = {
        f"{name} to {whom}": (told, by)
        for name, by in (("interrupt", signal.SIGINT), ("terminate", signal.SIGTERM))
        for whom, told in (("it", os.kill), ("its group", os.killpg))
    }
    kills = {"parent killed": (os.kill, signal.SIGKILL), "all killed": (os.killpg, signal.SIGKILL)}
    ends = stops | kills
    name = rng.choice([*ends, *kills, "worker killed", "worker killed", "forms half sent", "second server"])
    if name in ends:
        served.end_by(*ends[name])
    elif name == "worker killed":
        with suppress(ProcessLookupError):
            os.kill(rng.choice(served.workers()), signal.SIGKILL)
    elif name == "forms half sent":
        half_send(served.port)
    else:
        with served.command(free_port()) as second:
            served.second_servers += second.wait(timeout=START_S) != 2
    return name


def lost(stored: list[str]) -> tuple[int, int]:
    """Return how many of these entries the day book has not, and how many readings no verdict answers."""
    from kettlewell.records.models import Entry

    there = {str(pk) for pk in Entry.objects.filter(kind="reading").values_list("pk", flat=True)}
    told = {str(pk) for pk in Entry.objects.filter(kind="verdict").values_list("about", flat=True)}
    return len(set(stored) - there), len(set(stored) - told)


def main(faults: int = 250, seed_of_faults: int = 1) -> None:
    """Serve, write, disturb, and print what was lost."""
    rng = random.Random(seed_of_faults)  # noqa: S311 - no secret
    done, stop = Counter[str](), threading.Event()
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder, "home")
        sessions = seed(home, DAYS)
        served = Served(home=home)
        served.begin()
        writers = [Writer(n, sessions[n], port=served.port, think_s=0.0) for n in range(WRITERS)]
        threads = [threading.Thread(target=writer.write_on, args=[stop]) for writer in writers]
        for thread in threads:
            thread.start()
        for _ in range(faults):
            time.sleep(rng.uniform(0.0, 1.0))
            done[fault(served, rng)] += 1
            served.begin()
        stop.set()
        for thread in threads:
            thread.join()
        served.end_by(os.kill, signal.SIGTERM)
        env = {**os.environ, "KETTLEWELL_HOME": str(home)}
        command = [sys.executable, "-c", MAIN, "verify"]
        verified = subprocess.run(command, env=env, capture_output=True, check=False)  # noqa: S603 - our own
        stored = [entry for writer in writers for entry in writer.stored]
        missing, untold = lost(stored)
    print("; ".join(f"{name} {times}" for name, times in sorted(done.items())))
    print(f"refused: {dict(sum((writer.refused for writer in writers), Counter()))}")
    print(f"{len(stored)} told as stored, {missing} of them lost, {untold} without a verdict")
    print(f"{served.orphans} processes outlived their server; second servers let in: {served.second_servers}")
    print(f"slowest end {served.slowest_stop_s:.1f} s, {served.slow_stops} over {STOP_S:g} s")
    print(f"verify: exit code {verified.returncode}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
