"""A first recipe for a table that nobody has seen before, and what of it is in doubt."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from statistics import median

from kettlewell.folder.words import NotUnderstoodError, squeezed
from kettlewell.tables.cells import clock_of, day_of, is_blank, measured, numbers_of_day, text_of
from kettlewell.tables.place import Place, fryer_guessed, fryer_named, number_in
from kettlewell.tables.recipe import ACTS, BETWEEN, Column, Decimals, Order, Recipe, Role
from kettlewell.tables.sheets import Cell, Row, Sheet
from kettlewell.tables.words import HOTTER, TITLES, has, role_of, tokens, unit_in

LOOKED_AT = 200  # rows from which the columns are guessed
MOST_TITLES = 3  # rows of titles, one above the other
MOSTLY, OFTEN = 0.5, 0.2  # shares of the cells of a column: chosen
HOTTEST_C = 250.0  # no fryer is set so hot: readings above it are in °F
LONGEST_NAME, MOST_FRYERS = 100, 200  # beyond that a column names no fryers
OF_ONE = TITLES[Role.FRYER]
OF_FRYERS = frozenset({Role.READING, Role.OIL_TEMP, Role.TOP_UP, Role.CHANGE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """A recipe, and the names of its fields that somebody should look at, "fryers" among them."""

    recipe: Recipe
    doubtful: frozenset[str]


def guess(sheet: Sheet, place: Place, known: Iterable[Recipe] = ()) -> Guess:
    """Return how a table is read: as one with these titles was before, or as its words have it."""
    for before in known:
        titles = titles_of(sheet.rows[: before.header])
        if tuple(BETWEEN.join(parts) for parts in titles) == before.titles:
            return with_fryers(before, sheet, place, doubtful=frozenset())
    header = header_of(sheet.rows[:LOOKED_AT])
    titles, rows = titles_of(sheet.rows[:header]), sheet.rows[header : header + LOOKED_AT]
    width = max([len(titles), *(len(row.cells) for row in rows)], default=0)
    titles += [()] * (width - len(titles))
    columns = columns_of(titles, rows, place)
    recipe = Recipe(header=header, columns=columns)
    recipe, doubtful = answered(recipe, titles, sheet.rows[header:], place)
    return with_fryers(recipe, sheet, place, doubtful=doubtful)


def header_of(rows: Sequence[Row]) -> int:
    """Return how many rows stand above the first that begins with a day; where there is none, above all."""
    for place, row in enumerate(rows):
        if has_day(row) and any(has_day(later) for later in rows[place + 1 : place + 20] or (row,)):
            return place
    return min(1, len(rows))


def has_day(row: Row) -> bool:
    """Tell whether a day and something else stands in a row."""
    told = [cell for cell in row.cells if not is_blank(cell)]
    return len(told) > 1 and any(is_day(cell) for cell in told)


def is_day(cell: Cell, order: Order | None = None) -> bool:
    """Tell whether a day can be read in a cell."""
    for each in [order] if order else list(Order):
        try:
            day_of(cell, each)
        except NotUnderstoodError:
            continue
        return True
    return False


def is_clock(cell: Cell) -> bool:
    """Tell whether a time of day can be read in a cell."""
    try:
        clock_of(cell)
    except NotUnderstoodError:
        return False
    return True


def is_number(cell: Cell) -> bool:
    """Tell whether a number can be read in a cell."""
    try:
        measured(cell, Decimals.COMMA)
    except NotUnderstoodError:
        return False
    return True


def titles_of(rows: Sequence[Row]) -> list[tuple[str, ...]]:
    """Return the titles of each column, from the top down: of the last rows that hold more than one.

    Above the last of them a title counts on to the right, up to the next one: cells were merged there.
    """
    above: list[Row] = []
    for row in reversed(rows):
        if len(above) == MOST_TITLES or sum(not is_blank(cell) for cell in row.cells) < 2:
            break
        above.insert(0, row)
    width = max((len(row.cells) for row in above), default=0)
    spread = [across(row, width, counts_on=row is not above[-1]) for row in above]
    return [tuple(dict.fromkeys(title for title in column if title)) for column in zip(*spread, strict=True)]


def across(row: Row, width: int, *, counts_on: bool) -> list[str]:
    """Return the titles in a row, an empty one as the one before it where that counts on."""
    told = [" ".join(text_of(row.cell(place)).split())[:100] for place in range(width)]
    if counts_on:
        for place in range(1, width):
            told[place] = told[place] or told[place - 1]
    return told


def columns_of(titles: Sequence[tuple[str, ...]], rows: Sequence[Row], place: Place) -> tuple[Column, ...]:
    """Return what each column tells, by its title and by what is in it."""
    roles = [role_in(titles[at], [row.cell(at) for row in rows], place) for at in range(len(titles))]
    if Role.DAY not in roles:  # the first that holds mostly days
        days = (at for at in range(len(titles)) if share(rows, at, is_day) >= MOSTLY)
        roles = [Role.DAY if at == next(days, None) else role for at, role in enumerate(roles)]
    by_row = Role.FRYER in roles or Role.WHAT in roles
    if Role.WHAT not in roles:  # an amount by itself says of nothing what it is
        roles = [Role.NOTHING if role in (Role.AMOUNT, Role.UNIT) else role for role in roles]
    once = {Role.DAY, Role.CLOCK, Role.FRYER, Role.WHAT, Role.AMOUNT, Role.UNIT}
    columns, seen = [], set[Role]()
    for at, (parts, told) in enumerate(zip(titles, roles, strict=True)):
        fryer = "" if by_row else fryer_in(parts, told, place)
        reads = told is None and fryer and share(rows, at, is_number) >= MOSTLY
        role = Role.READING if reads else told or Role.NOTHING
        role = Role.NOTHING if role in once and role in seen else role
        seen.add(role)
        columns.append(Column(title=BETWEEN.join(parts), role=role, fryer=fryer if role in OF_FRYERS else ""))
    return tuple(columns)


def role_in(parts: tuple[str, ...], cells: list[Cell], place: Place) -> Role | None:
    """Return what a column tells by its titles, the lowest first, where what is in it may be that."""
    told = [cell for cell in cells if not is_blank(cell)]
    fits = {Role.DAY: is_day, Role.CLOCK: is_clock, Role.READING: is_number, Role.OIL_TEMP: is_number}
    for part in reversed(parts):
        role = None if fryer_named(part, place.fryers) else role_of(part)
        numbers = sum(map(is_number, told)) > MOSTLY * len(told)
        if role is Role.FRYER and (part != parts[-1] or (number_in(part) and numbers)):
            continue  # the column of one fryer, and none of names
        check = fits.get(role) if role else None
        if role and (check is None or not told or sum(map(check, told)) >= OFTEN * len(told)):
            return role
    return None


def share(rows: Sequence[Row], at: int, check: object) -> float:
    """Return the share of the cells of a column, empty ones aside, that pass a check."""
    told = [cell for row in rows if not is_blank(cell := row.cell(at))]
    return sum(check(cell) for cell in told) / len(told) if told and callable(check) else 0.0


def fryer_in(parts: tuple[str, ...], role: Role | None, place: Place) -> str:
    """Return the part of a column's titles that names its fryer; "" where none does."""
    if role not in OF_FRYERS and role is not None:
        return ""
    named = [
        part for part in parts if any(squeezed(name) in squeezed(part) for name in place.fryers.values())
    ]
    called = [part for part in parts if len(tokens(part)) > 1 and any(has(part, word) for word in OF_ONE)]
    others = [part for part in parts if role_of(part) is None] if role is None or len(parts) > 1 else []
    return next(iter((*named, *called, *others)), "")


