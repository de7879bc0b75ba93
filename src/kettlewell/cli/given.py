"""What a command is given: the time, a kitchen's folder and what of it is no good."""

import json
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import click

from kettlewell import clock
from kettlewell.book import Kitchen
from kettlewell.book.words import ToldError, message_of
from kettlewell.cli.document import Json
from kettlewell.cli.screen import Line, complain, console, show
from kettlewell.cli.speaking import argument, option
from kettlewell.core import Answer, answer, card_sheets
from kettlewell.folder import Folder, read_folder
from kettlewell.folder.cells import moment
from kettlewell.folder.words import NotUnderstoodError
from kettlewell.telling import N_, reader
from kettlewell.telling.unanswered import lacking

BAD_INPUT = 2
PROBLEMS_TOLD = 3

folder_argument = argument(
    "folder",
    type=click.Path(path_type=Path),
    help=N_("The kitchen's folder, with kitchen.toml and log.csv."),
)
at_option = option("--at", help=N_("Answer as of this time, such as '15.11.2026 21:30'; now unless given."))
as_json_option = option(
    "--json", "as_json", is_flag=True, help=N_("Answer with one JSON document and nothing else.")
)


@contextmanager
def bad_input() -> Iterator[None]:
    """Turn an error that speaks of the input into its sentence on standard error and exit code 2."""
    try:
        yield
    except ValueError as error:
        complain(reader("UTC", clock.now()).tell(message_of(error)))
        sys.exit(BAD_INPUT)


def read(folder: Path) -> Folder:
    """Return a kitchen's folder; raises ValueError for one that nothing can be said of."""
    if not folder.is_dir():
        no_folder = N_("{folder}: there is no such folder; give one that holds kitchen.toml and log.csv")
        raise ToldError(no_folder, folder=str(folder))
    kitchen_folder = read_folder(folder)
    problems = kitchen_folder.log.problems
    if problems and not kitchen_folder.log.entries:
        none = N_("log.csv: no row could be used. The first: {problem}")
        raise ToldError(none, problem=problems[0].message)
    return kitchen_folder


def time_of(at: str | None, kitchen: Kitchen) -> datetime:
    """Return the time that an answer is for; raises ValueError for a text that is none."""
    if at is None:
        return clock.now()
    try:
        return moment(at.strip(), ZoneInfo(kitchen.timezone))
    except NotUnderstoodError as error:
        raise ToldError("--at: {why}", why=error.message) from None


def answered(kitchen_folder: Folder, now: datetime) -> Answer:
    """Return what to do with the baths of a kitchen; raises ValueError where no fryer has an answer."""
    found = answer(kitchen_folder.history, kitchen_folder.log.entries, now=now)
    return with_answers(found, kitchen_folder.kitchen_at(now), now)


def carded(kitchen_folder: Folder, now: datetime) -> tuple[Answer, ...]:
    """Return what the sheets of a wall card are told from; raises ValueError where no fryer has an answer."""
    answers = card_sheets(kitchen_folder.history, kitchen_folder.log.entries, now=now)
    with_answers(answers[0], kitchen_folder.kitchen_at(now), now)
    return answers


def with_answers(found: Answer, kitchen: Kitchen, now: datetime) -> Answer:
    """Return an answer; raises ValueError, and says what the first fryer lacks, where it holds none."""
    if found.unanswered and not found.assessments:
        first, words = found.unanswered[0], reader(kitchen.timezone, now)
        raise ValueError(f"kitchen.toml: {first.fryer}: {' '.join(lacking(first, kitchen, words))}")
    return found


def show_lines(lines: Iterable[Line]) -> None:
    """Print lines on standard output."""
    show(lines, console())


def show_json(answer: Json) -> None:
    """Print a JSON document on standard output."""
    click.echo(json.dumps(answer, ensure_ascii=True, allow_nan=False, indent=2))


def tell_problems(kitchen_folder: Folder, now: datetime) -> None:
    """Tell on standard error which rows of the log were left out."""
    problems, entries = kitchen_folder.log.problems, kitchen_folder.log.entries
    words = reader(kitchen_folder.setup.kitchen.timezone, now)
    if later := sum(entry.at > now for entry in entries):
        complain(
            words.count(
                later,
                "{number} row of the log lies after {now} and was left out.",
                "{number} rows of the log lie after {now} and were left out.",
                now=now,
            )
        )
    if not problems:
        return
    complain(
        words.count(
            len(problems),
            "All rows of the log but {number} were used. Not used:",
            "All rows of the log but {number} were used. Not used:",
        )
    )
    for problem in problems[:PROBLEMS_TOLD]:
        complain(f"  {words.tell(problem.message)}")
    if len(problems) > PROBLEMS_TOLD:
        rest = words.say(N_("`kettlewell log check` lists them all."))
        complain(f"  {rest}")
