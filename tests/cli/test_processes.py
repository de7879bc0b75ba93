"""The life of the server's processes: each worker, the parent, a stop."""

import http.client
import os
import shutil
import signal
import socket
import sqlite3
import time
from contextlib import ExitStack, closing, suppress
from pathlib import Path

import pytest
from ports import free_port
from processes import alive, answers, serving, wait_for, workers_of

LINUX = pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="children are listed by Linux alone")
HALF_A_FORM = (
    b"POST /sign-in/ HTTP/1.1\r\nHost: localhost\r\nCookie: csrftoken=" + b"a" * 32 + b"\r\n"
    b"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 1000\r\n\r\nname"
)
SESSION = "INSERT INTO django_session (session_key, session_data, expire_date) VALUES (?, '', '2100-01-01')"
pytestmark = [pytest.mark.slow, LINUX]


@pytest.fixture(scope="module")
def home(tmp_path_factory):
    return tmp_path_factory.mktemp("serving") / "home"


def test_a_worker_that_dies_is_replaced(home):
    port = free_port()
    with serving(home, port) as server:
        before = workers_of(server.pid)
        os.kill(min(before), signal.SIGKILL)
        assert wait_for(lambda: len(workers_of(server.pid) - {min(before)}) == 2)
        assert wait_for(lambda: answers(port))
        assert server.poll() is None


def test_workers_end_with_their_parent(home):
    with serving(home, free_port()) as server:
        workers = workers_of(server.pid)
        server.kill()
        assert wait_for(lambda: not any(map(alive, workers)), seconds=10)


@pytest.mark.parametrize("told", [os.kill, os.killpg], ids=["the parent", "the group"])
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_it_stops_though_forms_are_half_sent(home, told, by):
    port = free_port()
    with serving(home, port) as server:
        workers = workers_of(server.pid)
        half = [socket.create_connection(("127.0.0.1", port)) for _ in range(12)]
        for one in half:
            one.sendall(HALF_A_FORM)
        time.sleep(0.5)
        told(server.pid, by)
        server.wait(timeout=10)
        for one in half:
            one.close()
        assert not any(map(alive, workers))


def test_forms_that_never_come_hold_up_nobody_and_are_given_up(home):
    port = free_port()
    with serving(home, port) as server, ExitStack() as open_till_then:
        half = [
            open_till_then.enter_context(socket.create_connection(("127.0.0.1", port), timeout=60))
            for _ in range(400)
        ]
        for one in half:
            one.sendall(HALF_A_FORM)
        time.sleep(1)
        assert all(answers(port) for _ in range(10))
        assert all(one.recv(1000).startswith(b"HTTP/1.1 408 ") for one in half)
        assert server.poll() is None


def status_of(port):
    """Return what the first page answers with; None where a worker died meanwhile."""
    with (
        suppress(ConnectionError),
        closing(http.client.HTTPConnection("127.0.0.1", port, timeout=5)) as connection,
    ):
        connection.request("GET", "/sign-in/")
        return connection.getresponse().status
    return None


@pytest.mark.parametrize("how", ["deleted", "replaced by a copy"])
def test_a_book_taken_from_under_the_server_is_written_no_more(tmp_path, how):
    port, book = free_port(), tmp_path / "home" / "kettlewell.sqlite3"
    with serving(tmp_path / "home", port) as server:
        copy = shutil.copyfile(book, tmp_path / "copy")
        book.unlink()
        if how != "deleted":
            copy.rename(book)
        assert all(status_of(port) == 503 for _ in range(4))
        os.kill(min(workers_of(server.pid)), signal.SIGKILL)
        assert wait_for(lambda: len(workers_of(server.pid)) == 2)
        assert {status_of(port) for _ in range(40)} - {None} == {503}, "a new worker wrote elsewhere"


def test_a_second_interrupt_changes_nothing(home):
    with serving(home, free_port()) as server:
        workers = workers_of(server.pid)
        for _ in range(2):
            os.killpg(server.pid, signal.SIGINT)
            time.sleep(0.05)
        assert server.wait(timeout=10) == 0
        assert not any(map(alive, workers))


def test_what_was_written_is_not_left_in_the_log_beside_the_book(home):
    """Neither after a stop, nor after a kill and the next start: what was erased could be read there."""
    with serving(home, free_port()):
        pass
    book, log = home / "kettlewell.sqlite3", home / "kettlewell.sqlite3-wal"
    with closing(sqlite3.connect(book, isolation_level=None)) as connection:
        connection.execute(SESSION, ("left by a kill",))
        assert log.stat().st_size > 0
        with serving(home, free_port()) as server:
            assert log.stat().st_size == 0
            connection.execute(SESSION, ("written while it runs",))
            assert log.stat().st_size > 0
            server.terminate()
            server.wait(timeout=10)
        assert log.stat().st_size == 0


def test_both_workers_tell_the_log_of_wrong_hosts_one_line_each(home):
    port, file = free_port(), home / "log" / "kettlewell.log"
    file.unlink(missing_ok=True)
    with serving(home, port) as server:
        for _ in range(40):
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
            with closing(connection):
                connection.request("GET", "/", headers={"Host": "elsewhere.example"})
                assert connection.getresponse().status == 400
        held = {pid for pid in workers_of(server.pid) if str(file) in files_of(pid)}
    lines = file.read_text("ascii").splitlines()
    told = "refused person=- from=127.0.0.1 page=- why=host host=elsewhere.example"
    assert [line.split(" ", 1)[1] for line in lines] == [told] * 40
    assert len(held) == 2


def files_of(pid):
    """Return the files that a process has open."""
    return {str(link.readlink()) for link in Path(f"/proc/{pid}/fd").iterdir()}
