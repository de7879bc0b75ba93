"""How a table is read: what each column means, and the answers that were asked for once."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from enum import StrEnum
from typing import Any

from kettlewell.book.words import N_
from kettlewell.tables.sheets import TableError

BETWEEN = " · "  # the titles of a column that stand one above the other
LEFT_OUT = "-"  # a fryer of the table that the kitchen has no more
NO_RECIPE = N_("This is no recipe for a table. Delete the file to have a new one guessed.")


class Role(StrEnum):
    """What a column tells."""

    DAY = "day"
    CLOCK = "clock"
    FRYER = "fryer"
    READING = "reading"
    OIL_TEMP = "oil_temp"
    TOP_UP = "top_up"
    CHANGE = "change"
    WHAT = "what"
    AMOUNT = "amount"
    UNIT = "unit"
    WHO = "who"
    NOTE = "note"
    NOTHING = "nothing"


ACTS = frozenset({Role.READING, Role.TOP_UP, Role.CHANGE, Role.AMOUNT})


class Order(StrEnum):
    """In which order the parts of a day stand that is written in numbers."""

    DAY_FIRST = "dmy"
    MONTH_FIRST = "mdy"


class Decimals(StrEnum):
    """What stands before the decimals of a number."""

    POINT = "."
    COMMA = ","


class Conditions(StrEnum):
    """Whether readings were taken as they should be."""

    SOUND = "yes"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a column tells; ``fryer`` is the word of the table for the fryer it is of ("": the row says)."""

    title: str
    role: Role
    fryer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """How a table is read.

    ``header`` counts the rows with anything in them down to the last of the titles. ``clock`` is when
    it was, where no column says, and ``unit`` in what oil was poured, one of book.fields.OIL_UNITS.
    ``repeats`` says that a row without a day is of the day above it. ``fryers`` gives the key
    of each fryer by the table's word, or LEFT_OUT; "" is that of a table which names none.
    """

    header: int
    columns: tuple[Column, ...]
    order: Order = Order.DAY_FIRST
    decimals: Decimals = Decimals.POINT
    clock: str = "09:00"
    unit: str = ""
    fahrenheit: bool = False
    repeats: bool = False
    conditions: Conditions = Conditions.SOUND
    meter: str = ""
    fryers: Mapping[str, str] = field(default_factory=dict)

    @property
    def titles(self) -> tuple[str, ...]:
        """The titles of the columns, by which a recipe knows its tables again."""
        return tuple(column.title for column in self.columns)

    def places(self, role: Role) -> list[int]:
        """Return where the columns of a role stand."""
        return [place for place, column in enumerate(self.columns) if column.role is role]


def plain_recipe(recipe: Recipe) -> dict[str, Any]:
    """Return a recipe as JSON holds it."""
    return {**asdict(recipe), "columns": [asdict(column) for column in recipe.columns]}


def recipe_text(recipe: Recipe) -> str:
    """Return a recipe as a file: one form for each."""
    return json.dumps(plain_recipe(recipe), ensure_ascii=False, indent=2, sort_keys=True) + "\n"


def recipe_of(plain: object) -> Recipe:
    """Return the recipe that JSON holds; raises TableError for what is none."""
    try:
        told = dict(plain)  # type: ignore[call-overload]
        columns = tuple(
            Column(title=str(each["title"]), role=Role(each["role"]), fryer=str(each["fryer"]))
            for each in told.pop("columns")
        )
        recipe = Recipe(columns=columns, **told)
        return replace(
            recipe,
            header=int(recipe.header),
            order=Order(recipe.order),
            decimals=Decimals(recipe.decimals),
            conditions=Conditions(recipe.conditions),
            clock=str(recipe.clock),
            unit=str(recipe.unit),
            fahrenheit=bool(recipe.fahrenheit),
            repeats=bool(recipe.repeats),
            meter=str(recipe.meter),
            fryers={str(word): str(key) for word, key in dict(recipe.fryers).items()},
        )
    except (AttributeError, KeyError, TypeError, ValueError) as error:
        raise TableError(NO_RECIPE) from error


def recipe_from(text: str) -> Recipe:
    """Return the recipe in a file; raises TableError for what is none."""
    try:
        return recipe_of(json.loads(text))
    except (ValueError, RecursionError) as error:
        raise TableError(NO_RECIPE) from error
