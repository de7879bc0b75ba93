"""The commands of the server: serve a kitchen's own, show the demo, renew a password."""

import os
import signal
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kettlewell import clock
from kettlewell.book.words import ToldError
from kettlewell.cli.screen import Line
from kettlewell.cli.starting import check_version, held_port, only_server, told_in_a_sentence
from kettlewell.telling import N_, Reader
from kettlewell.telling import reader as words

PORT = 8350
STOP_S = 3
BOOK = "kettlewell.sqlite3"
OURS = {
    BOOK,
    f"{BOOK}-wal",
    f"{BOOK}-shm",
    f"{BOOK}-journal",
    "secret.key",
    "start.lock",
    "serve.lock",
    "static",
    "log",
}
ELSEWHERE = (
    "KETTLEWELL_DATABASE",
    "KETTLEWELL_HOSTS",
    "KETTLEWELL_HTTPS",
    "KETTLEWELL_PROXY",
    "KETTLEWELL_PHONES_AT",
)
INVENTED = N_("Marrowby ferry terminal is invented: the place, its people and every figure.")
OPEN = N_("Open {address} in a browser and sign in as one of these:")
STOPS = N_("Ctrl-C stops it. Nothing is kept: the next demo begins anew, with new passwords.")
CODE = N_("Nobody has set it up yet. The page asks for this code: {code}")
CLOCK_SET = N_("The clock is set to {now}, for trials alone: what is written bears that time.")
NO_BOOK = N_("There is no day book in {place}.")
LOST = N_(
    "{key} is of an earlier start, and its day book is not in {place}: "
    "bring it back from a copy, or delete secret.key to begin anew"
)
NOT_ALONE = N_("KETTLEWELL_HOME: {home} holds other things; give the day book a folder of its own")
NOBODY = N_("Nobody signs in as {name}.")
ROLES = {
    "owner": N_("owner"),
    "cook": N_("cook"),
    "area_manager": N_("area manager"),
    "inspector": N_("inspector, reads only"),
}


def start(home: Path | None = None) -> None:
    """Make Django ready, with everything in its place: home, secret, tables, triggers, static files."""
    # these take a second that the commands without a server need not wait for
    import django  # noqa: PLC0415
    from django.conf import settings  # noqa: PLC0415
    from django.core.management import call_command  # noqa: PLC0415

    find_home(home)
    with alone(settings.HOME):
        begun = (settings.HOME / "secret.key").exists()
        str(settings.SECRET_KEY)  # makes it
        django.setup()
        if begun:
            check_kept(settings.HOME)
        check_version(words("UTC", clock.now()))
        call_command("migrate", verbosity=0)
        call_command("clearsessions", verbosity=0)
        forget_old()
        call_command("collectstatic", verbosity=0, interactive=False)
        empty_log()


def find_home(home: Path | None) -> Path:
    """Make the folder in which everything is kept, and return it; ``home`` in place of what settings say."""
    from django.conf import settings  # noqa: PLC0415

    if home is not None:
        os.environ["KETTLEWELL_HOME"] = str(home)
        for elsewhere in ELSEWHERE:
            os.environ.pop(elsewhere, None)
    os.environ["DJANGO_SETTINGS_MODULE"] = "kettlewell.settings"
    os.umask(0o077)
    make_private(settings.HOME)
    return Path(settings.HOME)


@contextmanager
def opened(address: str, port: int, reader: Reader, *, home: Path | None = None) -> Iterator[None]:
    """Make everything ready to serve, and hold the home and nobody else's port while serving.

    Raises ValueError for whatever stands against it.
    """
    with held_port(address, port, reader):
        with told_in_a_sentence(reader):
            place = find_home(home)
        with only_server(place, reader):
            with told_in_a_sentence(reader):
                start(home)
                watch_book()
            yield


def watch_book() -> None:
    """Tell the workers which file the day book is, so that they notice when it is so no more."""
    from django.db import connection  # noqa: PLC0415

    from kettlewell.records.book_file import BEGUN_WITH, identity  # noqa: PLC0415

    if connection.vendor == "sqlite":
        os.environ[BEGUN_WITH] = str(identity(Path(connection.settings_dict["NAME"])))


def find(reader: Reader, *, to_write: bool) -> None:
    """Make Django ready for a day book that is there, to write in it or else to read it alone.

    Raises ValueError where there is no day book.
    """
    import django  # noqa: PLC0415

    os.environ["DJANGO_SETTINGS_MODULE"] = "kettlewell.settings"
    django.setup()
    from django.db import DatabaseError, connection  # noqa: PLC0415

    from kettlewell.records.models import Entry, Kitchen  # noqa: PLC0415

    place = str(connection.settings_dict["NAME"])
    there = connection.vendor != "sqlite" or Path(place).is_file()  # SQLite would make the file
    if there and not to_write and connection.vendor == "sqlite":
        connection.settings_dict |= reading_only(Path(place))
    try:
        tables = connection.introspection.table_names() if there else []
        begun = "records_entry" in tables and (Kitchen.objects.exists() or Entry.objects.exists())
    except DatabaseError as error:
        raise ValueError(f"{place}: {error}") from None
    if not begun:
        raise ValueError(reader.say(NO_BOOK, place=place))


def check_kept(home: Path) -> None:
    """Raise ValueError where the day book of an earlier start is gone: strangers could begin a new one."""
    from django.db import connection  # noqa: PLC0415

    place = Path(connection.settings_dict["NAME"])
    lost = connection.vendor == "sqlite" and not (place.is_file() and place.stat().st_size)
    if lost or "records_person" not in connection.introspection.table_names():
        raise ToldError(LOST, key=str(home / "secret.key"), place=str(place))


