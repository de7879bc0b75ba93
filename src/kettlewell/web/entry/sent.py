"""A form that was sent becomes what is told to the day book."""

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.utils.translation import gettext as _

from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told
from kettlewell.records.phones import phone_heard
from kettlewell.web.common import Visit, phone_of


def told_of(  # noqa: PLR0913 - all that can stand in a form beside its payload
    request: HttpRequest,
    visit: Visit,
    *,
    kind: str,
    payload: Mapping[str, Any],
    note: str = "",
    replaces: UUID | None = None,
    reason: str = "",
    at: datetime | None = None,
    photo: bytes = b"",
) -> Told:
    """Return what a sent form tells, with its ``entry_id`` and the clock of its phone.

    It happened when the phone says that it sent it, now where it says nothing, or at ``at``; what the
    phone says is kept beside what others say. Raises ValidationError where the form carries an id or a
    time that is none.
    """
    phone_now = phone_time(request)
    if phone_now:
        phone_heard(visit.kitchen, phone_of(request, visit), phone_now - visit.server_now, visit.server_now)
    private = {"note": note.encode(), "reason": reason.encode(), "photo": photo}
    return Told(
        id=entry_id(request, visit.now),
        kind=kind,
        payload=payload,
        happened_at=at or phone_now or visit.now,
        clock_error_s=None if at else clock_error_s(phone_now or visit.now, visit.now),
        private={name: said for name, said in private.items() if said},
        replaces=replaces,
    )


def entry_id(request: HttpRequest, now: datetime, name: str = "entry_id") -> UUID:
    """Return the id that was sent by a name, or a new one where none was. Raises ValidationError."""
    given = request.POST.get(name, "")
    try:
        return UUID(given) if given else uuid7(now)
    except ValueError:
        raise ValidationError(_("This form is damaged. Open it anew and send it again.")) from None


def phone_time(request: HttpRequest) -> datetime | None:
    """Return what the phone's clock said when the form was sent, if it said so. Raises ValidationError."""
    given = request.POST.get("phone_now", "")
    if not given:
        return None
    try:
        at = datetime.fromisoformat(given)
    except ValueError:
        at = None
    if at is None or at.utcoffset() is None:
        raise ValidationError(
            _("The clock of this phone cannot be read. Open the form anew and send it again.")
        )
    return at


def clock_error_s(phone_now: datetime, now: datetime) -> Decimal:
    """Return by how many seconds the phone's clock is fast."""
    return Decimal(repr((phone_now - now).total_seconds()))
