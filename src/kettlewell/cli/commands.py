"""The commands and their options. Exit code 0: done; 2: the input was no good."""

import os
from datetime import datetime
from itertools import chain
from pathlib import Path
from typing import Annotated

import numpy as np
import typer

from kettlewell import __version__, clock
from kettlewell.cli import backups, given, server
from kettlewell.cli.document import document
from kettlewell.cli.exported import exported
from kettlewell.cli.given import AsJson, At, FolderArgument
from kettlewell.cli.meter import meter, reports_of
from kettlewell.cli.reached import HERE, TOLD, names_set, reach_of, told
from kettlewell.cli.report import report
from kettlewell.cli.screen import Line, complain, console, draws_unicode, show, width_of
from kettlewell.cli.server import PORT, Address, Port
from kettlewell.cli.starting import check_certificate, only_server, told_in_a_sentence
from kettlewell.cli.verified import BROKEN, heads_noted, verified
from kettlewell.cli.wallcard import wall_card
from kettlewell.folder import Folder
from kettlewell.telling import N_, reader
from kettlewell.telling.slips import slips_in

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
log = typer.Typer(help="The day book.", no_args_is_help=True, rich_markup_mode=None)
app.add_typer(log, name="log")
app.add_typer(meter, name="meter")


Version = Annotated[bool, typer.Option("--version", help="Say which version this is.")]


@app.callback(
    invoke_without_command=True,
    help="Keeps frying oil fit to fry in, throws none away early, and can show it.",
)
def version(*, wanted: Version = False) -> None:
    """Tell the version, and nothing else, where it is wanted."""
    if wanted:
        given.show_lines([Line(text=f"Kettlewell {__version__}")])
        raise typer.Exit


@app.command()
def assess(folder: FolderArgument, at: At = None, *, as_json: AsJson = False) -> None:
    """Say what to do with every bath, most urgent first."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        now = given.time_of(at, kitchen_folder.setup.kitchen)
        _answer(kitchen_folder, now, as_json=as_json)


@app.command()
def card(folder: FolderArgument) -> None:
    """Print the wall card: which reading leads to what."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
        kitchen = kitchen_folder.setup.kitchen
        now = clock.now()
        answers, reports = given.carded(kitchen_folder, now), reports_of(kitchen_folder, now)
        given.show_lines(wall_card(answers, reports, kitchen, reader(kitchen.timezone, now)))
        given.tell_problems(kitchen_folder, now)


@log.command()
def check(folder: FolderArgument) -> None:
    """List every row of the log that cannot be used, or looks like a slip; exit code 2 for the former."""
    with given.bad_input():
        kitchen_folder = given.read(folder)
    kitchen = kitchen_folder.setup.kitchen
    problems, entries = kitchen_folder.log.problems, kitchen_folder.log.entries
    now = clock.now()
    words = reader(kitchen.timezone, now)
    given.show_lines(Line(text=str(problem), picture=True) for problem in problems)
    given.show_lines(Line(text=words.tell(slip), picture=True) for slip in slips_in(entries, kitchen, now))
    used = words.count(len(entries), "{number} row can be used.", "{number} rows can be used.")
    given.show_lines([Line(text=used)])
    if problems:
        raise typer.Exit(given.BAD_INPUT)


@app.command()
def practice(
    kitchens: Annotated[int, typer.Option(min=2, help="How many practice kitchens.")] = 30,
    fryers: Annotated[int, typer.Option(min=1, help="How many fryers in each.")] = 4,
    days: Annotated[int, typer.Option(min=1, help="How many days they fry.")] = 120,
    seed: Annotated[int, typer.Option(min=0, help="Another number draws other kitchens.")] = 1,
) -> None:
    """Compare rules on kitchens whose truth is known."""
    # a tenth of the time a cook waits for `assess`, which needs neither
    from kettlewell.cli.practice import practice_table  # noqa: PLC0415
    from kettlewell.practice import compare_rules  # noqa: PLC0415

    with given.bad_input():
        rng = np.random.default_rng(seed)
        scores = compare_rules(rng, kitchens=kitchens, fryers=fryers, days=days)
        given.show_lines(practice_table(scores, reader("UTC", clock.now())))


@app.command()
def serve(
    address: Address = HERE,
    port: Port = PORT,
    host: Annotated[
        list[str] | None, typer.Option(help="A name or address that phones reach this machine by.")
    ] = None,
    certificate: Annotated[
        Path | None, typer.Option(help="A certificate for HTTPS, in PEM.", exists=True, dir_okay=False)
    ] = None,
    key: Annotated[
        Path | None, typer.Option(help="The key of the certificate, in PEM.", exists=True, dir_okay=False)
    ] = None,
) -> None:
    """Serve the kitchen's own program to phones, tablets and browsers."""
    if (certificate is None) is not (key is None):
        complain("--certificate and --key belong together: give both, or neither")
        raise typer.Exit(given.BAD_INPUT)
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
            backups.keep_taking(words)
            server.listen(address, port, certificate=certificate, key=key)


@app.command()
def verify(
    head: Annotated[
        list[str] | None,
        typer.Option(help="A head noted elsewhere, or its first 16 digits; several may be given."),
    ] = None,
) -> None:
    """Compute the chain of every day book anew; exit code 1 names the first entry that was changed."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
    whole = True
    with given.bad_input():
        for line, stands in chain(verified(words), heads_noted(head or (), words)):
            given.show_lines([line])
            whole = whole and stands
    if not whole:
        raise typer.Exit(BROKEN)


@app.command()
def export(
    folder: Annotated[Path, typer.Argument(help="A folder that is new or empty.", file_okay=False)],
) -> None:
    """Write every day book into a folder: as JSON Lines with its schema, and a table of each kind."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
        given.show_lines(exported(folder, words))


@app.command()
def backup(
    folder: Annotated[
        Path, typer.Argument(help="A folder for copies, best on another disk.", file_okay=False)
    ],
) -> None:
    """Take a copy of the server's day books, while it runs too, and read it back."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        server.find(words, to_write=False)
        given.show_lines(backups.backup(folder, words))


@app.command()
def restore(
    file: Annotated[Path, typer.Argument(help="A copy that `backup` took.", exists=True, dir_okay=False)],
) -> None:
    """Bring a copy back into an empty home folder, all of it or nothing."""
    words = reader("UTC", clock.now())
    with given.bad_input(), told_in_a_sentence(words):
        home = server.find_home(None)
        with only_server(home, words):
            given.show_lines(backups.restore(file, words))


@app.command()
def password(
    sign_in: Annotated[str, typer.Argument(help="The name that the person signs in with.")],
) -> None:
    """Give someone a new password where nobody is left who can do it on screen."""
    words = reader("UTC", clock.now())
    with given.bad_input():
        server.find(words, to_write=True)
        again = words.say(N_("Once more"))
        new = typer.prompt(words.say(N_("New password")), hide_input=True, confirmation_prompt=again)
        server.password_renew(sign_in, new, words)
    given.show_lines(
        [Line(text=words.say(N_("Password changed. Anyone signed in with the old one is signed out.")))]
    )


@app.command()
def demo(port: Port = PORT) -> None:
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
    kitchen, problems = kitchen_folder.setup.kitchen, kitchen_folder.log.problems
    found = given.answered(kitchen_folder, now)
    if as_json:
        given.show_json(document(found, kitchen, at=now, problems=problems))
    else:
        screen, words = console(), reader(kitchen.timezone, now)
        lines = report(found, kitchen, words, width=width_of(screen), unicode=draws_unicode(screen))
        show(lines, screen)
    given.tell_problems(kitchen_folder, now)
