"""The whole answer to `assess`: all fryers, most urgent first, then what holds for all of them."""

from collections.abc import Iterable, Iterator, Sequence

from kettlewell.cli.screen import Line, Weight
from kettlewell.cli.strip import INDENT, named, strip, verdict_words
from kettlewell.cli.words import Reader
from kettlewell.core.book import Kitchen, find
from kettlewell.core.limits import LimitStatus
from kettlewell.core.outlook.values import Assessment
from kettlewell.core.words import N_

ADVISES = N_(
    "Local codes and the competent authority come first. The program advises; the person in charge answers."
)


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


def summary(assessments: Iterable[Assessment], kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield one line a verdict with the fryers it goes for, in the order given."""
    fryers: dict[str, list[str]] = {}
    for assessment in assessments:
        name = find(kitchen.fryers, assessment.fryer).name
        fryers.setdefault(verdict_words(assessment, reader), []).append(name)
    for words, names in fryers.items():
        yield f"{words}: {', '.join(names)}"


def limits(assessments: Sequence[Assessment], kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield what was made of each limit, once, naming the fryers when it is not all of them."""
    fryers: dict[str, list[str]] = {}
    for assessment in assessments:
        for limit in assessment.limits:
            if limit.status is not LimitStatus.WARNING:
                fryers.setdefault(reader.tell(limit.message), []).append(assessment.fryer)
    for sentence, keys in fryers.items():
        if len(keys) == len(assessments):
            yield sentence
        else:
            names = ", ".join(named(find(kitchen.fryers, key)) for key in keys)
            yield f"{names}: {sentence}"


def cautions(assessments: Iterable[Assessment], reader: Reader) -> list[str]:
    """Return every caution once, and who answers."""
    in_use = [assessment for assessment in assessments if assessment.in_use]
    told = [reader.tell(caution) for assessment in in_use for caution in assessment.cautions]
    return list(dict.fromkeys([*told, reader.say(ADVISES)]))


def _closing(title: str, sentences: Iterable[str], reader: Reader) -> Iterator[Line]:
    yield Line(text="")
    yield Line(text=reader.say(title), weight=Weight.BOLD)
    yield from (Line(text=sentence, indent=INDENT) for sentence in sentences)
