"""One fryer as a strip of lines: what to do, why, how long it lasts, and its life line."""

from collections.abc import Iterator, Sequence

from kettlewell.book import Fryer, Kitchen, find
from kettlewell.cli.lifeline import ASCII, UNICODE, draw
from kettlewell.cli.screen import Line, Weight
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.values import Assessment, Flag, Unanswered
from kettlewell.marks.lifeline import Labels, LifeLine
from kettlewell.telling import N_, Reader
from kettlewell.telling.allergens import bath_warnings, take_over
from kettlewell.telling.cooling import at_once, cools, if_untrained
from kettlewell.telling.flags import flag_message
from kettlewell.telling.reasons import reason_message
from kettlewell.telling.together import warnings
from kettlewell.telling.unanswered import NO_ANSWER, lacking
from kettlewell.telling.verdicts import (
    AGE_UNKNOWN,
    age_known,
    countable,
    limit_label,
    lowest_limit,
    named,
    next_act,
    picture_in_words,
    questions,
    services_left,
    verdict_words,
    why,
)

INDENT = 3
WEIGHTS = {
    VerdictKey.CHANGE_BEFORE: Weight.REVERSED,
    VerdictKey.CHANGE_AFTER: Weight.BOLD,
    VerdictKey.MEASURE_AGAIN: Weight.BOLD,
    VerdictKey.FRY_ON: Weight.PLAIN,
}


def strip(
    assessment: Assessment, kitchen: Kitchen, reader: Reader, *, width: int, unicode: bool = True
) -> Iterator[Line]:
    """Yield the lines of one fryer."""
    fryer = find(kitchen.fryers, assessment.fryer)
    verdict = assessment.verdict
    changes = verdict.key in (VerdictKey.CHANGE_BEFORE, VerdictKey.CHANGE_AFTER)
    urgent = changes and assessment.in_use
    yield _heading(fryer, kitchen, width=width, sign="━" if urgent else "─")
    words = verdict_words(assessment, reader)
    if not assessment.in_use:
        yield _told(words)
        yield _told(reader.tell(reason_message(verdict.reason)))
        yield from _cooling(assessment, kitchen, reader)
        return
    yield Line(text=words.upper() if urgent else words, weight=WEIGHTS[verdict.key], indent=INDENT)
    if caution := at_once(assessment, reader):
        yield Line(text=caution, weight=Weight.BOLD, indent=INDENT)
    asked = [flag for flag in assessment.flags if flag not in questions(assessment)]
    yield _told(f"{why(assessment, reader)}{_where(asked)}")
    if countable(assessment):
        yield _told(services_left(assessment, reader))
    yield _told(next_act(assessment, reader))
    yield from _cooling(assessment, kitchen, reader)
    if age_known(assessment):
        yield from _life_line(assessment, reader, width=width, unicode=unicode)
    else:
        yield _told(reader.say(AGE_UNKNOWN))
    for flag in questions(assessment):
        what = f"{reader.tell(flag_message(flag))}{_where([flag])}"
        yield _told(reader.say(N_("Please check: {what}"), what=what))
    yield from (_told(warning) for warning in warnings(assessment, reader))
    yield from (_told(warning) for warning in bath_warnings(assessment, kitchen, reader))


def _cooling(assessment: Assessment, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    told = (
        cools(assessment, reader),
        if_untrained(assessment, reader),
        take_over(assessment, kitchen, reader),
    )
    yield from (_told(text) for text in told if text)


def strip_without(unanswered: Unanswered, kitchen: Kitchen, reader: Reader, *, width: int) -> Iterator[Line]:
    """Yield the lines of a fryer that has no answer."""
    yield _heading(find(kitchen.fryers, unanswered.fryer), kitchen, width=width, sign="─")
    yield from without(unanswered, kitchen, reader)


def without(unanswered: Unanswered, kitchen: Kitchen, reader: Reader) -> Iterator[Line]:
    """Yield that a fryer has no answer, and why."""
    yield Line(text=reader.say(NO_ANSWER), indent=INDENT, weight=Weight.BOLD)
    yield from (_told(text) for text in lacking(unanswered, kitchen, reader))


def _heading(fryer: Fryer, kitchen: Kitchen, *, width: int, sign: str) -> Line:
    foods = ", ".join(find(kitchen.products, key).name for key in fryer.fries)
    title = f"{sign}{sign} {named(fryer)} "
    if foods:
        title += f"{sign} {foods} "
    return Line(text=title + sign * (width - len(title)), weight=Weight.BOLD, picture=True)


def _life_line(assessment: Assessment, reader: Reader, *, width: int, unicode: bool) -> Iterator[Line]:
    lowest, number = lowest_limit(assessment), reader.number
    life = LifeLine(
        fresh_pct=assessment.fresh_tpc_pct,
        limit_pct=lowest.tpc_pct,
        mean_pct=assessment.tpc_mean_pct,
        sd_pct=assessment.tpc_sd_pct,
        coming=assessment.forecast,
    )
    labels = Labels(
        fresh=reader.say(N_("fresh {number}"), number=number(assessment.fresh_tpc_pct)),
        now=reader.say(N_("now {number}"), number=number(assessment.tpc_mean_pct)),
        limit=limit_label(lowest, reader),
    )
    yield Line(text="")
    for row in draw(life, labels, width=width - 2 * INDENT, signs=UNICODE if unicode else ASCII):
        yield Line(text=row, indent=INDENT, picture=True)
    yield _told(picture_in_words(assessment, reader))


def _where(flags: Sequence[Flag]) -> str:
    refs = ", ".join(flag.ref for flag in flags if flag.ref)
    return f" ({refs})" if refs else ""


def _told(text: str) -> Line:
    return Line(text=text, indent=INDENT)
