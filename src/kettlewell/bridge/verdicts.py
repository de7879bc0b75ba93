"""Writing an entry and telling what follows: an issued verdict is an entry itself."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from kettlewell.book.kinds import COUNTING, KINDS
from kettlewell.book.plain import decimal_text, time_text
from kettlewell.book.words import Message, Value
from kettlewell.bridge import replays
from kettlewell.bridge.door import check_likely, check_true, weighed
from kettlewell.bridge.standing import Standing, standing
from kettlewell.core.outlook.values import Assessment, Because, ChangesIf, Flag
from kettlewell.records.checks import fryers_of
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told, entry_add
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import is_late, untold_late, verdict_on
from kettlewell.telling.reasons import reason_message, remedy_message


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """What became of an entry: whether it is ``new``, and what was told in answer to it at its fryer.

    An entry about a meter is of no one fryer; the verdicts it led to are its ``answers``. Of one that is
    told ``late`` no verdict is issued: more of that day may follow.
    """

    entry: Entry
    new: bool
    late: bool = False
    verdict: Entry | None = None
    assessment: Assessment | None = None


def record(kitchen: Kitchen, told: Told, hand: Hand) -> Recorded:
    """Write an entry and issue the verdict that follows from it.

    After a reading, a laboratory result or a sensory note a verdict is issued each time, after
    all else where it is another than the fryer's last: after an entry about a meter, of every
    fryer in use. After one at a fryer that is told days late none is, before ``tell_now``. Raises
    ValidationError by field, with the code ``unlikely`` where it is enough to say that one is sure;
    PermissionDenied for who may not write it.
    """
    entry, new = written_down(kitchen, told, hand)
    return with_verdicts(kitchen, entry, hand, new=new)


class RefusedPartError(Exception):
    """One of several entries that were to be written down together cannot be, so none of them was."""

    def __init__(self, part: int, error: ValidationError) -> None:
        """Keep which it was, counted from 0, and why."""
        super().__init__(part, error)
        self.part, self.error = part, error


def record_together(kitchen: Kitchen, tolds: Sequence[Told], hand: Hand) -> Recorded:
    """Write entries of one fryer, all or none, and issue the verdict that follows from all of them.

    Returns what became of the last. Raises RefusedPartError where ``record`` raises ValidationError,
    PermissionDenied as it does.
    """
    with transaction.atomic():
        for part, told in enumerate(tolds):
            try:
                entry, new = written_down(kitchen, told, hand)
            except ValidationError as error:
                raise RefusedPartError(part, error) from error
    return with_verdicts(kitchen, entry, hand, new=new)


def written_down(kitchen: Kitchen, told: Told, hand: Hand) -> tuple[Entry, bool]:
    """Write an entry that can be true; return it, and whether it is new. Raises as ``record`` does."""
    with transaction.atomic():
        entry, new = entry_add(kitchen, weighed(kitchen, told), hand)
        if new:
            check_true(kitchen, entry, hand)
            if not told.sure:
                check_likely(kitchen, entry)
        if new and is_counted(entry):
            since = min(each.at for each in (entry, entry.replaces) if each)
            replays.told_late(kitchen, since, hand.now)
    return entry, new


def is_counted(entry: Entry) -> bool:
    """Tell whether an answer depends on an entry."""
    return entry.kind in COUNTING or entry.kind == "undone"


def with_verdicts(kitchen: Kitchen, entry: Entry, hand: Hand, *, new: bool) -> Recorded:
    """Issue the verdicts that follow from an entry; return what was told at its fryer."""
    if not is_counted(entry):
        return Recorded(entry=entry, new=new)
    fryers = fryers_of(entry)
    if is_late(entry):
        return Recorded(entry=entry, new=new, late=True)
    if not new and (verdict := verdict_on(entry)):
        return Recorded(entry=entry, new=False, verdict=verdict if fryers else None)
    stands = standing(kitchen, hand.now, of=fryers or None)
    verdicts = {
        assessment.fryer: issue(kitchen, assessment, stands, entry=entry, hand=hand)
        for assessment in stands.assessments
        if assessment.in_use and news(kitchen, assessment, entry)
    }
    own = fryers[0] if fryers else ""
    return Recorded(
        entry=entry,
        new=new,
        verdict=verdicts.get(own),
        assessment=next((told for told in stands.assessments if told.fryer == own), None),
    )


def late_entries(kitchen: Kitchen) -> dict[str, Entry]:
    """Return by fryer its newest entry told late, where no verdict was told on the fryer since."""
    found = untold_late(kitchen)
    return {fryer: entry for entry in found for fryer in fryers_of(entry)}


def tell_now(kitchen: Kitchen, hand: Hand) -> dict[str, Entry]:
    """Issue, by fryer, a verdict for now on each fryer in use of which something was told late."""
    return tell_of(kitchen, late_entries(kitchen), hand)


def tell_of(kitchen: Kitchen, entries: Mapping[str, Entry], hand: Hand) -> dict[str, Entry]:
    """Issue, by fryer, a verdict for now on each fryer in use, in answer to an entry."""
    if not entries:
        return {}
    stands = standing(kitchen, hand.now, of=list(entries))
    return {
        assessment.fryer: issue(kitchen, assessment, stands, entry=entries[assessment.fryer], hand=hand)
        for assessment in stands.assessments
        if assessment.in_use
    }


def news(kitchen: Kitchen, assessment: Assessment, entry: Entry) -> bool:
    """Return whether a verdict is told on an entry: on some each time, else where it is another one."""
    return KINDS[entry.kind].always_told or told_last(kitchen, assessment.fryer) != assessment.verdict.key


def issue(kitchen: Kitchen, assessment: Assessment, stands: Standing, *, entry: Entry, hand: Hand) -> Entry:
    """Return the verdict on a fryer as an entry."""
    payload = {**verdict_payload(assessment, stands), "answers": str(entry.id)}
    told = Told(id=uuid7(hand.now), kind="verdict", happened_at=hand.now, payload=payload)
    with transaction.atomic():  # the same entry may be sent twice at once
        Kitchen.objects.select_for_update().get(pk=kitchen.pk)
        there = entry.answers.filter(kind="verdict", fryer=assessment.fryer).first()
        return there or entry_add(kitchen, told, hand)[0]


def told_last(kitchen: Kitchen, fryer: str) -> str | None:
    """Return the verdict that was told last on a fryer."""
    verdicts = Entry.objects.filter(kitchen=kitchen, kind="verdict", fryer=fryer).order_by("-seq")
    last = verdicts.values_list("payload", flat=True).first()
    return last["verdict"] if last else None


def verdict_payload(assessment: Assessment, stands: Standing) -> dict[str, Any]:
    """Return what was told and from what, as it is written down."""
    verdict, life = assessment.verdict, assessment.life
    services = {
        "left": life.services_left,
        "low": life.services_low,
        "median": life.services_median,
        "high": life.services_high,
    }
    return {
        "fryer": assessment.fryer,
        "verdict": verdict.key.value,
        "reason": told_payload(reason_message(verdict.reason), verdict.reason),
        "changes_if": told_payload(remedy_message(verdict.changes_if), verdict.changes_if),
        "passing_probability": rounded(verdict.passing_probability),
        "passing_probability_next": rounded(verdict.passing_probability_next),
        "risk": decimal_text(verdict.risk),
        "holds_until": time_text(verdict.holds_until),
        "tpc_mean_pct": rounded(assessment.tpc_mean_pct),
        "tpc_sd_pct": rounded(assessment.tpc_sd_pct),
        "services": {name: rounded(value) for name, value in services.items() if value is not None},
        "limits": list(limits_payload(assessment)),
        "taken_over_by": [over.fryer for over in verdict.taken_over_by if not over.asks_chef],
        "model_version": assessment.model_version,
        "head_seq": str(stands.head_seq),
        "head_hash": stands.head_hash,
        "recomputing": stands.recomputing,
    }


def limits_payload(assessment: Assessment) -> Iterable[dict[str, str]]:
    """Yield the limits that judged the oil."""
    for judged in assessment.limits:
        limit = judged.limit
        if limit.value is not None:
            yield {
                "jurisdiction": limit.jurisdiction,
                "quantity": limit.quantity,
                "unfit_when": limit.unfit_when,
                "value": decimal_text(limit.value),
                "unit": limit.unit,
                "force": limit.force.value,
            }


def rounded(value: float) -> str:
    """Return a computed number to six decimals: more of it means nothing, on another machine least."""
    return decimal_text(round(value, 6))


def told_payload(message: Message, coded: Because | ChangesIf) -> dict[str, Any]:
    """Return why, or what else, as it is written down: its sentence, and its code with the numbers."""
    numbers = dict(written(coded))
    return {**message_payload(message), "code": numbers.pop("code"), "numbers": numbers}


def written(coded: Because | ChangesIf | Flag) -> Iterator[tuple[str, str | bool]]:
    """Yield the known fields of a value of the core, and of one within it, as they are written down."""
    for name in (each.name for each in fields(coded)):
        match getattr(coded, name):
            case None:
                continue
            case bool() as yes:
                yield name, yes
            case str() as word:
                yield name, str(word)
            case datetime() as at:
                yield name, time_text(at)
            case float() | int() as number:
                yield name, rounded(number)
            case within:
                yield from written(within)


def message_payload(message: Message) -> dict[str, Any]:
    """Return a sentence as it is written down: its text and the values in it."""
    return {"text": message.text, "values": {name: _kept(value) for name, value in message.values.items()}}


def _kept(value: Value) -> dict[str, str] | None:
    match value:
        case None:
            return None
        case datetime():
            return {"at": time_text(value)}
        case date():
            return {"day": value.isoformat()}
        case str():
            return {"text": value}
        case float() | int():
            return {"number": decimal_text(value)}
    raise TypeError(f"{value!r} is not written down in a sentence")


def told_message(payload: Mapping[str, Any]) -> Message:
    """Return a sentence that was written down, to be told in any language."""
    return Message(
        text=payload["text"], values={name: _given(value) for name, value in payload["values"].items()}
    )


def _given(value: Mapping[str, str] | None) -> float | str | datetime | date | None:
    if value is None:
        return None
    if "at" in value:
        return datetime.fromisoformat(value["at"])
    if "day" in value:
        return date.fromisoformat(value["day"])
    if "number" in value:
        number = float(value["number"])
        return int(number) if number.is_integer() else number
    return value["text"]
