"""What the rows of a table say, by its recipe: what is written in the day book, or why it cannot be."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal

from kettlewell.book.fields import Field
from kettlewell.book.kinds import CONDITIONS, KINDS
from kettlewell.book.plain import decimal_text
from kettlewell.book.words import N_, Message
from kettlewell.folder.words import NotUnderstoodError, short, squeezed
from kettlewell.tables.cells import clock_of, day_of, is_blank, measured, text_of, written_clock
from kettlewell.tables.place import Place
from kettlewell.tables.recipe import ACTS, BETWEEN, LEFT_OUT, Column, Recipe, Role
from kettlewell.tables.sheets import Cell, Problem, Row, Sheet, TableError
from kettlewell.tables.words import meanings

LONGEST_NOTE = 1000
FIELDS: Mapping[tuple[str, str], Field] = {
    (kind, field.name): field for kind in ("reading", "top_up", "change") for field in KINDS[kind].fields
}
NO_DAYS = N_("No column tells the day. Say which one does.")
NOTHING_TOLD = N_("No column tells a reading, a top-up or a change of oil. Say which one does.")
DAY_LACKING = N_("tells no day")
FRYER_LACKING = N_("says of which fryer it is in no column")
FRYER_UNKNOWN = N_("{word!r} is no fryer of this kitchen; say which one is meant")
FRYER_ASKED = N_("nothing says which fryer this is; say it once for the table")
WHAT_UNKNOWN = N_("{word!r} is neither a reading nor a top-up nor a change of oil")
YES_OR_NO = N_("{word!r} is neither yes nor no")
UNIT_LACKING = N_("nothing says what the amount is in; say it once for the table")
UNIT_UNKNOWN = N_("{word!r} is no unit that is known here")
OUTSIDE = N_("{number} cannot be; it lies outside {low} to {high}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Something that a cell says: its kind and payload as the day book takes it, when it was, and a note."""

    line: int
    column: str
    kind: str
    at: datetime
    payload: Mapping[str, str]
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Applied:
    """What a table says, in its order, and what of it could not be read."""

    told: tuple[Told, ...]
    problems: tuple[Problem, ...]


def applied(recipe: Recipe, sheet: Sheet, place: Place) -> Applied:
    """Return what a table says by its recipe; raises TableError for a recipe that says nothing of any."""
    if not recipe.places(Role.DAY):
        raise TableError(NO_DAYS)
    if not any(column.role in ACTS for column in recipe.columns):
        raise TableError(NOTHING_TOLD)
    told, problems = [], list(sheet.problems)
    for said in Rows(recipe, place).read(sheet):
        if isinstance(said, Problem):
            problems.append(said)
        else:
            told.append(said)
    return Applied(told=tuple(told), problems=tuple(sorted(problems, key=lambda problem: problem.line)))


