"""What the day book refuses to take: by its kind, its time, and what it speaks of."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import chain
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from kettlewell.book.kinds import KINDS
from kettlewell.records.canonical import Plain, canonical
from kettlewell.records.kinds import PAYLOADS
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.photos import MOST_BYTES, type_of
from kettlewell.records.selectors import settled_after
from kettlewell.records.settings import settings_of

UUID_VERSION = 7
AHEAD_AT_MOST = timedelta(minutes=5)
EARLIEST = datetime(2000, 1, 1, tzinfo=UTC)
LARGEST_CLOCK_ERROR = timedelta(days=1)  # beyond it a clock is not set, and which one nobody can tell
PRIVATE_FIELDS = frozenset({"note", "reason", "name", "photo"})
NAMED = {
    "fryer": ("fryers", _("There is no such fryer in this kitchen.")),
    "into": ("fryers", _("There is no such fryer in this kitchen.")),
    "product": ("products", _("There is no such food in this kitchen.")),
    "meter": ("meters", _("There is no such meter in this kitchen.")),
    "against": ("meters", _("There is no such meter in this kitchen.")),
    "lot": ("reference_lots", _("There is no such reference oil in this kitchen.")),
    "oil": ("oils", _("There is no such oil in this kitchen.")),
}
CLOCKS_APART = _(
    "This device and the server are more than a day apart. Nothing was written: set the clock that is wrong."
)
TOO_LARGE = _("It is larger than 3 MB. Take a smaller picture.")
NO_SUCH_ENTRY = _("There is no such entry in this day book.")


def checked_payload(kind: str, payload: Mapping[str, Any]) -> dict[str, Any]:
    """Return a payload as it is written down; raises ValidationError by field."""
    if kind not in PAYLOADS:
        raise ValidationError({"kind": _("There is no such kind of entry.")})
    form = PAYLOADS[kind](dict(payload))
    if not form.is_valid():
        raise ValidationError(form.errors.as_data())
    try:
        checked = form.payload()
        canonical(checked)
    except (TypeError, ValueError):
        raise ValidationError(_("This cannot be written down.")) from None
    if any("\x00" in text for text in texts(checked)):
        raise ValidationError(_("This cannot be written down."))
    return checked


def texts(value: Plain) -> Iterator[str]:
    """Yield every text in a payload, its keys too."""
    match value:
        case str():
            yield value
        case Mapping():
            yield from value
            yield from chain.from_iterable(texts(each) for each in value.values())
        case list() | tuple():
            yield from chain.from_iterable(texts(each) for each in value)


def check_id(entry: UUID) -> None:
    """Raise ValidationError for an id that does not sort by the time it was made."""
    if entry.version != UUID_VERSION:
        raise ValidationError({"id": _("The id of an entry is a UUID of version 7 (RFC 9562).")})


def check_private(private: Mapping[str, bytes]) -> None:
    """Raise ValidationError for a private field there is not, and for a photo that is none or too large."""
    if unknown := set(private) - PRIVATE_FIELDS:
        raise ValidationError({min(unknown): _("There is no such private field.")})
    photo = private.get("photo")
    if photo is None:
        return
    if len(photo) > MOST_BYTES:
        raise ValidationError({"photo": TOO_LARGE})
    if type_of(photo) is None:
        raise ValidationError({"photo": _("A picture is a JPEG, a PNG or a PDF.")})


def check_time(happened_at: datetime, clock_error_s: Decimal | None, now: datetime) -> None:
    """Raise ValidationError for what has not happened yet, and for clocks too far apart to file by."""
    error_s = clock_error_s or Decimal(0)
    if not error_s.is_finite() or abs(error_s) > LARGEST_CLOCK_ERROR.total_seconds():
        raise ValidationError({"happened_at": CLOCKS_APART})
    fast = timedelta(seconds=float(error_s))
    if not EARLIEST + fast <= happened_at <= now + AHEAD_AT_MOST + fast:
        raise ValidationError(
            {"happened_at": _("This time cannot be: it has not come yet, or is long past.")}
        )


def is_book_ahead(kitchen: Kitchen, now: datetime, server_now: datetime) -> bool:
    """Tell whether entries bear times that have not come, or the last was received at one by the server."""
    entries = Entry.objects.filter(kitchen=kitchen)
    last = entries.order_by("-seq").values_list("received_at", flat=True).first()
    if last is not None and last > server_now + AHEAD_AT_MOST:
        return True
    return entries.filter(at__gt=now + AHEAD_AT_MOST, replaced_by=None).exists()


def check_named(kitchen: Kitchen, payload: Mapping[str, Any]) -> None:
    """Raise ValidationError for a fryer, food, meter, oil or reference oil the kitchen does not have."""
    things = settings_of(kitchen)
    for field in NAMED.keys() & payload.keys():
        thing, refusal = NAMED[field]
        if payload[field] not in things.get(thing, {}):
            raise ValidationError({field: refusal})


def answered(kitchen: Kitchen, kind: str, payload: Mapping[str, Any]) -> Entry | None:
    """Return the entry that one speaks of.

    Raises ValidationError where the day book has none such, or it is of a kind that such an entry
    does not answer, or of another fryer.
    """
    field = KINDS[kind].about
    if field not in payload:
        return None
    found = Entry.objects.filter(kitchen=kitchen, pk=payload[field]).select_related("replaces").first()
    if found is None:
        raise ValidationError({field: NO_SUCH_ENTRY})
    named = fryers_of(found)
    if found.kind not in KINDS[kind].answers or (named and payload["fryer"] not in named):
        raise ValidationError({field: _("It answers an entry of another kind, or of another fryer.")})
    return found


def check_cited(kitchen: Kitchen, payload: Mapping[str, Any], corrects: Entry | None) -> None:
    """Raise ValidationError where an entry cites a meter check that the day book does not have, or no more.

    A correction may go on citing the check that the entry it ``corrects`` does. After a check a
    verdict is settled once.
    """
    cited = payload.get("check")
    if not cited:
        return
    check = Entry.objects.filter(kitchen=kitchen, pk=cited, kind="meter_check").first()
    if check is None:
        raise ValidationError({"check": NO_SUCH_ENTRY})
    kept = corrects is not None and corrects.payload.get("check") == cited
    if not kept and Entry.objects.filter(replaces=check).exists():
        raise ValidationError({"check": _("This check was corrected or undone.")})
    settled = settled_after(check).filter(about=payload["verdict"])
    if any(entry != corrects for entry in settled):
        raise ValidationError({"verdict": _("Somebody settled this verdict already.")})


def fryers_of(entry: Entry) -> list[str]:
    """Return the fryers that an entry, or the one it corrects, names, its own first; none is all of them."""
    payloads = [entry.payload] + ([entry.replaces.payload] if entry.replaces else [])
    found = (payload[name] for payload in payloads for name in ("fryer", "into") if name in payload)
    return list(dict.fromkeys(found))


def replaceable(kitchen: Kitchen, kind: str, replaces: UUID | None, reason: bytes | None) -> Entry | None:
    """Return the entry that is corrected; raises ValidationError where it cannot be, or without a reason."""
    if replaces is None:
        if kind == "undone":
            raise ValidationError({"replaces": _("Say which entry is undone.")})
        return None
    replaced = Entry.objects.filter(kitchen=kitchen, pk=replaces).first()
    if replaced is None:
        raise ValidationError({"replaces": NO_SUCH_ENTRY})
    if not KINDS[replaced.kind].correctable or kind not in {replaced.kind, "undone"}:
        raise ValidationError({"replaces": _("Such an entry cannot be corrected this way.")})
    if Entry.objects.filter(replaces=replaced).exists():
        raise ValidationError({"replaces": _("This entry was corrected before. Correct the newer one.")})
    if not reason:
        raise ValidationError({"reason": _("Say why it is corrected.")})
    return replaced
