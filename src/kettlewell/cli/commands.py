"""The commands and their options. Exit code 0: done; 2: the input was no good."""

import os
import sys
from datetime import datetime
from itertools import chain
from pathlib import Path
from typing import Any

import click
import numpy as np

from kettlewell import __version__, clock
from kettlewell.book.words import ToldError
from kettlewell.cli import backups, given, server
from kettlewell.cli.document import document
from kettlewell.cli.exported import exported
from kettlewell.cli.given import as_json_option, at_option, folder_argument
from kettlewell.cli.imported import imported
from kettlewell.cli.meter import meter, reports_of
from kettlewell.cli.reached import HERE, TOLD, names_set, reach_of, told
from kettlewell.cli.report import report
from kettlewell.cli.screen import Line, complain, console, draws_unicode, show, width_of
from kettlewell.cli.server import PORT
from kettlewell.cli.speaking import Group, Whole, argument, asked_for_language, option
from kettlewell.cli.starting import check_certificate, only_server, told_in_a_sentence
from kettlewell.cli.verified import BROKEN, heads_noted, verified
from kettlewell.cli.wallcard import wall_card
from kettlewell.folder import Folder
from kettlewell.telling import N_, Reader, reader
from kettlewell.telling.slips import slips_in

NOT_OF_BOTH = N_("--owner is for a folder; --kitchen, --recipe, --dry-run and --sure are for a table.")


def _tell_version(ctx: click.Context, _option: click.Parameter, wanted: bool) -> None:  # noqa: FBT001 - click's
    if wanted:
        given.show_lines([Line(text=f"Kettlewell {__version__}")])
        ctx.exit()


@click.group(
    cls=Group,
    no_args_is_help=True,
    help=N_("Keeps frying oil fit to fry in, throws none away early, and can show it."),
)
@option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_tell_version,
    help=N_("Say which version this is."),
)
def app() -> None:
    """Hold the commands."""


@app.group(no_args_is_help=True, help=N_("The day book."))
def log() -> None:
    """Hold the commands on a log."""


app.add_command(meter)

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)
NEW_FILE = click.Path(dir_okay=False, path_type=Path)
port_option = option(
    "--port",
    type=Whole(min=1, max=65535),
    default=PORT,
    show_default=True,
    help=N_("The port to listen at."),
)


@app.command(help=N_("Say what to do with every bath, most urgent first."))
@folder_argument
@at_option
@as_json_option
def assess(folder: Path, at: str | None, *, as_json: bool) -> None:
    """Say what to do with every bath, most urgent first."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = given.time_of(at, kitchen_folder.setup.kitchen)
        _answer(kitchen_folder, now, as_json=as_json)


@app.command(help=N_("Print the wall card: which reading leads to what."))
@folder_argument
def card(folder: Path) -> None:
    """Print the wall card: which reading leads to what."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = clock.now()
        kitchen = kitchen_folder.kitchen_at(now)
        answers, reports = given.carded(kitchen_folder, now), reports_of(kitchen_folder, now)
        locale = None if asked_for_language() else kitchen.language
        words = reader(kitchen.timezone, now, locale=locale)
        given.show_lines(wall_card(answers, reports, kitchen, words))
        given.tell_problems(kitchen_folder, now)


