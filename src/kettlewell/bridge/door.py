"""What makes an entry true, the same for a form, a file and a script."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.utils.formats import number_format
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Draining, History, MeterCheck, find, in_order
from kettlewell.book import Entry as BookEntry
from kettlewell.book.account import accounts_of
from kettlewell.book.fields import Type
from kettlewell.book.kinds import KINDS, OF_VALUE, MayWrite
from kettlewell.book.likely import Slip, Unlikely, unlikely
from kettlewell.book.payloads import value_of
from kettlewell.book.plain import decimal_text
from kettlewell.book.refusals import Impossible, Refusal, refusal
from kettlewell.bridge.accounts import MOVES_OIL
from kettlewell.bridge.amounts import food_amount_kg, oil_amount_kg
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.old_oil import check_collected
from kettlewell.bridge.reviews import check_reviewed
from kettlewell.bridge.setups import history_of, setup_of
from kettlewell.core.metering.checks import check_possible
from kettlewell.folder import Setup
from kettlewell.records.access import MAY, act_of, lasts
from kettlewell.records.checks import checked_payload, fryers_of
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry, Kitchen, Role, Seat
from kettlewell.records.selectors import joined_to, of_vessels
from kettlewell.records.settings import day_in

VESSELS = MOVES_OIL | {"top_up"}
WORDS: Mapping[Impossible, Any] = {
    Impossible.EMPTY: _("According to the day book this fryer is empty."),
    Impossible.NOTHING_KEPT: _("According to the day book no oil of this fryer is kept."),
    Impossible.MORE_THAN_HELD: _(
        "According to the day book this fryer holds only %(kg)s kg. Check the amount."
    ),
    Impossible.MORE_THAN_BATH: _("That is more than the whole bath holds. Check the amount."),
    Impossible.AMOUNT_NEEDED: _(
        "According to the day book that fryer holds oil: say how much went in, or write first where it went."
    ),
}
MAY_SLIP = ("reading", "laboratory", "load", "top_up")
UNLIKELY = "unlikely"
SLIPS: Mapping[Slip, Any] = {
    Slip.FIGURE: _("Oil that is fried in hardly reads so. Is the figure right?"),
    Slip.AMOUNT: _("More than %(most)s kg is hardly ever so. Is the amount right?"),
}
NO_WORKER = _("This person does not work in this kitchen.")
TURNED_IMPOSSIBLE = _("What was written of a later time could not be then. Correct or undo that first.")


def weighed(kitchen: Kitchen, told: Told) -> Told:
    """Return what is told with the mass of its amount, worked out where it is missing.

    Raises ValidationError, by field, for an amount and a mass that disagree, and for an amount that
    the kitchen cannot weigh. An entry sent again, or one that is corrected, keeps the mass it had.
    """
    if told.kind not in ("top_up", "load"):
        return told
    payload = checked_payload(told.kind, told.payload)
    before = Entry.objects.filter(kitchen=kitchen, pk__in=[told.id, told.replaces])
    for kept in before.values_list("payload", flat=True):
        if measured_alike(payload, kept):
            return replace(told, payload=kept)
    try:
        mass_kg = mass_of(setup_of(kitchen), told.kind, payload)
    except KeyError:
        return told  # the day book says by its field which thing this kitchen does not have
    if payload.get("mass_kg", mass_kg) != mass_kg:
        raise ValidationError({"mass_kg": _("The amount does not come to this mass. Check both.")})
    return told if mass_kg is None else replace(told, payload={**payload, "mass_kg": mass_kg})


def measured_alike(payload: Mapping[str, Any], kept: Mapping[str, Any]) -> bool:
    """Tell whether an amount is the one that was written down before, with its mass or without."""
    same = all(payload.get(name) == kept.get(name) for name in ("fryer", "product", "unit", "amount"))
    return same and payload.get("mass_kg", kept.get("mass_kg")) == kept.get("mass_kg")


def mass_of(setup: Setup, kind: str, payload: Mapping[str, Any]) -> str | None:
    """Return the mass of an amount as it is written down; None, unknown, where nobody told one."""
    amount = Decimal(payload["amount"]) if "amount" in payload else None
    unit = payload.get("unit", "")
    if kind == "load":
        mass_kg = food_amount_kg(setup, payload["product"], amount, unit)
    else:
        mass_kg = oil_amount_kg(setup, payload["fryer"], amount, unit)
    return None if mass_kg is None else decimal_text(mass_kg)


def check_true(kitchen: Kitchen, entry: Entry, hand: Hand) -> None:
    """Raise ValidationError, by field, for an entry that cannot be true; PermissionDenied for its writer.

    Call it in the transaction that wrote the entry: it is judged beside all that stands.
    """
    check_itself(kitchen, entry, hand)
    check_vessels(kitchen, entry)


def check_itself(kitchen: Kitchen, entry: Entry, hand: Hand) -> None:
    """Raise as ``check_true`` does, for all but what vessels hold."""
    check_writer(kitchen, entry, hand)
    check_moments(entry)
    check_days(kitchen, entry)
    check_collected(entry)
    check_drainer(kitchen, entry)
    check_trained(kitchen, entry)
    check_settled(entry)
    check_reviewed(kitchen, entry, hand.now)
    check_meter(kitchen, entry)


def check_writer(kitchen: Kitchen, entry: Entry, hand: Hand) -> None:
    """Raise PermissionDenied for someone who may not write such an entry; the program itself may."""
    kind = entry.replaces.kind if entry.kind == "undone" and entry.replaces else entry.kind
    if KINDS[kind].writer is MayWrite.PROGRAM:
        raise ValidationError({"kind": _("There is no such kind of entry.")})
    if hand.person is None:
        return
    seat = Seat.objects.filter(kitchen=kitchen, person=hand.person).first()
    if seat is None or not lasts(seat, hand.now) or act_of(kind) not in MAY[Role(seat.role)]:
        raise PermissionDenied


def check_moments(entry: Entry) -> None:
    """Raise ValidationError where something ends before it begins."""
    moments = [field for field in KINDS[entry.kind].fields if field.type is Type.MOMENT]
    told = {field: datetime.fromisoformat(at) for field in moments if (at := entry.payload.get(field.name))}
    begins = max([entry.at, *(at for field, at in told.items() if not field.required)])
    for field, at in told.items():
        if field.required and at <= begins:
            raise ValidationError({field.name: _("This must lie after it begins.")})


def check_days(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError for records looked through that are still to come, or from their end on."""
    if entry.kind != "review":
        return
    first, last = (date.fromisoformat(entry.payload[name]) for name in ("first_day", "last_day"))
    if last < first:
        raise ValidationError({"last_day": _("This day lies before the first.")})
    if last > day_in(kitchen, entry.at):
        raise ValidationError({"last_day": _("This day has not come yet.")})


