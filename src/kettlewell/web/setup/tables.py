"""Bringing in a table of old readings: its file first, then how it is read, with what would come of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from kettlewell.book.words import ToldError
from kettlewell.bridge.tables import (
    Brought,
    Opened,
    Trial,
    digest_of,
    table_bring_in,
    table_opened,
    table_tried,
)
from kettlewell.records.access import Act
from kettlewell.records.kept_tables import table_drop, table_keep, table_kept, table_read_by
from kettlewell.records.ledger import Told
from kettlewell.records.models import KeptTable
from kettlewell.tables.cells import text_of
from kettlewell.tables.recipe import Recipe, plain_recipe
from kettlewell.tables.sheets import Problem, TableError
from kettlewell.telling import N_, Reader
from kettlewell.web.common import Visit, in_kitchen
from kettlewell.web.entry.names import names_of
from kettlewell.web.entry.sentences import doubts, sentence
from kettlewell.web.entry.uploads import files_of
from kettlewell.web.setup.table_forms import RecipeForm, TableForm

SHOWN, PROBLEMS_SHOWN, ROWS_SHOWN, SAMPLES = 12, 100, 20, 3
AND_MORE = N_("{rows} and {number} more")


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnShown:
    """A column of the table with what stands in its first rows."""

    field: object
    samples: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemShown:
    """What cannot be used, and why, of one column in some rows."""

    rows: str
    column: str
    why: str


@require_http_methods(["GET", "HEAD", "POST"])
@in_kitchen(Act.SET_UP)
def tables(request: HttpRequest, visit: Visit) -> HttpResponse:
    """Ask for a file, and keep it until it is brought in."""
    form = TableForm()
    if request.method == "POST":
        form = TableForm(request.POST, files_of(request))
        if form.is_valid():
            file = form.cleaned_data["table"]
            content = file.read()
            try:
                table_opened(visit.kitchen, content)
            except TableError as error:
                form.add_error("table", ValidationError(visit.reader.tell(error.message)))
            else:
                kept = table_keep(
                    visit.kitchen, visit.place.person, visit.now, name=file.name or "", content=content
                )
                return redirect("table", visit.kitchen.slug, kept.pk)
    return render(request, "web/setup/tables.html", {"form": form})


@require_http_methods(["GET", "HEAD", "POST"])
@in_kitchen(Act.SET_UP)
def table(request: HttpRequest, visit: Visit, table: UUID) -> HttpResponse:
    """Show how a table is read and what would come of it; take answers, and bring it in."""
    kept = table_kept(visit.kitchen, table)
    if kept is None:
        messages.warning(request, _("This file is kept no longer. Choose it once more."))
        return redirect("tables", visit.kitchen.slug)
    opened = table_opened(visit.kitchen, bytes(kept.content), name=kept.sheet, recipe=kept.recipe)
    form = RecipeForm(opened, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        return answered(request, visit, kept, opened, form)
    return render(request, "web/setup/table.html", context(visit, kept, opened, form))


def answered(
    request: HttpRequest, visit: Visit, kept: KeptTable, opened: Opened, form: RecipeForm
) -> HttpResponse:
    """Read the table as somebody answered; bring it in where they saw just this before."""
    recipe, sure = form.told(), "sure" in request.POST
    sheet = form.cleaned_data.get("sheet", opened.sheet.name)
    if sheet != opened.sheet.name:  # another table: nothing of this recipe is of it
        table_read_by(kept, None, sheet)
        return redirect("table", visit.kitchen.slug, kept.pk)
    seen = plain_recipe(recipe) == plain_recipe(opened.guess.recipe)
    table_read_by(kept, plain_recipe(recipe), sheet)
    here = redirect("table", visit.kitchen.slug, kept.pk)
    if "bring" not in request.POST:
        return here
    if not seen:
        messages.warning(
            request, _("You changed how the table is read. Look at it once more, then bring it in.")
        )
        return here
    digest = digest_of(bytes(kept.content))
    brought = table_bring_in(visit.kitchen, recipe, opened.sheet, visit.hand, digest=digest, sure=sure)
    messages.success(request, said(brought, visit))
    if brought.trial.problems:
        return here
    table_drop(kept)
    return redirect("line", visit.kitchen.slug)


def said(brought: Brought, visit: Visit) -> str:
    """Return what came of a table."""
    number = len(brought.trial.told)
    return visit.reader.count(number, "{number} entry brought in.", "{number} entries brought in.")


def context(visit: Visit, kept: KeptTable, opened: Opened, form: RecipeForm) -> dict[str, object]:
    """Return what the page of a table shows."""
    recipe, sheet = opened.guess.recipe, opened.sheet
    trial, refused = tried(visit, opened)
    problems = problems_shown(trial.problems, visit) if trial else []
    asked = form.doubtful() if kept.recipe is None else []
    asked += [
        name
        for name in form.fields
        if name.startswith("fryer_") and not form[name].value() and name not in asked
    ]
    own = [f"column_{place}" for place in range(len(recipe.columns))]
    return {
        "name": kept.name,
        "form": form,
        "notes": [visit.reader.tell(note) for note in sheet.notes],
        "asked": [form[name] for name in asked],
        "columns": [
            ColumnShown(field=form[name], samples=samples(opened, place)) for place, name in enumerate(own)
        ],
        "others": [form[name] for name in form.fields if name not in {*own, *asked}],
        "trial": trial,
        "refused": refused,
        "rows": list(previews(trial.told[:SHOWN], visit)) if trial else [],
        "problems": problems[:PROBLEMS_SHOWN],
        "more_problems": max(0, len(problems) - PROBLEMS_SHOWN),
    }


def tried(visit: Visit, opened: Opened) -> tuple[Trial | None, str]:
    """Return what would come of a table; or None, and why nothing does."""
    recipe: Recipe = opened.guess.recipe
    try:
        return table_tried(visit.kitchen, recipe, opened.sheet, visit.now), ""
    except ToldError as error:
        return None, visit.reader.tell(error.message)


def samples(opened: Opened, place: int) -> str:
    """Return the first things that stand in a column."""
    rows = opened.sheet.rows[opened.guess.recipe.header :]
    told = dict.fromkeys(text_of(cell) for row in rows[:50] if (cell := row.cell(place)) is not None)
    return " | ".join(list(told)[:SAMPLES])[:80]


def previews(tolds: tuple[Told, ...], visit: Visit) -> list[tuple[str, str]]:
    """Return entries as the day book would tell them, with their times."""
    names, reader = names_of(visit.kitchen), visit.reader
    return [
        (
            reader.moment(told.happened_at),
            " ".join(
                (sentence(told.kind, told.payload, names, reader), *doubts(told.kind, told.payload, reader))
            ),
        )
        for told in tolds
    ]


def problems_shown(problems: Iterable[Problem], visit: Visit) -> list[ProblemShown]:
    """Return problems, those of one column and reason together."""
    found: dict[tuple[str, str], list[int]] = {}
    for problem in problems:
        rows = found.setdefault((problem.column, visit.reader.tell(problem.why)), [])
        if problem.line not in rows[-1:]:
            rows.append(problem.line)
    return [
        ProblemShown(rows=rows_told(rows, visit.reader), column=column, why=why)
        for (column, why), rows in found.items()
    ]


def rows_told(rows: list[int], reader: Reader) -> str:
    """Return the numbers of rows, of many the first."""
    first = ", ".join(map(str, rows[:ROWS_SHOWN]))
    more = len(rows) - ROWS_SHOWN
    return reader.say(AND_MORE, rows=first, number=more) if more > 0 else first
