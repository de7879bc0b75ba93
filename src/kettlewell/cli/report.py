"""The whole answer to `assess`: all fryers, most urgent first, then what holds for all of them."""

from collections.abc import Iterable, Iterator

from kettlewell.book import Kitchen
from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT, strip, strip_without
from kettlewell.core import Answer
from kettlewell.telling import N_, Reader
from kettlewell.telling.together import cautions, limits, summary


def report(
    found: Answer, kitchen: Kitchen, reader: Reader, *, width: int, unicode: bool = True
) -> Iterator[Line]:
    """Yield every line of the answer; fryers that have none stand behind the others."""
    assessments = found.assessments
    yield Line(text=f"{kitchen.name}, {reader.date(reader.now)}", weight=Weight.BOLD)
    yield from (Line(text=text) for text in summary(assessments, kitchen, reader))
    if found.unanswered:
        names = ", ".join(unanswered.name for unanswered in found.unanswered)
        yield Line(text=reader.say(N_("No answer yet: {fryers}"), fryers=names))
    for assessment in assessments:
        yield Line(text="")
        yield from strip(assessment, kitchen, reader, width=width, unicode=unicode)
    for unanswered in found.unanswered:
        yield Line(text="")
        yield from strip_without(unanswered, kitchen, reader, width=width)
    yield from _closing(N_("Limits"), limits(assessments, kitchen, reader), reader)
    yield from _closing(N_("Safety"), cautions(assessments, reader), reader)


def _closing(title: str, sentences: Iterable[str], reader: Reader) -> Iterator[Line]:
    yield Line(text="")
    yield Line(text=reader.say(title), weight=Weight.BOLD)
    yield from (Line(text=sentence, indent=INDENT) for sentence in sentences)
