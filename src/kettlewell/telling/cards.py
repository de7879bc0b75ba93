"""The wall card, in sentences: what every sheet says, in its order, on a page or in plain text."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from kettlewell.book import Kitchen, find
from kettlewell.core import Answer
from kettlewell.core.decision import VerdictKey
from kettlewell.core.metering.checks import DecisionKey
from kettlewell.core.outlook.meters import MeterReport
from kettlewell.core.outlook.values import Assessment, CardLine, Caution, WallCard
from kettlewell.telling.cautions import caution_message
from kettlewell.telling.message import N_, Message
from kettlewell.telling.meters import NO_METER, is_due
from kettlewell.telling.together import ADVISES
from kettlewell.telling.unanswered import NO_ANSWER, lacking
from kettlewell.telling.verdicts import NOT_IN_USE, is_recalled, named
from kettlewell.telling.words import Reader

TITLE = N_("Wall card, {kitchen}, for {service}")
TITLE_LATER = N_("Wall card, {kitchen}, for {service}, from {since} on")
MADE = N_("Made {at}.")
VALID = N_("Valid until {until}. Then take it down.")
AS_USUAL = N_(
    "Counts on what was written by {at}, and on usual services since. "
    "If the oil was changed or topped up much, make a new card."
)
NAME_UNTIL = N_("{name}, valid until {until}")
HOT_BY_HAND = N_(
    "Hot oil burns: dry gloves, face back, dry probe. Switch off before draining. Only trained people drain, "
    "at 40 °C or below. Never water on burning oil."
)
HOT_BY_PUMP = N_(
    "Hot oil burns: dry gloves, face back, dry probe. Switch off before draining. Only trained people pump, "
    "in dry boots. Never water on burning oil."
)
SPOILED = N_(
    "Oil that smokes, foams, smells or looks spoiled: do not fry in it, change it. No number overrides that."
)
HOW = N_(
    "Read before you fry: no food in the bath, no bubbles rising, the probe dry and away from metal. "
    "Measured again and still the same: call the chef."
)
FIT = N_("For {meter}, fit for use when checked {at}.")
UNCHECKED = N_("For {meter}, not checked yet.")
CHECK_DUE = N_("For {meter}. Check it first: its check is due.")
REPEAT = N_("For {meter}. Repeat its check before you rely on it.")
FOUND_OFF = N_("For {meter}, which was found off: adjust it and check it again before you rely on it.")
TOO_FAR_OFF = N_("For {meter}, which is too far off: do not use it. Smell the oil and call the chef.")


class Stretch(StrEnum):
    """Which readings a line is about; plain: none, for nothing can be read."""

    BELOW = "below"
    BETWEEN = "between"
    FROM = "from"
    ANY = "any"
    PLAIN = "plain"


READINGS = {
    Stretch.BELOW: N_("below {to_pct} %"),
    Stretch.BETWEEN: N_("{from_pct} % to below {to_pct} %"),
    Stretch.FROM: N_("{from_pct} % or more"),
    Stretch.ANY: N_("of any value"),
}
ACTS = {
    VerdictKey.CHANGE_BEFORE: N_("change the oil before frying"),
    VerdictKey.CHANGE_AFTER: N_("change the oil after this service"),
    VerdictKey.MEASURE_AGAIN: N_("measure again"),
    VerdictKey.FRY_ON: N_("fry on"),
}
RECALLED = N_("do not fry: this oil was recalled; ask the person in charge")
# a bath drained by hand is changed once it is cold
COLD = N_("do not fry, switch it off; change the oil once it is cold")
TOO_LOW = N_("measure again, lower than expected")
SAID = N_("Reading {reading}: {act}.")
STRETCHES = {  # by: from the lowest reading on, up to the highest
    (True, True): Stretch.ANY,
    (True, False): Stretch.BELOW,
    (False, True): Stretch.FROM,
    (False, False): Stretch.BETWEEN,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of a card: a reading and what to do then; no reading where nothing can be read."""

    reading: str
    act: str

    def sentence(self, reader: Reader) -> str:
        """Return the line as a sentence."""
        said = reader.say(SAID, reading=self.reading, act=self.act) if self.reading else f"{self.act}."
        return said[:1].upper() + said[1:]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfBath:
    """What a card says of one fryer; its name also says how long, where that is longer than the sheet."""

    key: str
    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of a wall card, in the order in which it is read; ``fit`` is of the meter."""

    title: str
    valid: str
    caution: str
    spoiled: str
    meter: str
    fit: bool
    how: str
    baths: tuple[OfBath, ...]
    made: str
    below: tuple[str, ...]


def stretch_of(line: CardLine, card: WallCard) -> Stretch:
    """Return which readings a line of a card is about."""
    if not card.by_reading:
        return Stretch.PLAIN
    return STRETCHES[line.from_pct is None, line.to_pct is None]


def row_of(line: CardLine, card: WallCard, reader: Reader) -> Row:
    """Return a line of a card; of a low reading to be taken again also why."""
    ends = (("from_pct", line.from_pct), ("to_pct", line.to_pct))
    stretch = stretch_of(line, card)
    values = {name: pct for name, pct in ends if pct is not None}
    text = ACTS[line.key]
    if line.key is VerdictKey.CHANGE_BEFORE and card.by_hand:
        text = COLD
    elif line.key is VerdictKey.MEASURE_AGAIN and is_low(line, card):
        text = TOO_LOW
    reading = "" if stretch is Stretch.PLAIN else reader.say(READINGS[stretch], **values)
    return Row(reading=reading, act=reader.say(text))


def is_low(line: CardLine, card: WallCard) -> bool:
    """Tell whether a line is of the lowest readings, while a higher one would let the bath fry on."""
    return line is card.lines[0] and any(higher.key is VerdictKey.FRY_ON for higher in card.lines[1:])


def line_message(line: CardLine, card: WallCard, reader: Reader) -> Message:
    """Return a line of a card as it is told to programs."""
    row = row_of(line, card, reader)
    return Message(text=SAID, values={"reading": row.reading, "act": row.act})


def rows_of(card: WallCard, reader: Reader) -> tuple[Row, ...]:
    """Return the lines of a card."""
    return tuple(row_of(line, card, reader) for line in card.lines)


def sheets_of(
    answers: Sequence[Answer], kitchen: Kitchen, report: MeterReport | None, reader: Reader
) -> list[Sheet]:
    """Return the sheets of a card, told from the answers of ``card_sheets``."""
    return [
        sheet_of(found, kitchen, report, reader, later=number > 0)
        for number, found in enumerate(answers)
        if found.assessments
    ]


def sheet_of(
    found: Answer, kitchen: Kitchen, report: MeterReport | None, reader: Reader, *, later: bool
) -> Sheet:
    """Return one sheet; ``later`` says whether it begins only when the one before has expired."""
    first = min(found.assessments, key=lambda told: told.card.expires_at)
    made, by_hand = reader.date(reader.now), any(told.card.by_hand for told in found.assessments)
    return Sheet(
        title=reader.say(
            TITLE_LATER if later else TITLE,
            kitchen=kitchen.name,
            service=first.forecast[0].name,
            since=first.at,
        ),
        valid=reader.say(VALID, until=reader.date(first.card.expires_at)),
        caution=reader.say(HOT_BY_HAND if by_hand else HOT_BY_PUMP),
        spoiled=reader.say(SPOILED),
        meter=meter_of_card(report, reader),
        fit=is_fit(report, reader),
        how=reader.say(HOW) if any(told.metered for told in found.assessments) else "",
        baths=tuple(baths_of(found, first, kitchen, reader)),
        made=" ".join([reader.say(MADE, at=made), *([reader.say(AS_USUAL, at=made)] if later else [])]),
        below=tuple(told_below(found.assessments, reader)),
    )


def baths_of(found: Answer, first: Assessment, kitchen: Kitchen, reader: Reader) -> Iterator[OfBath]:
    """Yield what a sheet says of each fryer in the kitchen's order; ``first`` is whose card expires first."""
    told = {assessment.fryer: assessment for assessment in found.assessments}
    lacks = {unanswered.fryer: unanswered for unanswered in found.unanswered}
    for key in (fryer.key for fryer in kitchen.fryers if fryer.key in told.keys() | lacks.keys()):
        name = named(find(kitchen.fryers, key))
        if key in lacks:
            lacked = [reader.say(NO_ANSWER), *lacking(lacks[key], kitchen, reader)]
            rows = tuple(Row(reading="", act=text.removesuffix(".")) for text in lacked)
            yield OfBath(key=key, name=name, rows=rows)
        elif not told[key].in_use or is_recalled(told[key]):
            said = RECALLED if told[key].in_use else NOT_IN_USE
            yield OfBath(key=key, name=name, rows=(Row(reading="", act=reader.say(said)),))
        else:
            card = told[key].card
            if card.expires_at > first.card.expires_at:
                name = reader.say(NAME_UNTIL, name=name, until=card.expires_at)
            yield OfBath(key=key, name=name, rows=rows_of(card, reader))


