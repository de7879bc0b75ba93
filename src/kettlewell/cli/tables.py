"""Bringing a table of any columns into the day book of the server, from a terminal."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from kettlewell.book.words import Message, ToldError, Value
from kettlewell.cli.screen import Line
from kettlewell.tables.asking import QUESTIONS, ROLES
from kettlewell.tables.guess import Guess, guess
from kettlewell.tables.reading import file_bytes, read_sheet
from kettlewell.tables.recipe import Recipe, Role, recipe_from, recipe_text
from kettlewell.tables.sheets import Problem
from kettlewell.telling import N_, Reader

if TYPE_CHECKING:
    from kettlewell.bridge.tables import Trial
    from kettlewell.records.models import Kitchen

WHICH = N_("There are several kitchens: say which with --kitchen. They are: {kitchens}")
NO_KITCHEN = N_("There is no kitchen {kitchen}. There are: {kitchens}")
COLUMN = N_("{title}: {role}")
COLUMN_OF = N_("{title}: {role}, of {fryer}")
NAMED = N_("{word} is {fryer}.")
ASKED = N_("The table leaves open: {questions} Answer in a recipe: --recipe FILE writes what was guessed.")
GUESSED = N_("What was guessed is written to {file}: change it there, and bring the table in with it.")
PROBLEM = N_("row {line}, {column}: {why}")
PROBLEM_OF_ROW = N_("row {line}: {why}")
SLIPS = N_("Of these, {number} look like slips of the pen: with --sure they are brought in too.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a table is to be brought in: into which kitchen, by which recipe, in earnest or not."""

    kitchen: str
    recipe: Path | None
    dry_run: bool
    sure: bool


def brought_in(path: Path, asked: Asked, reader: Reader) -> Iterator[Line]:
    """Bring a table in, or try it, and yield what came of it.

    Raises ValueError for a table that cannot be read, and for questions that are still open.
    """
    from kettlewell.bridge.tables import (  # noqa: PLC0415 - needs the server's settings
        digest_of,
        place_in,
        recipes_kept,
        table_bring_in,
        table_tried,
    )
    from kettlewell.records.ledger import Hand  # noqa: PLC0415

    kitchen, content = chosen(asked.kitchen), file_bytes(path)
    sheet, place = read_sheet(content), place_in(kitchen)
    for note in sheet.notes:
        yield Line(text=reader.tell(note))
    found = by_recipe(asked.recipe) or guess(sheet, place, recipes_kept(kitchen))
    yield from columns_told(found.recipe, place.fryers, reader)
    if asked.recipe and not asked.recipe.exists():
        asked.recipe.write_text(recipe_text(found.recipe), encoding="utf-8")
        yield Line(text=reader.say(GUESSED, file=str(asked.recipe)))
        return
    if asked.dry_run:
        yield from told(
            table_tried(kitchen, found.recipe, sheet, reader.now, sure=asked.sure), reader, dry=True
        )
        return
    if found.doubtful:
        questions = " ".join(reader.say(QUESTIONS[name]) for name in sorted(found.doubtful))
        raise ToldError(ASKED, questions=questions)
    hand = Hand(person=None, now=reader.now)
    brought = table_bring_in(kitchen, found.recipe, sheet, hand, digest=digest_of(content), sure=asked.sure)
    yield from told(brought.trial, reader, dry=False)


def chosen(slug: str) -> "Kitchen":
    """Return the kitchen of an address, or the one there is; raises ValueError where that is none."""
    from kettlewell.records.models import Kitchen  # noqa: PLC0415 - needs the server's settings

    kitchens = {kitchen.slug: kitchen for kitchen in Kitchen.objects.order_by("slug")}
    if slug in kitchens:
        return kitchens[slug]
    if slug or len(kitchens) != 1:
        raise ToldError(NO_KITCHEN if slug else WHICH, kitchen=slug, kitchens=", ".join(kitchens))
    return next(iter(kitchens.values()))


def by_recipe(path: Path | None) -> Guess | None:
    """Return a recipe that somebody gave, of which nothing is in doubt; None where there is none yet."""
    if path is None or not path.exists():
        return None
    text = file_bytes(path).decode("utf-8", "replace")
    return Guess(recipe=recipe_from(text), doubtful=frozenset())


def columns_told(recipe: Recipe, fryers: Mapping[str, str], reader: Reader) -> Iterator[Line]:
    """Yield what each column was taken for, and each word for a fryer."""
    for column in recipe.columns:
        if column.role is not Role.NOTHING:
            role = reader.say(ROLES[column.role])
            text = COLUMN_OF if column.fryer else COLUMN
            yield Line(text=reader.say(text, title=column.title, role=role, fryer=column.fryer), indent=3)
    for word, key in recipe.fryers.items():
        if word and key and word.casefold() != fryers.get(key, key).casefold():
            yield Line(text=reader.say(NAMED, word=word, fryer=fryers.get(key, key)), indent=3)


def told(trial: "Trial", reader: Reader, *, dry: bool) -> Iterator[Line]:
    """Yield every problem by its row, and how many entries there are, or would be."""
    for problem in trial.problems:
        yield Line(text=reader.tell(problem_message(problem)), picture=True)
    if trial.unlikely:
        yield Line(text=reader.say(SLIPS, number=trial.unlikely))
    number = len(trial.told)
    if dry:
        would = reader.count(
            number, "{number} entry would be brought in.", "{number} entries would be brought in."
        )
        yield Line(text=would)
    else:
        yield Line(text=reader.count(number, "{number} entry brought in.", "{number} entries brought in."))
    if trial.there:
        there = reader.count(
            trial.there,
            "{number} is in the day book already.",
            "{number} are in the day book already.",
        )
        yield Line(text=there)


def problem_message(problem: Problem) -> Message:
    """Return a problem as a sentence."""
    values: dict[str, Value] = {"line": problem.line, "column": problem.column, "why": problem.why}
    return Message(text=PROBLEM if problem.column else PROBLEM_OF_ROW, values=values)
