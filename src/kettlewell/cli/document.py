"""The answer for programs: one JSON document, described by assessment.schema.json.

Every field of the core's values under its own name, which carries its unit; times in
UTC; unknown is null.
"""

from collections.abc import Sequence
from dataclasses import fields
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from babel import Locale

from kettlewell import __version__
from kettlewell.book import Kitchen, Limit
from kettlewell.core import Answer
from kettlewell.core.limits import LimitNote, OilLimit
from kettlewell.core.outlook.meters import When
from kettlewell.core.outlook.values import Assessment, Because, Caution, ChangesIf, Flag, Unanswered, WallCard
from kettlewell.folder import Problem
from kettlewell.telling import Message, Reader
from kettlewell.telling.cards import line_message, stretch_of
from kettlewell.telling.cautions import caution_message
from kettlewell.telling.checks import when_message
from kettlewell.telling.flags import flag_message
from kettlewell.telling.limits import note_message, oil_limit_message
from kettlewell.telling.reasons import reason_message, remedy_message
from kettlewell.telling.unanswered import lack_message
from kettlewell.telling.words import HOME

Json = dict[str, "Json"] | list["Json"] | str | float | bool | None

JUDGED = "judged"
VALUE_KEYS = {
    "% m/m": "value_pct",
    "degC": "value_c",
    "mg KOH/g": "value_mg_koh_per_g",
    "-": "value_dimensionless",
}


def document(found: Answer, kitchen: Kitchen, *, at: datetime, problems: Sequence[Problem]) -> Json:
    """Return the whole document; its sentences are English whoever reads them."""
    tell = teller(kitchen, at)
    return {
        "program_version": __version__,
        "kitchen": kitchen.name,
        "timezone": kitchen.timezone,
        "at": plain(at, tell),
        "assessments": plain(found.assessments, tell),
        "unanswered": plain(found.unanswered, tell),
        "rows_not_used": rows_not_used(problems),
    }


def teller(kitchen: Kitchen, at: datetime) -> Reader:
    """Return who reads a document: in English, times of its sentences in the kitchen's zone."""
    return Reader(locale=Locale.parse(HOME), zone=ZoneInfo(kitchen.timezone), now=at)


def rows_not_used(problems: Sequence[Problem]) -> list[Json]:
    """Return the rows of the log that could not be used, and why."""
    return [
        {"ref": f"log.csv:{problem.line}", "field": problem.field, "reason": problem.reason}
        for problem in problems
    ]


def plain(value: object, tell: Reader) -> Json:
    """Return a value of the core as JSON knows it."""
    match value:
        case None | bool() | int() | float():
            found: Json = value
        case Caution():
            found = sentence(value.value, caution_message(value), tell)
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
        case _:
            found = _of_its_kind(value, tell)
    return found


def sentence(code: str, message: Message, tell: Reader) -> dict[str, Json]:
    """Return a sentence: its code, its text and values, and what it reads."""
    values = plain(message.values, tell)
    return {"code": code, "text": message.text, "values": values, "sentence": tell.tell(message)}


def _of_its_kind(value: object, tell: Reader) -> Json:
    match value:
        case Because():
            found: Json = sentence(value.code, reason_message(value), tell)
        case ChangesIf():
            found = sentence(value.code, remedy_message(value), tell)
        case When():
            found = sentence(value.code, when_message(value), tell)
        case Flag():
            asked = sentence(value.kind, flag_message(value), tell)
            found = {"kind": value.kind, "at": plain(value.at, tell), "ref": value.ref, "message": asked}
        case Unanswered():
            lacks = sentence(value.lacks, lack_message(value), tell)
            found = {"fryer": value.fryer, "name": value.name, "lacks": lacks}
        case WallCard():
            found = _card(value, tell)
        case Limit():
            found = _limit(value, tell)
        case Assessment():
            found = _assessment(value, tell)
        case _:
            found = _fields(value, tell)
    return found


def _assessment(assessment: Assessment, tell: Reader) -> Json:
    found = _fields(assessment, tell)
    del found["notes"]
    judged: list[Json] = [_oil_limit(limit, tell) for limit in assessment.limits]
    return {**found, "limits": [*judged, *(_note(note, tell) for note in assessment.notes)]}


def _oil_limit(judged: OilLimit, tell: Reader) -> Json:
    return {
        "limit": _limit(judged.limit, tell),
        "status": JUDGED,
        "unverified": False,
        "message": sentence(JUDGED, oil_limit_message(judged), tell),
        "tpc_pct": judged.tpc_pct,
        "tpc_u_pct": judged.tpc_u_pct,
        "risk_probability": judged.risk,
    }


def _note(note: LimitNote, tell: Reader) -> Json:
    return {
        "limit": _limit(note.limit, tell),
        "status": note.status,
        "unverified": note.unverified,
        "message": sentence(note.code, note_message(note), tell),
        "tpc_pct": None,
        "tpc_u_pct": None,
        "risk_probability": None,
    }


def _card(card: WallCard, tell: Reader) -> Json:
    found = _fields(card, tell)
    del found["by_reading"], found["by_hand"]
    lines: list[Json] = [
        {
            **_fields(line, tell),
            "message": sentence(stretch_of(line, card), line_message(line, card, tell), tell),
        }
        for line in card.lines
    ]
    return {**found, "lines": lines}


def _limit(limit: Limit, tell: Reader) -> dict[str, Json]:
    found = _fields(limit, tell)
    number = found.pop("value")
    return found if number is None else {**found, VALUE_KEYS[limit.unit]: number}


def _fields(value: object, tell: Reader) -> dict[str, Json]:
    # α is a probability: say so, as every number's key names what it is counted in
    names = {"risk": "risk_probability"}
    return {
        names.get(field.name, field.name): plain(getattr(value, field.name), tell)
        for field in fields(value)  # type: ignore[arg-type]  # only dataclasses come here
    }
