"""The wall card in plain text: to be printed, pinned up, and taken down when it expires."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Kitchen, find
from kettlewell.cli.meters import needs_care
from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT, without
from kettlewell.core import Answer
from kettlewell.core.outlook.meters import MeterReport
from kettlewell.telling import N_, Reader
from kettlewell.telling.cards import card_messages
from kettlewell.telling.meters import of_the_card
from kettlewell.telling.together import ADVISES, HOW, first_of_all
from kettlewell.telling.verdicts import NOT_IN_USE, named


def wall_card(
    found: Answer, reports: Sequence[MeterReport], kitchen: Kitchen, reader: Reader
) -> Iterator[Line]:
    """Yield the lines of the card, fryers in the kitchen's own order; those without an answer come last."""
    assessments = found.assessments
    in_use = {assessment.fryer: assessment.in_use for assessment in assessments}
    cards = {assessment.fryer: assessment.card for assessment in assessments}
    expires = min(card.expires_at for card in cards.values())
    yield Line(text=reader.say(N_("Wall card, {kitchen}"), kitchen=kitchen.name), weight=Weight.BOLD)
    yield Line(text=reader.say(N_("Made {at}"), at=reader.date(reader.now)))
    expiry = reader.say(N_("Good until {at}; then take it down"), at=reader.date(expires))
    yield Line(text=expiry, weight=Weight.BOLD)
    yield Line(text="")
    yield from (Line(text=text, weight=Weight.BOLD) for text in first_of_all(assessments, reader))
    yield Line(text="")
    yield from _meter(reports, reader)
    if any(assessment.metered for assessment in assessments):
        yield Line(text=reader.say(HOW))
    for fryer in kitchen.fryers:
        if fryer.key not in cards:
            continue
        yield Line(text="")
        yield Line(text=named(find(kitchen.fryers, fryer.key)), weight=Weight.BOLD)
        if not in_use[fryer.key]:
            yield Line(text=reader.say(NOT_IN_USE), indent=INDENT)
            continue
        for message in card_messages(cards[fryer.key]):
            yield Line(text=reader.tell(message), indent=INDENT)
        if (until := cards[fryer.key].expires_at) > expires:
            yield Line(text=reader.say(N_("These hold until {at}."), at=reader.date(until)), indent=INDENT)
    for unanswered in found.unanswered:
        yield Line(text="")
        yield Line(text=named(find(kitchen.fryers, unanswered.fryer)), weight=Weight.BOLD)
        yield from without(unanswered, kitchen, reader)
    yield Line(text="")
    yield Line(text=reader.say(ADVISES))


def _meter(reports: Sequence[MeterReport], reader: Reader) -> Iterator[Line]:
    """Yield which meter the card is for, how its last check stood, and when the next is due."""
    in_use = [each for each in reports if each.in_use]
    report = min(in_use, key=lambda each: each.found_off, default=None)
    care = report is None or needs_care(report, reader)
    for text in of_the_card(report, reader):
        yield Line(text=text, weight=Weight.BOLD if care else Weight.PLAIN)