@log.command(
    help=N_(
        "List every row of the log that cannot be used, or looks like a slip; exit code 2 for the former."
    )
)
@folder_argument
def check(folder: Path) -> None:
    """List every row of the log that cannot be used, or looks like a slip; exit code 2 for the former."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
    kitchen = kitchen_folder.setup.kitchen
    problems, entries = kitchen_folder.log.problems, kitchen_folder.log.entries
    now = clock.now()
    words = reader(kitchen.timezone, now)
    given.show_lines(Line(text=words.tell(problem.message), picture=True) for problem in problems)
    given.show_lines(Line(text=words.tell(slip), picture=True) for slip in slips_in(entries, kitchen, now))
    used = words.count(len(entries), "{number} row can be used.", "{number} rows can be used.")
    given.show_lines([Line(text=used)])
    if problems:
        sys.exit(given.BAD_INPUT)


@app.command(help=N_("Compare rules on kitchens whose truth is known."))
@option("--kitchens", type=Whole(min=2), default=30, help=N_("How many practice kitchens."))
@option("--fryers", type=Whole(min=1), default=4, help=N_("How many fryers in each."))
@option("--days", type=Whole(min=1), default=120, help=N_("How many days they fry."))
@option("--seed", type=Whole(min=0), default=1, help=N_("Another number draws other kitchens."))
def practice(*, kitchens: int, fryers: int, days: int, seed: int) -> None:
    """Compare rules on kitchens whose truth is known."""
    # a tenth of the time a cook waits for `assess`, which needs neither
    from kettlewell.cli.practice import practice_table  # noqa: PLC0415
    from kettlewell.practice import compare_rules  # noqa: PLC0415

    with given.bad_input():
        rng = np.random.default_rng(seed)
        scores = compare_rules(rng, kitchens=kitchens, fryers=fryers, days=days)
        given.show_lines(practice_table(scores, reader("UTC", clock.now())))


@app.command(help=N_("Serve the kitchen's own program to phones, tablets and browsers."))
@option(
    "--address",
    default=HERE,
    show_default=True,
    help=N_("The address to listen at; 0.0.0.0 for the whole network."),
)
@port_option
@option("--host", multiple=True, help=N_("A name or address that phones reach this machine by."))
@option("--certificate", type=FILE, help=N_("A certificate for HTTPS, in PEM."))
@option("--key", type=FILE, help=N_("The key of the certificate, in PEM."))
def serve(
    *, address: str, port: int, host: tuple[str, ...], certificate: Path | None, key: Path | None
) -> None:
    """Serve the kitchen's own program to phones, tablets and browsers."""
    if (certificate is None) is not (key is None):
        words = reader("UTC", clock.now())
        complain(words.say(N_("--certificate and --key belong together: give both, or neither")))
        sys.exit(given.BAD_INPUT)
    reach = reach_of(address, port, host or names_set(), encrypted=certificate is not None)
    os.environ |= {"KETTLEWELL_HOSTS": ",".join(reach.hosts), TOLD: reach.phones or ""}
    if certificate:
        os.environ["KETTLEWELL_HTTPS"] = "yes"
    words = reader("UTC", clock.now())
    with given.bad_input():
        if certificate and key:
            check_certificate(certificate, key, words)
        with server.opened(address, port, words):
            screen = console()
            given.show_lines(told(reach, words, picture=screen.is_terminal and draws_unicode(screen)))
            given.show_lines(server.first_start(words))
            if clock.setting():
                complain(words.say(server.CLOCK_SET, now=clock.now()))
            from kettlewell.cli.daily import begin  # noqa: PLC0415 - needs the server's settings

            begin(words)
            server.listen(address, port, certificate=certificate, key=key)


@app.command(
    help=N_("Compute the chain of every day book anew; exit code 1 names the first entry that was changed.")
)
@option(
    "--head", multiple=True, help=N_("A head noted elsewhere, or its first 16 digits; several may be given.")
)
def verify(*, head: tuple[str, ...]) -> None:
    """Compute the chain of every day book anew; exit code 1 names the first entry that was changed."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
    whole = True
    with given.bad_input():
        for line, stands in chain(verified(words), heads_noted(head, words)):
            given.show_lines([line])
            whole = whole and stands
    if not whole:
        sys.exit(BROKEN)


@app.command(
    help=N_("Write every day book into a folder: as JSON Lines with its schema, and a table of each kind.")
)
@argument("folder", type=FOLDER, help=N_("A folder that is new or empty."))
def export(folder: Path) -> None:
    """Write every day book into a folder: as JSON Lines with its schema, and a table of each kind."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
        given.show_lines(exported(folder, words))


