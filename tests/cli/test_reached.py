"""Where the server is reached, and what is said of it."""

import os
import pty
import re
import socket
import subprocess
import sys
from contextlib import closing, suppress
from datetime import UTC, datetime

import pytest
import segno
from moments import without_settings
from ports import free_port
from processes import MAIN

from kettlewell.cli import reached
from kettlewell.cli.reached import EVERYWHERE, network_address, reach_of, told
from kettlewell.telling import reader

NOW = datetime(2026, 9, 1, tzinfo=UTC)
OWN = ("localhost", "127.0.0.1", "[::1]")


@pytest.fixture(autouse=True)
def on_a_network(monkeypatch):
    """A machine of one address that is no container, whatever the tests run on."""
    monkeypatch.setattr(reached, "network_address", lambda: "192.0.2.7")
    monkeypatch.setattr(reached, "CONTAINERS", ())
    for name in ("KETTLEWELL_PROXY", "KETTLEWELL_HOSTS"):
        monkeypatch.delenv(name, raising=False)


def says(reach, *, picture=False):
    return [line.text for line in told(reach, reader("UTC", NOW), picture=picture)]


def test_a_server_of_this_machine_alone_says_that_phones_cannot_reach_it():
    reach = reach_of("127.0.0.1", 8350, ["kitchen.example"], encrypted=False)
    assert (reach.phones, reach.here) == (None, "http://127.0.0.1:8350/")
    assert "--address 0.0.0.0" in says(reach, picture=True)[-1]


@pytest.mark.parametrize("everywhere", EVERYWHERE)
def test_a_server_of_the_whole_network_names_its_own_address_and_answers_there(everywhere):
    reach = reach_of(everywhere, 8350, [], encrypted=False)
    assert reach.phones == "http://192.0.2.7:8350/"
    assert reach.hosts == ("192.0.2.7", *OWN)


@pytest.mark.parametrize(
    ("address", "names", "phones"),
    [
        ("192.0.2.9", [], "https://192.0.2.9:8350/"),
        ("2001:db8::7", [], "https://[2001:db8::7]:8350/"),
        (EVERYWHERE[0], ["kitchen.example", "other.example"], "https://kitchen.example:8350/"),
        (EVERYWHERE[0], [".example", "localhost"], "https://192.0.2.7:8350/"),
    ],
)
def test_a_name_goes_before_an_address(address, names, phones):
    reach = reach_of(address, 8350, names, encrypted=True)
    assert reach.phones == phones
    assert set(names) < set(reach.hosts)


def test_behind_a_proxy_the_name_of_that_is_told(monkeypatch):
    monkeypatch.setenv("KETTLEWELL_PROXY", "127.0.0.1")
    named, unnamed = (reach_of("127.0.0.1", 8350, names, encrypted=False) for names in (["a.example"], []))
    assert named.phones == "https://a.example/"
    assert unnamed.phones is None
    assert "proxy" in says(unnamed)[-1]


def test_where_there_is_no_network_or_a_container_around_it_says_so(monkeypatch, tmp_path):
    monkeypatch.setattr(reached, "CONTAINERS", (tmp_path,))
    contained = says(reach_of(EVERYWHERE[0], 8350, [], encrypted=False))
    monkeypatch.setattr(reached, "CONTAINERS", (tmp_path / "gone",))
    monkeypatch.setattr(reached, "network_address", lambda: None)
    alone = says(reach_of(EVERYWHERE[0], 8350, [], encrypted=False))
    assert "container" in contained[-1]
    assert "No network" in alone[-1]
    assert all("--host" in each[-1] and "127.0.0.1:8350" in each[0] for each in (contained, alone))


class Unconnected:
    """A socket that looks up the way and sends nothing; on a network of both versions of IP, one, or none."""

    ways = ()

    def __init__(self, family, kind):
        assert kind == socket.SOCK_DGRAM
        self.family = family

    def connect(self, _to):
        if self.family not in self.ways:
            raise OSError(101, "Network is unreachable")

    def getsockname(self):
        return ("192.0.2.7" if self.family == socket.AF_INET else "2001:db8::7", 40000)

    def close(self):
        pass


@pytest.mark.parametrize(
    ("ways", "found"),
    [
        ((socket.AF_INET, socket.AF_INET6), "192.0.2.7"),
        ((socket.AF_INET6,), "2001:db8::7"),
        ((), None),
    ],
)
def test_the_own_address_is_found_without_sending_anything(monkeypatch, ways, found):
    monkeypatch.setattr(Unconnected, "ways", ways)
    monkeypatch.setattr(reached.socket, "socket", Unconnected)
    assert network_address() == found


def test_the_rows_of_a_terminal_are_the_code():
    """Each row of blocks is two rows of the code; written is what is light."""
    reach = reach_of(EVERYWHERE[0], 8350, [], encrypted=False)
    *_, by_camera = (row for row in says(reach, picture=True) if "code" in row)
    rows = says(reach, picture=True)
    rows = rows[rows.index(by_camera) + 1 :]
    upper, lower = {"█": 1, "▀": 1, "▄": 0, " ": 0}, {"█": 1, "▀": 0, "▄": 1, " ": 0}
    light = [[half[sign] for sign in row] for row in rows for half in (upper, lower)]
    code = segno.make(reach.phones, error="m", micro=False)
    dark = [[not each for each in row] for row in code.matrix_iter(border=4)]
    assert light[: len(dark)] == dark


@pytest.mark.slow
@pytest.mark.parametrize("on_terminal", [True, False])
def test_serve_shows_the_code_on_a_terminal_alone(tmp_path, on_terminal):
    """In a pipe, such as the journal of a service, blocks would be noise."""
    said = said_by_serve(tmp_path / "home", on_terminal=on_terminal)
    assert "Kettlewell is at http://192.0.2.8:" in said
    assert ("▄▄▄▄▄" in said) is on_terminal


def said_by_serve(home, *, on_terminal):
    """Return what a server says before it listens: behind a name, as tests listen to this machine alone."""
    words = ["serve", "--address", "127.0.0.3", "--port", str(free_port()), "--host", "192.0.2.8"]
    env = {**without_settings(os.environ), "KETTLEWELL_HOME": str(home), "LC_ALL": "C.UTF-8"}
    shown, end = pty.openpty() if on_terminal else os.pipe()
    with subprocess.Popen([sys.executable, "-c", MAIN, *words], env=env, stdout=end, stderr=end) as server:
        os.close(end)
        said = b""
        with suppress(OSError), closing(os.fdopen(shown, "rb", buffering=0)) as screen:
            while not re.search(rb"asks for this code: \S+", said) and (more := screen.read(4096)):
                said += more
            server.terminate()
    return said.decode("utf-8")
