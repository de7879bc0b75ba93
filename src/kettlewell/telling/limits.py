"""What was made of a limit, in a sentence."""

from collections.abc import Iterator

from kettlewell.book import Limit
from kettlewell.core.limits import FryerLimits, LimitNote, NoteCode, OilLimit
from kettlewell.telling.message import N_, Message, tidy

NOTHING_JUDGED = N_(
    "No limit judges the oil of this fryer. Set a limit of your own on polar compounds, "
    "or confirm one that is shown as unverified."
)
JUDGED_TPC = N_("Judged: polar compounds, limit {value} %.")
JUDGED_POLYMERS = N_(
    "Judged through polar compounds: in this oil {value} % polymers is about {tpc_pct} % polar compounds "
    "(± {tpc_u_pct})."
)
JUDGED_POLYMERS_LABORATORY = N_(
    "Judged through polar compounds: by your laboratory's figures {value} % polymers is about {tpc_pct} % "
    "polar compounds in this oil (± {tpc_u_pct})."
)
JUDGED_POLYMERS_ROUGHLY = N_(
    "Judged through polar compounds: in this oil {value} % polymers is about {tpc_pct} % polar compounds "
    "(± {tpc_u_pct}); a rough figure, derived and not measured."
)
NOTES = {
    NoteCode.NONE_FOUND: N_("No number was found for {quantity} in {jurisdiction}. Set a limit of your own."),
    NoteCode.NONE_FOUND_OWN_SET: N_(
        "No number was found for {quantity} in {jurisdiction}; your own limit is used."
    ),
    NoteCode.UNVERIFIED: N_(
        "Not judged: {quantity}. The number {value} {unit} is unverified: confirm before relying on it, "
        "then set it as a limit of your own."
    ),
    NoteCode.NOT_MEASURED: N_(
        "Not judged: {quantity} (limit {value} {unit}). It cannot be told from polar compounds."
    ),
    NoteCode.LABORATORY_DECIDES: N_(
        "Not judged: {quantity} (limit {value} {unit}). Polar compounds screen; the laboratory decides. "
        "Ask it for polymers with the next sample."
    ),
    NoteCode.FOODS_UNKNOWN: N_(
        "Not judged: {quantity}. Nothing says what this fryer fries; fry potatoes below {value} °C."
    ),
    NoteCode.METER_SCREENS: N_(
        "{jurisdiction}: a hand meter only screens; past the limit, the laboratory decides."
    ),
    NoteCode.NO_TOP_UP: N_("{jurisdiction}: the rule advises against topping up used oil."),
    NoteCode.KEPT: N_("Kept: set to {set_temp_c} °C ({quantity}, limit {value} °C)."),
}
TOO_HOT = {
    ">": N_("Set to {set_temp_c} °C: {quantity} may not be above {value} °C. Turn it down."),
    ">=": N_("Set to {set_temp_c} °C: {quantity} must be below {value} °C. Turn it down."),
}


def oil_limit_message(judged: OilLimit) -> Message:
    """Return that a limit judges the oil, and how."""
    text = JUDGED_TPC
    if judged.mapped:
        text = JUDGED_POLYMERS_ROUGHLY if judged.rough else JUDGED_POLYMERS
        if judged.by_laboratory:
            text = JUDGED_POLYMERS_LABORATORY
    return _message(judged.limit, text, tpc_pct=judged.tpc_pct, tpc_u_pct=judged.tpc_u_pct)


def note_message(note: LimitNote) -> Message:
    """Return what was made of a limit that does not judge the oil."""
    text = TOO_HOT[note.limit.unfit_when] if note.code is NoteCode.TOO_HOT else NOTES[note.code]
    numbers = {} if note.set_temp_c is None else {"set_temp_c": note.set_temp_c}
    return _message(note.limit, text, **numbers)


def limit_messages(limits: FryerLimits) -> Iterator[Message]:
    """Yield what was made of each limit, of those that judge the oil first."""
    yield from (oil_limit_message(judged) for judged in limits.oil)
    yield from (note_message(note) for note in limits.notes)


def _message(limit: Limit, text: str, **numbers: float) -> Message:
    if limit.value is not None:
        numbers["value"] = limit.value
    unit = limit.unit.replace("degC", "°C")
    words = {"quantity": limit.quantity, "unit": unit, "jurisdiction": limit.jurisdiction}
    return Message(text=text, values={**words, **{name: tidy(number) for name, number in numbers.items()}})