def told_below(assessments: Sequence[Assessment], reader: Reader) -> Iterator[str]:
    """Yield what stands below the fryers: how baths are drained, burns, fire, and who answers."""
    by_hand = {assessment.card.by_hand for assessment in assessments}
    for caution, by in ((Caution.DRAIN_BY_HAND, True), (Caution.DRAIN_BY_PUMP, False)):
        if by in by_hand:
            yield reader.tell(caution_message(caution))
    for caution in (Caution.BURNS, Caution.FIRE):
        yield reader.tell(caution_message(caution))
    yield reader.say(ADVISES)


def meter_of_card(report: MeterReport | None, reader: Reader) -> str:
    """Return which meter a card is for, and what to do first where it is not fit; None: none is in use."""
    if report is None:
        return reader.say(NO_METER)
    at = reader.date(report.last.check.at) if report.last else ""
    return reader.say(meter_text(report, reader), meter=named(report.meter), at=at)


def is_fit(report: MeterReport | None, reader: Reader) -> bool:
    """Tell whether a reading may be taken at once, with nothing to do at the meter first."""
    return report is not None and meter_text(report, reader) in (FIT, UNCHECKED)


def meter_text(report: MeterReport, reader: Reader) -> str:
    """Return the text on a meter in use."""
    decided = report.last.decision.key if report.last else None
    if report.found_off:
        return TOO_FAR_OFF if decided is DecisionKey.OUT else FOUND_OFF
    if decided is DecisionKey.REPEAT:
        return REPEAT
    if is_due(report, reader):
        return CHECK_DUE
    return FIT if decided else UNCHECKED