def answered(
    recipe: Recipe, titles: Sequence[tuple[str, ...]], rows: Sequence[Row], place: Place
) -> tuple[Recipe, frozenset[str]]:
    """Return a recipe with what its table's cells answer, and what they leave in doubt."""
    doubtful = set[str]()
    days = [row.cell(at) for at in recipe.places(Role.DAY) for row in rows]
    order, sure = order_of(days)
    if not sure:
        doubtful.add("order")
    poured = [at for role in (Role.TOP_UP, Role.AMOUNT, Role.UNIT) for at in recipe.places(role)]
    units = {unit for at in poured for part in titles[at] if (unit := unit_in(part))}
    if poured and len(units) != 1:
        doubtful.add("unit")
    if not recipe.places(Role.CLOCK) and not any(" " in text_of(day) for day in days[:LOOKED_AT]):
        doubtful.add("clock")
    temps = recipe.places(Role.OIL_TEMP)
    by_title = any(word in part.casefold() for at in temps for part in titles[at] for word in HOTTER)
    lacking = sum(is_blank(day) for day in days)
    found = replace(
        recipe,
        order=order,
        unit=units.pop() if len(units) == 1 else "",
        decimals=decimals_of(recipe, rows[:LOOKED_AT]),
        fahrenheit=by_title or hot(temps, rows[:LOOKED_AT]),
        repeats=bool(days) and lacking > OFTEN * len(days),
        meter=next(iter(place.meters)) if len(place.meters) == 1 else "",
    )
    return found, frozenset(doubtful | ({"meter"} if len(place.meters) > 1 else set()))


