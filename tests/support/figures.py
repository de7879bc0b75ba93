"""What the model says of eventful weeks, as lines of a table."""

import csv
import io
from datetime import timedelta
from pathlib import Path

from eventful import DAYS, Weeks

from kettlewell.core import assess, checkpoint, history, trace
from kettlewell.core.outlook.values import Unanswered
from kettlewell.core.version import MODEL_VERSION

KEPT_IN = Path(__file__).parents[1] / "core" / "figures.csv"
WEEKS = range(24)
WHEN = ((11, 9.5), (17, 13.0), (DAYS, 10.6))  # before, in and after services
COLUMNS = ("model", "weeks", "day", "fryer", "figure", "value")


def figures_of(seed):
    """Yield (day, fryer, figure, value) of what is told of some weeks: on the way, and of all that was."""
    weeks, since = Weeks(seed), None
    for day, hour in WHEN:
        now = weeks.at(day, hour)
        for told in assess(weeks.history, weeks.since(since), now=now, since=since):
            for figure, value in of_bath(told):
                yield day, told.fryer, figure, value
        since = checkpoint(weeks.history, weeks.since(since), at=now - timedelta(hours=30), since=since)
    half = trace(weeks.history, weeks.entries, at=weeks.at(DAYS // 2, 6))
    told = history(weeks.history, weeks.since(half.until), now=now, since=half)
    for fryer, past in told.items():
        for n in range(0, len(past), 9):
            yield DAYS, fryer, f"past {n} mean", past[n].tpc_mean_pct
            yield DAYS, fryer, f"past {n} sd", past[n].tpc_sd_pct


def of_bath(told):
    """Yield (figure, value) of one bath, its answer as far as it has one."""
    if isinstance(told, Unanswered):
        yield "lacks", told.lacks.value
        return
    yield "mean", told.tpc_mean_pct
    yield "sd", told.tpc_sd_pct
    yield "rate", told.rate_pct_per_h
    yield "rate sd", told.rate_sd_pct_per_h
    yield "turnover", told.turnover_per_service
    yield "verdict", f"{told.verdict.key.value} {told.verdict.reason.code.value}"
    yield "P1", told.verdict.passing_probability
    yield "P2", told.verdict.passing_probability_next
    yield "median", told.life.services_median
    yield "read by", told.read_by.isoformat(timespec="minutes")
    yield "asked", " ".join(f"{flag.kind.value}{flag.ref}" for flag in told.flags)
    yield "card", " ".join(f"{line.key.value}<{line.to_pct}" for line in told.card.lines)
    for n in (0, 4):
        yield f"forecast {n} mean", told.forecast[n].tpc_mean_pct
        yield f"forecast {n} sd", told.forecast[n].tpc_sd_pct


def as_text(value):
    """Return a value with nine digits, if it is a number."""
    return f"{value:.9g}" if isinstance(value, float) else str(value)


def figures(model=MODEL_VERSION):
    """Return the rows of the table, as texts."""
    return [
        [
            model,
            str(seed),
            str(day),
            fryer,
            figure,
            f"{value:.9g}" if isinstance(value, float) else str(value),
        ]
        for seed in WEEKS
        for day, fryer, figure, value in figures_of(seed)
    ]


def written():
    """Return the table as it is kept."""
    file = io.StringIO()
    csv.writer(file, lineterminator="\n").writerows([COLUMNS, *figures()])
    return file.getvalue()
