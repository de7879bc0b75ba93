"""Everything that one entry holds, for whoever wants to see it all."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from kettlewell.book import Force
from kettlewell.book.kinds.in_ledger import RENEWED
from kettlewell.book.settings import WRITERS
from kettlewell.bridge.verdicts import told_message
from kettlewell.records.kinds import ANSWERS, FOOD_UNITS, OIL_UNITS, PAYLOADS
from kettlewell.records.models import Entry
from kettlewell.records.settings import Things, settings_of
from kettlewell.telling import N_, Reader
from kettlewell.web.account.people_forms import ROLES, SeatForm
from kettlewell.web.entry.names import Names
from kettlewell.web.entry.sentences import CONDITIONS, SHOWN, figure
from kettlewell.web.setup.facts import facts, name_of

Detail = tuple[str, str]

CHANCE = N_(
    "{percent} by the end of the coming service, {next} by the end of the one after; {risk} is accepted"
)
LEVEL = N_("{mean} % (± {sd})")
LIMIT = N_("unfit when {quantity} {unfit_when} {value} {unit} ({jurisdiction}, {force})")
OWN_LIMIT = N_("unfit when {quantity} {unfit_when} {value} {unit} (the kitchen's own limit)")


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictOfItsDay:
    """A verdict as it was told, in the reader's words; ``behind``: a replay ran meanwhile."""

    reason: str
    changes_if: str
    behind: bool
    facts: list[Detail]


def details_of(entry: Entry, names: Names, reader: Reader) -> list[Detail]:
    """Return what an entry says, field by field; a verdict is told as a verdict instead."""
    if entry.kind in ("verdict", "erased", "imported"):
        return []
    if entry.kind == "setting":
        thing, values = entry.payload["thing"], entry.payload.get("values") or {}
        told = set_facts(thing, values, settings_of(entry.kitchen, at_seq=entry.seq), reader)
        return [*renewed_facts(entry.payload), *told]
    fields = PAYLOADS[entry.kind].base_fields
    return [
        (str(fields[name].label), _shown(name, value, names, reader))
        for name, value in entry.payload.items()
        if fields[name].label and value not in (None, "", [])
    ]


def renewed_facts(payload: Mapping[str, Any]) -> list[Detail]:
    """Return what is new of somebody's access."""
    words = [_(word) for key, word in RENEWED if key in payload.get("renewed", ())]
    return [(_("Changed access"), ", ".join(words))] if words else []


def verdict_details(verdict: Entry, reader: Reader) -> VerdictOfItsDay:
    """Return a verdict with its probability, its limits and what it was told from."""
    told = verdict.payload
    probabilities = reader.say(
        CHANCE,
        percent=reader.chance(float(told["passing_probability"])),
        next=reader.chance(float(told["passing_probability_next"])),
        risk=reader.percent(float(told["risk"])),
    )
    level = reader.say(LEVEL, mean=float(told["tpc_mean_pct"]), sd=float(told["tpc_sd_pct"]))
    limits = [
        reader.say(
            OWN_LIMIT if limit["jurisdiction"] == Force.HOUSE else LIMIT,
            **{**limit, "value": figure(limit["value"], reader)},
        )
        for limit in told["limits"]
    ]
    facts = [
        (_("Chance of going over a limit"), probabilities),
        (_("Polar compounds, as the program believed"), level),
        (_("Limits it was held against"), "; ".join(limits)),
        (_("Computed from the entries up to"), told["head_seq"]),
        (_("Version of the mathematics"), told["model_version"]),
    ]
    return VerdictOfItsDay(
        reason=reader.tell(told_message(told["reason"])),
        changes_if=reader.tell(told_message(told["changes_if"])),
        behind=bool(told.get("recomputing")),
        facts=facts,
    )


def settings_of_its_day(verdict: Entry, reader: Reader) -> list[tuple[str, list[Detail]]]:
    """Return the settings a verdict was told from, as they were then, thing by thing."""
    things = settings_of(verdict.kitchen, at_seq=int(verdict.payload["head_seq"]))
    return [
        (name_of(thing, key, values), set_facts(thing, values, things, reader))
        for thing, of_thing in things.items()
        if thing not in WRITERS
        for key, values in of_thing.items()
    ]


def set_facts(thing: str, values: Mapping[str, Any], things: Things, reader: Reader) -> list[Detail]:
    """Return what a thing is set to; of a person, what the seat gives; of a tablet nothing."""
    if thing not in WRITERS:
        return [(fact.label, fact.text) for fact in facts(thing, values, things, reader)]
    if not values or thing == "tablets":
        return []
    fields, last = SeatForm.base_fields, values.get("ends_on")
    told = {
        "role": str(dict(ROLES)[values["role"]]),
        "ends_on": reader.written_day(date.fromisoformat(last)) if last else "",
        "trained_to_drain": _("Yes") if values.get("trained_to_drain") else _("No"),
    }
    return [(str(fields[name].label), text) for name, text in told.items() if text]


def _shown(name: str, value: Any, names: Names, reader: Reader) -> str:  # noqa: ANN401 - JSON
    if name in SHOWN:
        return SHOWN[name](value, names, reader)
    if name in CONDITIONS:
        return str(dict(ANSWERS).get(value, value))
    if name == "unit":
        return str({**dict(OIL_UNITS), **dict(FOOD_UNITS)}.get(value, value))
    if isinstance(value, bool):
        return _("Yes") if value else _("No")
    return str(value)