def order_of(days: Iterable[Cell]) -> tuple[Order, bool]:
    """Return in which order days stand, and whether one of them shows it; typed days need no order."""
    numbers = {pair for day in days if isinstance(day, str) and (pair := numbers_of_day(day))}
    first = any(first > 12 for first, _ in numbers)
    second = any(second > 12 for _, second in numbers)
    return (Order.MONTH_FIRST if second and not first else Order.DAY_FIRST), first or second or not numbers


def decimals_of(recipe: Recipe, rows: Sequence[Row]) -> Decimals:
    """Return what stands before the decimals in most of the numbers of a table."""
    at = [place for place, column in enumerate(recipe.columns) if column.role in ACTS | {Role.OIL_TEMP}]
    texts = [cell for row in rows for place in at if isinstance(cell := row.cell(place), str)]
    counts = Counter(sign for text in texts for sign in ".," if sign in text)
    return Decimals.COMMA if counts[","] > counts["."] else Decimals.POINT


def hot(places: Sequence[int], rows: Sequence[Row]) -> bool:
    """Tell whether the temperatures of a table are too hot for °C."""
    told = [cell for row in rows for at in places if is_number(cell := row.cell(at)) and not is_blank(cell)]
    return bool(told) and median(float(measured(cell, Decimals.COMMA)[0]) for cell in told) > HOTTEST_C


def with_fryers(recipe: Recipe, sheet: Sheet, place: Place, *, doubtful: frozenset[str]) -> Guess:
    """Return a recipe with a fryer for each word of its table, and whether one of them is a guess."""
    named = (word for word in fryer_words(recipe, sheet) if len(word) <= LONGEST_NAME)
    words = list(islice(dict.fromkeys(named), MOST_FRYERS))
    fryers = {
        word: kept if (kept := recipe.fryers.get(word, "")) else fryer_guessed(word, place.fryers)
        for word in words
    }
    sure = all(word in recipe.fryers or fryer_named(word, place.fryers) for word in words)
    more = frozenset() if sure or (words == [""] and len(place.fryers) == 1) else frozenset({"fryers"})
    return Guess(recipe=replace(recipe, fryers=fryers), doubtful=doubtful | more)


def fryer_words(recipe: Recipe, sheet: Sheet) -> Iterator[str]:
    """Yield the words of a table for its fryers; "" where something is of a fryer that it does not name."""
    named = recipe.places(Role.FRYER)
    for row in sheet.rows[recipe.header :] if named else ():
        if not is_blank(cell := row.cell(named[0])):
            yield text_of(cell)
    for column in recipe.columns:
        if column.role in ACTS and (column.fryer or not named):
            yield column.fryer