@app.command(
    "import",
    help=N_("Bring a kitchen's folder, or a table of readings as CSV or XLSX, into the day book."),
)
@argument(
    "source",
    type=click.Path(path_type=Path),
    help=N_("A folder with kitchen.toml and log.csv, or a table with any columns, as .csv or .xlsx."),
)
@option(
    "--owner",
    default="",
    help=N_("Of a folder: the name that the owner of a kitchen that is founded signs in with."),
)
@option("--kitchen", default="", help=N_("Of a table: into which kitchen, where the server has several."))
@option(
    "--recipe",
    type=NEW_FILE,
    help=N_("Of a table: a file that says how to read it; one that is new is written."),
)
@option("--dry-run", is_flag=True, help=N_("Of a table: say what would come of it, and write nothing."))
@option("--sure", is_flag=True, help=N_("Of a table: bring in too what looks like slips of the pen."))
def import_(*, source: Path, owner: str, **of_table: Any) -> None:  # noqa: ANN401 - the options of a table
    """Bring a kitchen's folder, which founds it where there is none, or a table into the day book."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        if source.is_file() and not owner:
            bring_table(source, words, **of_table)
            return
        if source.is_file() or any(of_table.values()):
            raise ToldError(NOT_OF_BOTH)
        server.start()
        brought = imported(source, owner, words)
    if brought.problems:
        sys.exit(given.BAD_INPUT)


def bring_table(source: Path, words: Reader, *, dry_run: bool, **asked: Any) -> None:  # noqa: ANN401 - as above
    """Bring a table into the day book, or try it."""
    # it reads workbooks, for which the other commands need not wait
    from kettlewell.cli import tables  # noqa: PLC0415

    server.find(words, to_write=not dry_run)
    given.show_lines(tables.brought_in(source, tables.Asked(dry_run=dry_run, **asked), words))


@app.command(help=N_("Take a copy of the server's day books, while it runs too, and read it back."))
@argument("folder", type=FOLDER, help=N_("A folder for copies, best on another disk."))
def backup(folder: Path) -> None:
    """Take a copy of the server's day books, while it runs too, and read it back."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
        given.show_lines(backups.backup(folder, words))


@app.command(help=N_("Bring a copy back into an empty home folder, all of it or nothing."))
@argument("file", type=FILE, help=N_("A copy that `backup` took."))
def restore(file: Path) -> None:
    """Bring a copy back into an empty home folder, all of it or nothing."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        home = server.find_home(None)
        with only_server(home, words):
            given.show_lines(backups.restore(file, words))


@app.command(help=N_("Give someone a new password where nobody is left who can do it on screen."))
@argument("sign_in", help=N_("The name that the person signs in with."))
def password(sign_in: str) -> None:
    """Give someone a new password where nobody is left who can do it on screen."""
    words = reader("UTC", clock.now())
    with given.bad_input():
        server.find(words, to_write=True)
        again = words.say(N_("Once more"))
        new = click.prompt(words.say(N_("New password")), hide_input=True, confirmation_prompt=again)
        server.password_renew(sign_in, new, words)
    given.show_lines(
        [Line(text=words.say(N_("Password changed. Anyone signed in with the old one is signed out.")))]
    )


@app.command(help=N_("Serve the invented canteen of Marrowby ferry terminal, until stopped."))
@port_option
def demo(*, port: int) -> None:
    """Serve the invented canteen of Marrowby ferry terminal, until stopped."""
    words = reader("UTC", clock.now())
    with (
        server.demo_home() as home,
        given.bad_input(),
        server.opened(HERE, port, words, home=home),
    ):
        given.show_lines(server.demo_lines(words, f"http://{HERE}:{port}/"))
        server.listen(HERE, port)


def _answer(kitchen_folder: Folder, now: datetime, *, as_json: bool) -> None:
    kitchen, problems = kitchen_folder.kitchen_at(now), kitchen_folder.log.problems
    found = given.answered(kitchen_folder, now)
    if as_json:
        given.show_json(document(found, kitchen, at=now, problems=problems))
    else:
        screen, words = console(), reader(kitchen.timezone, now)
        lines = report(found, kitchen, words, width=width_of(screen), unicode=draws_unicode(screen))
        show(lines, screen)
    given.tell_problems(kitchen_folder, now)
