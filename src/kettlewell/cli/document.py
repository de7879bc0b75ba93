"""The answer for programs: one JSON document, described by assessment.schema.json.

Every field of the core's values under its own name, which carries its unit; times in
UTC; unknown is null.
"""

from collections.abc import Callable, Sequence
from dataclasses import fields
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from babel import Locale

from kettlewell import __version__
from kettlewell.book import Kitchen, Limit, Message
from kettlewell.core.outlook.values import Assessment
from kettlewell.folder import Problem
from kettlewell.telling.words import HOME, Reader

Json = dict[str, "Json"] | list["Json"] | str | float | bool | None
Tell = Callable[[Message], str]

VALUE_KEYS = {
    "% m/m": "value_pct",
    "degC": "value_c",
    "mg KOH/g": "value_mg_koh_per_g",
    "-": "value_dimensionless",
}


def document(
    assessments: Sequence[Assessment], kitchen: Kitchen, *, at: datetime, problems: Sequence[Problem]
) -> Json:
    """Return the whole document; its sentences are English whoever reads them."""
    tell = teller(kitchen, at)
    return {
        "program_version": __version__,
        "kitchen": kitchen.name,
        "timezone": kitchen.timezone,
        "at": plain(at, tell),
        "assessments": plain(assessments, tell),
        "rows_not_used": rows_not_used(problems),
    }


def teller(kitchen: Kitchen, at: datetime) -> Tell:
    """Return how a sentence is told in a document: in English, times in the kitchen's zone."""
    return Reader(locale=Locale.parse(HOME), zone=ZoneInfo(kitchen.timezone), now=at).tell


def rows_not_used(problems: Sequence[Problem]) -> list[Json]:
    """Return the rows of the log that could not be used, and why."""
    return [
        {"ref": f"log.csv:{problem.line}", "field": problem.field, "reason": problem.reason}
        for problem in problems
    ]


def plain(value: object, tell: Tell) -> Json:
    """Return a value of the core as JSON knows it."""
    match value:
        case None | bool() | int() | float():
            found: Json = value
        case str():
            found = str(value)
        case datetime():
            found = value.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
        case date():
            found = value.isoformat()
        case dict():
            found = {str(key): plain(each, tell) for key, each in value.items()}
        case list() | tuple():
            found = [plain(each, tell) for each in value]
        case Message():
            found = {**_fields(value, tell), "sentence": tell(value)}
        case Limit():
            found = _limit(value, tell)
        case _:
            found = _fields(value, tell)
    return found


def _limit(limit: Limit, tell: Tell) -> dict[str, Json]:
    found = _fields(limit, tell)
    number = found.pop("value")
    return found if number is None else {**found, VALUE_KEYS[limit.unit]: number}


def _fields(value: object, tell: Tell) -> dict[str, Json]:
    # α is a probability: say so, as every number's key names what it is counted in
    names = {"risk": "risk_probability"}
    return {
        names.get(field.name, field.name): plain(getattr(value, field.name), tell)
        for field in fields(value)  # type: ignore[arg-type]  # only dataclasses come here
    }
