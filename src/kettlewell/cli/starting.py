"""What has to be right before a server starts; each fault is told in one sentence."""

import socket
import ssl
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from kettlewell.telling import N_, Reader

TAKEN = N_("At {address}, port {port}, nothing can listen: {why}. Choose another with --port or --address.")
SERVED_TWICE = N_("A server runs on {place} already. Stop it first.")
NEWER = N_("{place} was written by a newer Kettlewell. Start that one.")
CERTIFICATE = N_("The certificate and its key cannot be used: {why}")
HOME = N_("The day book cannot be opened: {why}")


@contextmanager
def told_in_a_sentence(reader: Reader) -> Iterator[None]:
    """Turn what folder, file or database are unfit for into a ValueError that says so."""
    from django.db import DatabaseError  # noqa: PLC0415

    try:
        yield
    except (OSError, DatabaseError, RuntimeError) as error:
        raise ValueError(reader.say(HOME, why=str(error))) from None


@contextmanager
def held_port(address: str, port: int, reader: Reader) -> Iterator[None]:
    """Hold a port against every other server that starts; raises ValueError where nothing can listen.

    The workers share the port among them, and would share it with any other server unasked.
    """
    try:
        family, kind, _, _, place = socket.getaddrinfo(address, port, type=socket.SOCK_STREAM)[0]
        with closing(socket.socket(family, kind)) as tried:
            tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            tried.bind(place)
        held = socket.socket(family, kind)
        held.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        held.bind(place)
    except OSError as error:
        raise ValueError(reader.say(TAKEN, address=address, port=port, why=error.strerror)) from None
    with closing(held):
        yield


def check_certificate(certificate: Path, key: Path, reader: Reader) -> None:
    """Raise ValueError for a certificate or key that cannot be used, or that belong not together."""
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(certificate, key, password="")
    except OSError as error:
        raise ValueError(reader.say(CERTIFICATE, why=error.strerror or str(error))) from None


def check_version(reader: Reader) -> None:
    """Raise ValueError for a database that a newer program has changed."""
    from django.db import connection  # noqa: PLC0415
    from django.db.migrations.loader import MigrationLoader  # noqa: PLC0415

    loader = MigrationLoader(connection)
    ours = {step for step in loader.applied_migrations if step[0] == "records"}
    if ours - set(loader.disk_migrations or ()):
        raise ValueError(reader.say(NEWER, place=connection.settings_dict["NAME"]))


@contextmanager
def only_server(home: Path, reader: Reader) -> Iterator[None]:
    """Hold the home against a second server, until this process and its workers have ended."""
    from django.core.files import locks  # noqa: PLC0415

    with told_in_a_sentence(reader):
        file = (home / "serve.lock").open("w")
    with file:
        if not locks.lock(file, locks.LOCK_EX | locks.LOCK_NB):
            raise ValueError(reader.say(SERVED_TWICE, place=str(home)))
        yield
