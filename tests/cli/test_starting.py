"""A start that cannot be: one sentence and exit code 2, before any address is shown."""

import os
import resource
import socket
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from functools import partial

import pytest
from moments import without_settings
from ports import free_port
from processes import MAIN, serving

from kettlewell.cli.starting import held_port
from kettlewell.telling import reader

NOW = datetime(2026, 9, 1, tzinfo=UTC)
NEWER = "INSERT INTO django_migrations (app, name, applied) VALUES ('records', '9999_later', '2100-01-01')"


def refused(home, *words, port=None, **process):
    """Return what a start says that ends by itself with exit code 2."""
    env = {**without_settings(os.environ), "KETTLEWELL_HOME": str(home)}
    command = [sys.executable, "-c", MAIN, *words, "--port", str(port or free_port())]
    ended = subprocess.run(
        command, env=env, capture_output=True, text=True, check=False, timeout=120, **process
    )
    assert (ended.returncode, ended.stdout) == (2, ""), ended.stderr
    assert len(ended.stderr.splitlines()) == 1, ended.stderr
    return ended.stderr


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_a_port_that_is_taken_is_refused(tmp_path, command):
    with closing(socket.socket()) as other:
        other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert f"port {port}" in refused(tmp_path, command, port=port)


def test_an_address_of_another_machine_is_refused(tmp_path):
    assert "192.0.2.1" in refused(tmp_path, "serve", "--address", "192.0.2.1")


def test_a_certificate_that_is_none_is_refused(tmp_path):
    paper = tmp_path / "kitchen.pem"
    paper.write_text("no certificate", "ascii")
    words = ["--certificate", str(paper), "--key", str(paper)]
    assert "certificate" in refused(tmp_path / "home", "serve", *words)


def test_a_home_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "home").touch()
    assert "home" in refused(tmp_path / "home", "serve")


@pytest.mark.parametrize("most_bytes", [0, 4_000, 60_000])
def test_a_disk_that_is_full_is_told(tmp_path, most_bytes):
    full = partial(resource.setrlimit, resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    assert "cannot be opened" in refused(tmp_path / "home", "serve", preexec_fn=full)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read and write everything")
def test_a_home_that_may_not_be_entered_is_told(tmp_path):
    (tmp_path / "home").mkdir(mode=0o000)
    assert "cannot be opened" in refused(tmp_path / "home", "serve")


def test_a_port_is_held_before_the_server_listens():
    hold = partial(held_port, "127.0.0.1", free_port(), reader("UTC", NOW))
    with hold(), pytest.raises(ValueError, match="nothing can listen"), hold():
        pass
    with hold():
        pass


def test_a_home_of_an_unknown_user_is_refused(tmp_path):
    assert "home directory" in refused("~nobody-of-that-name/home", "serve")


def test_a_database_that_is_none_is_refused(tmp_path):
    (tmp_path / "kettlewell.sqlite3").write_text("oil " * 1000, "ascii")
    assert "not a database" in refused(tmp_path, "serve")


@pytest.mark.slow
def test_a_second_server_and_a_newer_day_book_are_refused(tmp_path):
    home = tmp_path / "home"
    with serving(home, free_port()):
        assert "already" in refused(home, "serve")
    with closing(sqlite3.connect(home / "kettlewell.sqlite3", isolation_level=None)) as book:
        book.execute(NEWER)
    assert "newer" in refused(home, "serve")
