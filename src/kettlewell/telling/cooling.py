"""When a bath may be drained by hand, and what to mind before anything else is done."""

from collections.abc import Mapping
from datetime import datetime, timedelta

from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Assessment, Caution
from kettlewell.telling.message import N_
from kettlewell.telling.words import Reader

COOLS = N_(
    "Drain it only at 40 °C or below: that takes {low_h} to {high_h} hours from when it was switched off."
)
COOLS_SINCE = N_(
    "Switched off {off}, it may be cool enough to drain from about {first} to {last}: "
    "check that it is at 40 °C or below."
)
DRAINS = (VerdictKey.CHANGE_BEFORE, VerdictKey.CHANGE_AFTER)
IF_UNTRAINED = N_("If you are not trained to drain oil, call the chef.")
AT_ONCE = {
    Caution.DRAIN_BY_HAND: N_(
        "Hot oil burns. Switch it off first. Drained only at 40 °C or below, by trained people only."
    ),
    Caution.DRAIN_BY_PUMP: N_(
        "Hot oil burns. Switch it off first. Only people trained to drain pump it, "
        "in dry boots and gloves, face back."
    ),
    Caution.PROBE: N_("Hot oil burns. Wear dry gloves, keep your face back, dry the probe."),
}


def cools(assessment: Assessment, reader: Reader, *, off_at: datetime | None = None) -> str:
    """Return when a bath may be drained by hand; "" where it need not cool.

    ``off_at`` is since when it should be off, where the book itself does not say.
    """
    cooling = assessment.cooling
    if cooling is None:
        return ""
    off = cooling.off_at or off_at
    if off is None:
        return reader.say(COOLS, low_h=cooling.low_h, high_h=cooling.high_h)
    first, last = (off + timedelta(hours=hours) for hours in (cooling.low_h, cooling.high_h))
    return reader.say(COOLS_SINCE, off=off, first=first, last=last)


OFF_FIRST = N_("Hot oil burns. Switch it off first.")
BRIEFLY = {
    Caution.DRAIN_BY_HAND: OFF_FIRST,
    Caution.DRAIN_BY_PUMP: OFF_FIRST,
    Caution.PROBE: N_("Hot oil burns. Dry gloves, dry probe."),
}


def at_once(assessment: Assessment, reader: Reader, texts: Mapping[Caution, str] = AT_ONCE) -> str:
    """Return the one caution that stands right under a verdict, before any act; "" where none is ordered."""
    if not assessment.in_use and assessment.cooling is None:
        return ""
    return next((reader.say(texts[caution]) for caution in assessment.cautions if caution in texts), "")


def to_be_drained(assessment: Assessment) -> bool:
    """Tell whether a bath is to be drained: now, once it is cold, or after the coming service."""
    return assessment.cooling is not None or (assessment.in_use and assessment.verdict.key in DRAINS)


def if_untrained(assessment: Assessment, reader: Reader) -> str:
    """Return whom to call before a bath is drained, whoever reads this; "" where it need not be."""
    return reader.say(IF_UNTRAINED) if to_be_drained(assessment) else ""
