"""What is said of a meter in a cook's sentences: its checks, the look-back, another instrument beside it."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from kettlewell.core.decision import VerdictKey
from kettlewell.core.metering.charts import Direction, Signal, SignalKind
from kettlewell.core.metering.checks import Decision, DecisionKey, Deviation
from kettlewell.core.metering.comparison import Agreement
from kettlewell.core.metering.pairs import LEAST_TO_ADOPT, SideBySide
from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import Again, Relied
from kettlewell.core.outlook.meters import ChartedCheck, MeterReport
from kettlewell.telling.checks import signal_message, when_message
from kettlewell.telling.message import N_
from kettlewell.telling.verdicts import VERDICTS
from kettlewell.telling.words import Reader

FAILED = (DecisionKey.ADJUST, DecisionKey.OUT)
DOUBTFUL = 0.01  # a verdict that stands with more than 99 % is not asked about: chosen, no source

DECISIONS = {
    DecisionKey.FIT: N_("Fit for use"),
    DecisionKey.ADJUST: N_("Adjust it"),
    DecisionKey.REPEAT: N_("Repeat the check"),
    DecisionKey.OUT: N_("Take it out of use"),
}
NEVER_CHECKED = N_("Not checked yet")
OUT_OF_USE = N_("Out of use")
TOO_HIGH = N_("It reads {points} too high (± {u}).")
TOO_LOW = N_("It reads {points} too low (± {u}).")
RIGHT = N_("It reads right (± {u}).")
CHANCE = N_("The chance that it is off by more than {points} is {passing}.")
AGAIN = {
    PathKind.DRIFT: N_("If the meter drifted bit by bit, the right reading was {reading} % (± {sd})."),
    PathKind.STEP: N_("If it jumped, the right reading was {reading} % (± {sd})."),
}
CALM = N_("The checks vary only by chance.")
COMPONENTS = {
    "repeatability": N_("no two readings are alike"),
    "resolution": N_("the last figure it shows"),
    "oil temperature not noted": N_("temperature not noted"),
    "oil temperature out of range": N_("temperature outside what it is made for"),
    "reference oil not at its temperature": N_("reference oil not at its temperature"),
    "reference value": N_("the value on the bottle"),
}
NOT_SURE = N_("The comparison is not sure enough yet: spread the pairs from fresh oil to near the limit.")
NO_METER = N_("No meter in use: go by the senses.")


def meter_words(report: MeterReport, reader: Reader) -> str:
    """Return what a meter is, in two or three words: out of use, or what its last check decided."""
    if not report.in_use:
        return reader.say(OUT_OF_USE)
    return reader.say(DECISIONS[report.last.decision.key] if report.last else NEVER_CHECKED)


def points(value: float, reader: Reader) -> str:
    """Return so many percentage points, to a tenth."""
    shown = round(value, 1)
    return reader.count(1 if shown == 1 else 2, "{points} point", "{points} points", points=shown)


def off_by(deviation: Deviation, reader: Reader) -> str:
    """Return by how much a check found the meter off."""
    u, shown = points(deviation.u_pct, reader), round(deviation.pct, 1)
    if not shown:
        return reader.say(RIGHT, u=u)
    return reader.say(TOO_HIGH if shown > 0 else TOO_LOW, points=points(abs(shown), reader), u=u)


def off_chance(decision: Decision, permissible_pct: float, reader: Reader) -> str:
    """Return how probably it is off by more than is permissible."""
    return reader.say(CHANCE, points=points(permissible_pct, reader), passing=decision.off_probability)


def when_next(report: MeterReport, reader: Reader) -> str:
    """Return when to check a meter next, and why then; after a check it failed what to do instead."""
    due, why = report.next_check, reader.tell(when_message(report.next_check.why))
    if not report.in_use:
        return reader.say(N_("Check it before it is used again."))
    if due.at is None or (report.last and report.last.decision.key is not DecisionKey.FIT):
        return why
    if is_due(report, reader):
        return reader.say(N_("Check it now. {why}"), why=why)
    return reader.say(N_("Check it by {day}. {why}"), day=reader.day(due.at), why=why)


def is_due(report: MeterReport, reader: Reader) -> bool:
    """Tell whether a meter in use is to be checked today, or was to be on a day before."""
    at = report.next_check.at
    if at is None or not report.in_use:
        return False
    return at.astimezone(reader.zone).date() <= reader.today


def signals(report: MeterReport, reader: Reader) -> list[str]:
    """Return what the chart of the running run shows beyond chance."""
    running = (each for each in report.checks if report.last and each.run == report.last.run)
    return list(signals_told(running, reader))


def signals_told(checks: Iterable[ChartedCheck], reader: Reader) -> Iterator[str]:
    """Yield what checks show beyond chance; a jump is told once, and does not creep afterwards."""
    jumped = set[tuple[int, Direction]]()
    for charted in checks:
        jumped |= {(charted.run, signal.direction) for signal in charted.signals if is_jump(signal)}
        for signal in charted.signals:
            if is_jump(signal) or (charted.run, signal.direction) not in jumped:
                yield reader.tell(signal_message(signal, charted.check))


def is_jump(signal: Signal) -> bool:
    """Tell whether a check stands out by itself."""
    return signal.kind is SignalKind.INDIVIDUAL


def chart_in_words(report: MeterReport, last: ChartedCheck, reader: Reader) -> str:
    """Return the chart of a meter as sentences: how many checks, what the last found, what signals."""
    checks = reader.count(
        len(report.checks),
        "One check, on {last}.",
        "{number} checks from {first} to {last}.",
        first=reader.calendar_day(report.checks[0].check.at),
        last=reader.calendar_day(last.check.at),
    )
    told = list(signals_told(report.checks, reader))
    return " ".join([checks, off_by(last.decision.deviation, reader), *(told or [reader.say(CALM)])])


def budget(deviation: Deviation, reader: Reader) -> Iterator[tuple[str, str]]:
    """Yield what a check is uncertain by, and by what, in standard uncertainties."""
    for component in deviation.components:
        yield reader.say(COMPONENTS[component.name]), reader.number(component.u, digits=2)


def reads_as(side: SideBySide, other: str, reader: Reader) -> str:
    """Return how a meter reads beside another instrument: the line through their pairs."""
    if side.comparison is None:
        return reader.say(N_("These pairs are too few for a comparison yet."))
    line = side.comparison.line
    gain, offset = reader.number(line.slope, digits=2), reader.number(abs(line.intercept), digits=1)
    text = (
        N_("It reads {gain} times what {other} says, plus {offset} points.")
        if line.intercept >= 0
        else N_("It reads {gain} times what {other} says, less {offset} points.")
    )
    return reader.say(text, gain=gain, other=other, offset=offset)


def differs_by(differences: Agreement, reader: Reader) -> str:
    """Return by how much two instruments differ, as the difference plot shows it."""
    mean, lower, upper = (
        reader.number(round(value, 1) + 0.0)
        for value in (differences.mean, differences.lower, differences.upper)
    )
    return reader.say(
        N_("The difference is {mean} points on average, and 19 times of 20 between {lower} and {upper}."),
        mean=mean,
        lower=lower,
        upper=upper,
    )


def why_not(side: SideBySide, reader: Reader) -> str:
    """Return why what was found may not be taken over; "" where it may be, or only pairs are missing."""
    enough = len(side.pairs) >= LEAST_TO_ADOPT
    return reader.say(NOT_SURE) if enough and not side.may_be_adopted else ""


def pairs_missing(side: SideBySide, reader: Reader) -> str:
    """Return how many pairs are still missing before it may be taken over; "" where there are enough.

    Those from before an adjustment are told apart, for somebody made them.
    """
    missing = LEAST_TO_ADOPT - len(side.pairs)
    if missing <= 0:
        return ""
    said = reader.count(missing, "One more pair needed.", "{number} more pairs needed.")
    if not side.earlier:
        return said
    earlier = reader.count(
        side.earlier,
        "One pair is from before an adjustment and no longer counts.",
        "{number} pairs are from before an adjustment and no longer count.",
    )
    return f"{said} {earlier}"


def rests_on(verdicts: int, *, begins: datetime, after_good: bool, reader: Reader) -> str:
    """Return how many verdicts rest on a meter since its last good check, or since ever."""
    if after_good:
        return reader.count(
            verdicts,
            "Since the good check of {at}, one verdict used this meter.",
            "Since the good check of {at}, {number} verdicts used this meter.",
            at=begins,
        )
    return reader.count(
        verdicts,
        "There was no good check before. Since {at}, one verdict used this meter.",
        "There was no good check before. Since {at}, {number} verdicts used this meter.",
        at=begins,
    )


def may_fall(doubtful: Sequence[Relied], reader: Reader) -> str:
    """Return how many verdicts may not stand, and how many of them probably were."""
    if not doubtful:
        return reader.say(N_("All of them hold up: the chance of an error in each is under 1 %."))
    may = reader.count(len(doubtful), "One may have been wrong.", "{number} may have been wrong.")
    in_doubt = sum(relied.in_doubt for relied in doubtful)
    if not in_doubt:
        none = reader.say(N_("Probably none of them was."))
        return f"{may} {none}"
    if in_doubt == len(doubtful):
        return reader.count(in_doubt, "One was probably wrong.", "{number} were probably wrong.")
    real = reader.count(in_doubt, "One of them probably was.", "{number} of them probably were.")
    return f"{may} {real}"


def told_again(again: Again, path: PathKind, told: VerdictKey, reader: Reader) -> str:
    """Return a reading and its verdict as they would have been on one path of the meter."""
    read = reader.say(
        AGAIN[path],
        reading=reader.number(again.reading_pct, digits=1),
        sd=reader.number(again.reading_sd_pct, digits=1),
    )
    falls = reader.say(N_("Chance that the verdict was wrong: {passing}."), passing=again.not_stand)
    if again.instead is told:
        return f"{read} {falls}"
    instead = reader.say(N_("It should have been: {verdict}."), verdict=reader.say(VERDICTS[again.instead]))
    return f"{read} {falls} {instead}"