def check_drainer(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError for one who is said to have drained a bath and is not of this kitchen.

    A bath without a pump is drained only by those who are trained to. Who was named before may
    stay named in a correction.
    """
    named = entry.payload.get("drained_by")
    if named is None or (entry.replaces and entry.replaces.payload.get("drained_by") == named):
        return
    seat = Seat.objects.filter(kitchen=kitchen, person_id=named).first()
    if seat is None or not lasts(seat, entry.at):
        raise ValidationError({"drained_by": NO_WORKER})
    fryer = find(setup_of(kitchen).kitchen.fryers, entry.fryer)
    if fryer.draining is Draining.HAND and not seat.trained_to_drain:
        raise ValidationError({"drained_by": _("Only people trained to drain are named here.")})


def check_trained(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError for one who was trained and is not of this kitchen, unless named before."""
    named = entry.payload.get("trained")
    if named is None or (entry.replaces and entry.replaces.payload.get("trained") == named):
        return
    if not Seat.objects.filter(kitchen=kitchen, person_id=named).exists():
        raise ValidationError({"trained": NO_WORKER})


def check_settled(entry: Entry) -> None:
    """Raise ValidationError where oil was drained and nobody says by whom, or used on and nobody says why."""
    payload = entry.payload
    drained = entry.kind == "settled" and payload["oil_done"] == "drained"
    if drained and "drained_by" not in payload and "note" not in entry.private:
        refused = _("Say who drained it; if someone else did, write who in the note.")
        raise ValidationError({"drained_by": refused})
    decided = entry.kind == "settled" and payload["oil_done"] == "chef_decided"
    if decided and "note" not in entry.private:
        raise ValidationError({"note": _("Write down who decided so, and why.")})


def check_meter(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError for a check of a meter that was not in use then."""
    if entry.kind != "meter_check":
        return
    check = value_of(entry.kind, entry.payload, at=entry.at, ref=f"#{entry.seq}")
    assert isinstance(check, MeterCheck)  # noqa: S101 - tells mypy
    try:
        check_possible(check, setup_of(kitchen).kitchen)
    except ValueError:
        refused = _("This meter was not in use yet. Correct the time, or since when it is in use.")
        raise ValidationError({"happened_at": refused}) from None


def check_likely(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError, with the code ``unlikely``, for what looks like a slip of the pen."""
    if entry.kind not in MAY_SLIP:
        return
    told = value_of(entry.kind, entry.payload, at=entry.at, ref=f"#{entry.seq}")
    found = unlikely(told, setup_of(kitchen).kitchen)
    if found is None:
        return
    field = "amount" if found.field == "mass_kg" and "amount" in entry.payload else found.field
    raise ValidationError({field: slip_error(found)})


def slip_error(found: Unlikely) -> ValidationError:
    """Return what somebody is told of what is hardly true."""
    params = {"most": number_format(round(found.most, 1))}
    return ValidationError(SLIPS[found.slip], code=UNLIKELY, params=params)


def check_vessels(kitchen: Kitchen, entry: Entry) -> None:
    """Raise ValidationError for an act on a vessel that cannot be, by all that stands beside it.

    Judged is the entry, and what was written of a later time. What was impossible before, in the
    entry that is corrected or in a later one, may stay so.
    """
    touched = [each for each in (entry, entry.replaces) if each and each.kind in VESSELS]
    if not touched:
        return
    history = history_of(kitchen)
    fryers = joined_to(kitchen, {key for each in touched for key in fryers_of(each)})
    stands = core_entries(of_vessels(kitchen, fryers, VESSELS))
    own = f"#{entry.seq}"
    now = refusals(stands, history)
    if not now:
        return
    stood = [each for each in stands if each.ref != own]
    if entry.replaces and entry.replaces.kind in VESSELS:
        stood += core_entries(Entry.objects.filter(pk=entry.replaces.pk))
    before, refused = refusals(stood, history), now.pop(own, None)
    told_before = before.get(f"#{entry.replaces.seq}") if entry.replaces else None
    if refused and (told_before is None or told_before.code is not refused.code):
        raise ValidationError({refused.field or "fryer": words_of(refused)})
    if now.keys() - before.keys():
        undone = entry.kind == "undone"
        raise ValidationError(TURNED_IMPOSSIBLE if undone else {"happened_at": TURNED_IMPOSSIBLE})


def impossible(kitchen: Kitchen, told: Sequence[BookEntry]) -> dict[str, ValidationError]:
    """Return by their ``ref`` why some of many entries yet to be written cannot be, beside all that stands.

    One that cannot be is left out, and the rest judged without it. Where they make a later entry that stands
    impossible all of them before it are refused: which of them is wrong nobody knows.
    """
    own = {entry.ref: entry for entry in told if OF_VALUE[type(entry)].key in VESSELS}
    history, fryers = history_of(kitchen), [fryer.key for fryer in setup_of(kitchen).kitchen.fryers]
    stands = core_entries(of_vessels(kitchen, fryers, VESSELS))
    book, before = in_order([*stands, *own.values()]), refusals(stands, history)
    found: dict[str, ValidationError] = {}
    while True:
        turned: list[datetime] = []
        for entry, settings, account in accounts_of(book, history, without=found):
            refused = None if entry.ref in found or entry.ref in before else refusal(account, entry, settings)
            if refused and entry.ref in own:
                found[entry.ref] = words_of(refused)
            elif refused:
                turned.append(entry.at)
        if not turned:
            return found
        error = ValidationError({"happened_at": TURNED_IMPOSSIBLE})
        found = {ref: error for ref, entry in own.items() if entry.at <= max(turned)} | found


def refusals(entries: Sequence[BookEntry], history: History) -> dict[str, Refusal]:
    """Return why entries cannot be true, each where oil stands before it, by what names them."""
    told = (
        (entry.ref, refusal(account, entry, kitchen))
        for entry, kitchen, account in accounts_of(in_order(entries), history)
    )
    return {ref: refused for ref, refused in told if refused}


def words_of(refused: Refusal) -> ValidationError:
    """Return what somebody is told who writes what cannot be."""
    kg = None if refused.kg is None else number_format(round(refused.kg, 1))
    return ValidationError(WORDS[refused.code], code=refused.code.value, params={"kg": kg})