def first_start(reader: Reader) -> Iterator[Line]:
    """Yield the code that set-up asks for, where nobody has set the server up yet."""
    from kettlewell.records.first_start import set_up_code  # noqa: PLC0415
    from kettlewell.records.roster import is_anybody_there  # noqa: PLC0415

    if not is_anybody_there():
        yield Line(text=reader.say(CODE, code=set_up_code()))


def reading_only(book: Path) -> dict[str, object]:
    """Return how SQLite opens a day book to read it.

    One that may not be written, itself or its folder, and that no server has open is taken to stand still:
    SQLite could not make the files beside it that others are kept in step by.
    """
    mode = "mode=rw" if all(os.access(path, os.W_OK) for path in (book, book.parent)) else "mode=ro"
    if mode == "mode=ro" and not book.with_name(f"{book.name}-wal").exists():
        mode += "&immutable=1"
    options = {"timeout": 20, "init_command": "PRAGMA query_only=ON"}
    return {"NAME": f"{book.absolute().as_uri()}?{mode}", "OPTIONS": options}


def make_private(home: Path) -> None:
    """Make the home folder, for its owner alone.

    Raises ValueError for a folder that others can enter and that holds other things: shutting them
    out of those may do harm.
    """
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not home.stat().st_mode & 0o077:
        return
    names = {path.name for path in home.iterdir()}
    if names - OURS:
        raise ToldError(NOT_ALONE, home=str(home))
    home.chmod(0o700)


@contextmanager
def alone(home: Path) -> Iterator[None]:
    """Let whoever starts in the same home at the same time wait."""
    from django.core.files import locks  # noqa: PLC0415

    with (home / "start.lock").open("w") as file:
        locks.lock(file, locks.LOCK_EX)
        yield


def listen(address: str, port: int, *, certificate: Path | None = None, key: Path | None = None) -> None:
    """Serve until stopped."""
    from django.db import connections  # noqa: PLC0415
    from granian import Granian  # noqa: PLC0415
    from granian.constants import Interfaces  # noqa: PLC0415
    from granian.log import LogLevels  # noqa: PLC0415

    connections.close_all()
    # glibc gives each thread a heap of its own: with two a worker holds 30 MB less (bench/README.md)
    os.environ.setdefault("MALLOC_ARENA_MAX", "2")
    server = Granian(
        "kettlewell.asgi:application",
        address=address,
        port=port,
        interface=Interfaces.ASGINL,
        workers=2,
        ssl_cert=certificate,
        ssl_key=key,
        log_access=False,
        log_level=LogLevels.warning,
        respawn_failed_workers=True,
        workers_kill_timeout=STOP_S,
    )
    try:
        server.serve()
    finally:  # Granian exits by itself where a worker had died
        for impatience in (signal.SIGINT, signal.SIGTERM):
            signal.signal(impatience, signal.SIG_IGN)
        empty_log()


def forget_old() -> None:
    """Forget what phones said of the server's clock too long ago, and tables nobody brought in."""
    from kettlewell.records.kept_tables import tables_forget  # noqa: PLC0415
    from kettlewell.records.phones import phones_forget  # noqa: PLC0415

    phones_forget(clock.now())
    tables_forget(clock.now())


def empty_log() -> None:
    """Bring what SQLite's write-ahead log holds into the day book, and leave nothing readable in it."""
    from django.db import connection  # noqa: PLC0415

    if connection.vendor == "sqlite" and Path(connection.settings_dict["NAME"]).is_file():
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()


@contextmanager
def demo_home() -> Iterator[Path]:
    """Give a home folder that is gone once the demo is."""
    with tempfile.TemporaryDirectory(prefix="kettlewell-demo-") as folder:
        yield Path(folder)


def demo_lines(reader: Reader, address: str) -> Iterator[Line]:
    """Bring Marrowby into the day book, and yield who can look around in it."""
    from kettlewell.bridge.demo import demo_kitchen  # noqa: PLC0415

    _kitchen, people = demo_kitchen(reader.now, reader.say)
    yield Line(text=reader.say(INVENTED))
    yield Line(text="")
    yield Line(text=reader.say(OPEN, address=address))
    for person in people:
        told = N_("{sign_in}, password {password}, PIN {pin}: {name}, {role}")
        values = {
            "sign_in": person.sign_in,
            "password": person.password,
            "pin": person.pin,
            "name": person.name,
            "role": reader.say(ROLES[person.role]),
        }
        yield Line(text=reader.say(told, **values), indent=3)
    yield Line(text="")
    yield Line(text=reader.say(STOPS))


def password_renew(sign_in: str, password: str, reader: Reader) -> None:
    """Give someone a new password and ask for no code after it; it ends sessions and is told in the day book.

    Raises ValueError where nobody signs in so, and for a password that is too weak.
    """
    from django.core.exceptions import ValidationError  # noqa: PLC0415

    from kettlewell.bridge.people import access_recover  # noqa: PLC0415
    from kettlewell.records.access_log import Event, tell  # noqa: PLC0415
    from kettlewell.records.ledger import Hand  # noqa: PLC0415
    from kettlewell.records.models import Person  # noqa: PLC0415
    from kettlewell.records.people import signed_as  # noqa: PLC0415

    person = Person.objects.filter(sign_in=signed_as(sign_in), is_active=True).first()
    if person is None:
        raise ValueError(reader.say(NOBODY, name=sign_in))
    try:
        renewed = access_recover(person, password, hand=Hand(person=None, now=reader.now))
    except ValidationError as error:
        raise ValueError(" ".join(error.messages)) from None
    tell(Event.RENEWED, None, page="terminal", of=person.pk, what=",".join(renewed))
