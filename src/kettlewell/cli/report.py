"""The whole answer to `assess`: all fryers, most urgent first, then what holds for all of them."""

from collections.abc import Iterable, Iterator, Sequence

from kettlewell.book import Kitchen
from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT, strip
from kettlewell.core.outlook.values import Assessment
from kettlewell.telling import N_, Reader
from kettlewell.telling.together import cautions, limits, summary


def report(
    assessments: Sequence[Assessment], kitchen: Kitchen, reader: Reader, *, width: int, unicode: bool = True
) -> Iterator[Line]:
    """Yield every line of the answer."""
    yield Line(text=f"{kitchen.name}, {reader.date(reader.now)}", weight=Weight.BOLD)
    yield from (Line(text=text) for text in summary(assessments, kitchen, reader))
    for assessment in assessments:
        yield Line(text="")
        yield from strip(assessment, kitchen, reader, width=width, unicode=unicode)
    yield from _closing(N_("Limits"), limits(assessments, kitchen, reader), reader)
    yield from _closing(N_("Take care"), cautions(assessments, reader), reader)


def _closing(title: str, sentences: Iterable[str], reader: Reader) -> Iterator[Line]:
    yield Line(text="")
    yield Line(text=reader.say(title), weight=Weight.BOLD)
    yield from (Line(text=sentence, indent=INDENT) for sentence in sentences)
