"""What goes for all fryers of a kitchen: verdicts together, limits, cautions, how to read."""

from collections.abc import Iterable, Iterator, Sequence

from kettlewell.book import Kitchen, find
from kettlewell.core.limits import FryerLimits, LimitStatus
from kettlewell.core.outlook.values import Assessment
from kettlewell.telling.cautions import caution_message
from kettlewell.telling.limits import limit_messages, note_message
from kettlewell.telling.message import N_
from kettlewell.telling.verdicts import named, verdict_words
from kettlewell.telling.words import Reader

ADVISES = N_(
    "Local codes and the competent authority come first. The program advises; the person in charge answers."
)


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
        notes = tuple(note for note in assessment.notes if note.status is not LimitStatus.WARNING)
        for message in limit_messages(FryerLimits(oil=assessment.limits, notes=notes)):
            fryers.setdefault(reader.tell(message), []).append(assessment.fryer)
    for sentence, keys in fryers.items():
        if len(keys) == len(assessments):
            yield sentence
        else:
            names = ", ".join(named(find(kitchen.fryers, key)) for key in keys)
            yield f"{names}: {sentence}"


def warnings(assessment: Assessment, reader: Reader) -> list[str]:
    """Return where the fryer itself is set against a limit on how oil is used."""
    return [
        reader.tell(note_message(note)) for note in assessment.notes if note.status is LimitStatus.WARNING
    ]


def cautions(assessments: Iterable[Assessment], reader: Reader) -> list[str]:
    """Return every caution once, and who answers."""
    in_use = [assessment for assessment in assessments if assessment.in_use]
    told = [reader.tell(caution_message(caution)) for assessment in in_use for caution in assessment.cautions]
    return list(dict.fromkeys([*told, reader.say(ADVISES)]))