class Rows:
    """Reads the rows of one table, one after the other: a row may be of the day above it."""

    def __init__(self, recipe: Recipe, place: Place) -> None:
        """Look up once where the columns stand."""
        self.recipe, self.place = recipe, place
        self.columns = list(enumerate(recipe.columns))
        self.acts = [(at, column) for at, column in self.columns if column.role in ACTS]
        self.day = recipe.places(Role.DAY)[0]
        self.clock = next(iter(recipe.places(Role.CLOCK)), None)
        self.fryer = next(iter(recipe.places(Role.FRYER)), None)
        self.what = next(iter(recipe.places(Role.WHAT)), None)
        self.unit = next(iter(recipe.places(Role.UNIT)), None)
        self.aside = [*recipe.places(Role.WHO), *recipe.places(Role.NOTE)]
        self.usual_clock = written_clock(recipe.clock)
        lowest = (title.rpartition(BETWEEN)[2] for title in recipe.titles)
        self.titles = {squeezed(title) for title in lowest if title}
        self.last: tuple[date, time | None] | None = None

    def read(self, sheet: Sheet) -> Iterator[Told | Problem]:
        """Yield what each row says, cell by cell."""
        for row in sheet.rows[self.recipe.header :]:
            written = [(at, column) for at, column in self.acts if not is_blank(row.cell(at))]
            if not is_blank(row.cell(self.day)):
                self.last = None
            if self.is_titles(row) or not (written or not is_blank(row.cell(self.day))):
                continue
            try:
                when = self.when(row)
            except NotUnderstoodError as error:
                yield problem(row, self.recipe.columns[self.day].title, error)
                continue
            for at, column in written:
                try:
                    yield from self.act(row, row.cell(at), column, when)
                except NotUnderstoodError as error:
                    yield problem(row, error.field or column.title, error)

    def is_titles(self, row: Row) -> bool:
        """Tell whether a row repeats the titles, as the top of each printed page does."""
        told = [text_of(cell) for cell in row.cells if not is_blank(cell)]
        return len(told) > 1 and all(squeezed(text) in self.titles for text in told)

    def when(self, row: Row) -> datetime:
        """Return when a row was, in UTC."""
        if not is_blank(cell := row.cell(self.day)):
            self.last = day_of(cell, self.recipe.order)
        elif not self.recipe.repeats or self.last is None:
            raise NotUnderstoodError("", DAY_LACKING)
        day, clock = self.last
        if self.clock is not None and not is_blank(told := row.cell(self.clock)):
            try:
                clock = clock_of(told)
            except NotUnderstoodError as error:
                raise NotUnderstoodError(self.recipe.columns[self.clock].title, error.message) from None
        self.last = day, clock
        at = datetime.combine(day, clock or self.usual_clock, self.place.zone)
        return at.astimezone(UTC).replace(second=0, microsecond=0)

    def act(self, row: Row, cell: Cell, column: Column, when: datetime) -> Iterator[Told]:
        """Yield what one cell says; nothing where its fryer is left out, or a change is answered with no."""
        role = self.role(row, column)
        fryer = self.fryer_of(row, column)
        if fryer == LEFT_OUT:
            return
        payload = {"fryer": fryer}
        if role is Role.READING:
            kind = "reading"
            payload |= self.reading(row, cell, fryer)
        elif role is Role.TOP_UP:
            kind = "top_up"
            payload |= self.top_up(row, cell)
        else:
            kind = "change"
            if column.role is Role.CHANGE and not yes(cell):
                return
        yield Told(
            line=row.line,
            column=column.title,
            kind=kind,
            at=when,
            payload=payload,
            note=self.note(row),
        )

    def role(self, row: Row, column: Column) -> Role:
        """Return what a cell tells, which may stand in another column."""
        if column.role is not Role.AMOUNT:
            return column.role
        word = "" if self.what is None else text_of(row.cell(self.what))
        role = meanings("whats").get(squeezed(word))
        if not isinstance(role, Role):
            title = column.title if self.what is None else self.recipe.columns[self.what].title
            raise NotUnderstoodError(title, WHAT_UNKNOWN, word=short(word))
        return role

    def fryer_of(self, row: Row, column: Column) -> str:
        """Return the key of the fryer that a cell is of."""
        word, title = column.fryer, column.title
        if not word and self.fryer is not None:
            word, title = text_of(row.cell(self.fryer)), self.recipe.columns[self.fryer].title
            if not word:
                raise NotUnderstoodError(title, FRYER_LACKING)
        key = self.recipe.fryers.get(word, "")
        if key != LEFT_OUT and key not in self.place.fryers:
            raise NotUnderstoodError(title, FRYER_UNKNOWN if word else FRYER_ASKED, word=short(word))
        return key

    def reading(self, row: Row, cell: Cell, fryer: str) -> dict[str, str]:
        """Return what a reading says."""
        payload = {"tpc_pct": self.number(cell, "reading", "tpc_pct", units=("%", "%m/m"))}
        for at, column in self.columns:
            if column.role is not Role.OIL_TEMP or is_blank(row.cell(at)):
                continue
            if column.fryer and self.recipe.fryers.get(column.fryer) != fryer:
                continue
            try:
                payload["oil_temp_c"] = self.temperature(row.cell(at))
            except NotUnderstoodError as error:
                raise NotUnderstoodError(column.title, error.message) from None
        if self.recipe.meter in self.place.meters:
            payload["meter"] = self.recipe.meter
        return {**payload, **{asked.name: self.recipe.conditions.value for asked in CONDITIONS}}

    def temperature(self, cell: Cell) -> str:
        """Return the temperature of the oil in °C."""
        number, unit = measured(cell, self.recipe.decimals)
        told = unit.replace("°", "").strip().casefold()
        if told not in ("", "c", "f", "grad"):
            raise NotUnderstoodError("", UNIT_UNKNOWN, word=short(unit))
        if told == "f" or (not told and self.recipe.fahrenheit):
            number = (number - 32) * 5 / 9
        return bounded(number, FIELDS["reading", "oil_temp_c"])

    def number(self, cell: Cell, kind: str, field: str, *, units: tuple[str, ...]) -> str:
        """Return a number as the day book keeps it."""
        number, unit = measured(cell, self.recipe.decimals)
        if unit and unit.replace(" ", "").casefold() not in units:
            raise NotUnderstoodError("", UNIT_UNKNOWN, word=short(unit))
        return bounded(number, FIELDS[kind, field])

    def top_up(self, row: Row, cell: Cell) -> dict[str, str]:
        """Return how much oil was poured: a number with its unit, or as far as the mark."""
        units = meanings("units")
        if isinstance(cell, str) and units.get(squeezed(cell)) == "mark":
            return {"unit": "mark"}
        number, behind = measured(cell, self.recipe.decimals)
        beside = "" if self.unit is None else text_of(row.cell(self.unit))
        word = behind or beside
        unit = units.get(squeezed(word), "") if word else self.recipe.unit
        if not unit:
            raise NotUnderstoodError("", UNIT_UNKNOWN if word else UNIT_LACKING, word=short(word))
        if unit == "mark":
            return {"unit": "mark"}
        return {"unit": str(unit), "amount": bounded(number, FIELDS["top_up", "amount"])}

    def note(self, row: Row) -> str:
        """Return who wrote a row, and what else they wrote."""
        told = [text_of(cell) for at in self.aside if not is_blank(cell := row.cell(at))]
        return ": ".join(told)[:LONGEST_NOTE]


def yes(cell: Cell) -> bool:
    """Tell whether a cell says that something was done: a day or a tick does too."""
    if not isinstance(cell, str | float):
        return True
    answer = meanings("answers").get(squeezed(text_of(cell)))
    if answer is None:
        raise NotUnderstoodError("", YES_OR_NO, word=short(text_of(cell)))
    return bool(answer)


def bounded(number: Decimal, field: Field) -> str:
    """Return a number as a field keeps it; raises NotUnderstoodError outside of its bounds."""
    low, high = Decimal(field.low or 0), Decimal(field.high or 0)
    if not low <= number <= high:
        raise NotUnderstoodError("", OUTSIDE, number=number, low=low, high=high)
    return decimal_text(round(number, field.decimals))


def problem(row: Row, column: str, error: NotUnderstoodError) -> Problem:
    """Return why something of a row is not used."""
    message: Message = error.message
    return Problem(line=row.line, column=error.field or column, why=message)
