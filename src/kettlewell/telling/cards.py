"""The lines of a wall card, in sentences."""

from collections.abc import Iterator
from enum import StrEnum

from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import CardLine, WallCard
from kettlewell.telling.message import N_, Message


class Stretch(StrEnum):
    """Which readings a line is about; plain: none, for nothing can be read."""

    BELOW = "below"
    BETWEEN = "between"
    FROM = "from"
    ANY = "any"
    PLAIN = "plain"


BELOW = {
    VerdictKey.CHANGE_BEFORE: N_("Reading below {to_pct} %: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading below {to_pct} %: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Reading below {to_pct} %: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Reading below {to_pct} %: fry on."),
}
BETWEEN = {
    VerdictKey.CHANGE_BEFORE: N_("Reading from {from_pct} % to below {to_pct} %: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading from {from_pct} % to below {to_pct} %: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_(
        "Reading from {from_pct} % to below {to_pct} %: measure again; if it stays, call the chef."
    ),
    VerdictKey.FRY_ON: N_("Reading from {from_pct} % to below {to_pct} %: fry on."),
}
FROM = {
    VerdictKey.CHANGE_BEFORE: N_("Reading {from_pct} % or more: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Reading {from_pct} % or more: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Reading {from_pct} % or more: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Reading {from_pct} % or more: fry on."),
}
PLAIN = {
    VerdictKey.CHANGE_BEFORE: N_("Change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Measure again before frying."),
    VerdictKey.FRY_ON: N_("Fry on."),
}
ANY = {
    VerdictKey.CHANGE_BEFORE: N_("Whatever the reading: change before frying."),
    VerdictKey.CHANGE_AFTER: N_("Whatever the reading: change after this service."),
    VerdictKey.MEASURE_AGAIN: N_("Whatever the reading: measure again; if it stays, call the chef."),
    VerdictKey.FRY_ON: N_("Whatever the reading: fry on."),
}
# a bath drained by hand is changed once it is cold
COLD = {
    Stretch.BELOW: N_("Reading below {to_pct} %: do not fry, switch it off; change the oil once it is cold."),
    Stretch.BETWEEN: N_(
        "Reading from {from_pct} % to below {to_pct} %: do not fry, switch it off; "
        "change the oil once it is cold."
    ),
    Stretch.FROM: N_(
        "Reading {from_pct} % or more: do not fry, switch it off; change the oil once it is cold."
    ),
    Stretch.PLAIN: N_("Do not fry: switch it off; change the oil once it is cold."),
    Stretch.ANY: N_("Whatever the reading: do not fry, switch it off; change the oil once it is cold."),
}
TEXTS = {
    Stretch.BELOW: BELOW,
    Stretch.BETWEEN: BETWEEN,
    Stretch.FROM: FROM,
    Stretch.ANY: ANY,
    Stretch.PLAIN: PLAIN,
}
STRETCHES = {  # by: from the lowest reading on, up to the highest
    (True, True): Stretch.ANY,
    (True, False): Stretch.BELOW,
    (False, True): Stretch.FROM,
    (False, False): Stretch.BETWEEN,
}


def stretch_of(line: CardLine, card: WallCard) -> Stretch:
    """Return which readings a line of a card is about."""
    if not card.by_reading:
        return Stretch.PLAIN
    return STRETCHES[line.from_pct is None, line.to_pct is None]


def line_message(line: CardLine, card: WallCard) -> Message:
    """Return a line of a card."""
    ends = (("from_pct", line.from_pct), ("to_pct", line.to_pct))
    values = {name: pct for name, pct in ends if pct is not None}
    stretch = stretch_of(line, card)
    cold = card.by_hand and line.key is VerdictKey.CHANGE_BEFORE
    return Message(text=COLD[stretch] if cold else TEXTS[stretch][line.key], values=values)


def card_messages(card: WallCard) -> Iterator[Message]:
    """Yield the lines of a card."""
    return (line_message(line, card) for line in card.lines)
