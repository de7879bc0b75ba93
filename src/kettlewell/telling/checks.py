"""What is said of a meter's checks, in sentences: remarks, signals of the chart, when the next is due."""

from kettlewell.book import MeterCheck
from kettlewell.core.metering.charts import Direction, Signal, SignalKind
from kettlewell.core.metering.checks import Remark, RemarkKey
from kettlewell.core.outlook.meters import AfterDays, FoundOff, Reliable, When, WhenCode
from kettlewell.telling.message import N_, Message, Value, tidy

REMARKS = {
    RemarkKey.EXPIRED: N_(
        "The reference oil was best before {best_before}. The check counts, but use a fresh bottle soon."
    ),
    RemarkKey.TEMP_UNKNOWN: N_(
        "The temperature of the reference oil was not noted, so this check says less."
    ),
    RemarkKey.TOO_COLD: N_(
        "The reference oil was at {oil_temp_c} °C, too cold. Warm it to about {read_at_c} °C; "
        "this check says less."
    ),
    RemarkKey.SCATTERED: N_(
        "The readings lie {range_pct} points apart, more than this meter scatters: measure again."
    ),
    RemarkKey.TOO_HOT: N_(
        "The reference oil was at {oil_temp_c} °C, too hot. Let it cool to about {read_at_c} °C; "
        "this check says less."
    ),
}
WHENS = {
    WhenCode.NEVER: N_("It has never been checked."),
    WhenCode.NO_LOT: N_("Set up a reference oil first: a bottle whose value is known."),
    WhenCode.ADJUST: N_(
        "It reads wrong. Adjust it until it shows {tpc_pct} % in {lot}, then check it again "
        "(see its instructions). Do not rely on it until then."
    ),
    WhenCode.REPEAT: N_(
        "The last check was not clear: repeat it, with three readings in oil at the temperature on its label."
    ),
    WhenCode.OUT: N_("It is too far off to adjust: take it out of use."),
    WhenCode.EVERY: N_("Four weeks after the last check, until its own checks tell more."),
    WhenCode.SOONER: N_("{days} days after the last check: it may be off by too much from then on."),
    WhenCode.BY_DRIFT: N_("{days} days after the last check: by its own checks it stays right that long."),
    WhenCode.BY_PASSES: N_("{days} days after the last check: it passed {passed} of {checks}."),
    WhenCode.NEAR: N_("A week after the last check: it may soon be off by too much."),
}
SIGNALS = {
    (SignalKind.INDIVIDUAL, Direction.UP): N_("The check of {at} is higher than chance explains."),
    (SignalKind.INDIVIDUAL, Direction.DOWN): N_("The check of {at} is lower than chance explains."),
    (SignalKind.EWMA, Direction.UP): N_("Up to the check of {at} the meter has been creeping up."),
    (SignalKind.EWMA, Direction.DOWN): N_("Up to the check of {at} the meter has been creeping down."),
}


def remark_message(remark: Remark) -> Message:
    """Return what makes a check worth less than it could be."""
    apart = None if remark.range_pct is None else round(remark.range_pct, 1)
    given: dict[str, Value] = {
        "best_before": remark.best_before,
        "oil_temp_c": remark.oil_temp_c,
        "read_at_c": None if remark.read_at_c is None else tidy(remark.read_at_c),
        "range_pct": apart,
    }
    return Message(
        text=REMARKS[remark.key], values={name: value for name, value in given.items() if value is not None}
    )


def when_message(when: When) -> Message:
    """Return why a meter is to be checked when it is."""
    values: dict[str, Value] = {}
    match when:
        case FoundOff():
            values = {"tpc_pct": when.tpc_pct, "lot": when.lot}
        case Reliable():
            values = {"days": when.days, "passed": when.passed, "checks": when.checks}
        case AfterDays(code=WhenCode.SOONER | WhenCode.BY_DRIFT):
            values = {"days": when.days}
    return Message(text=WHENS[when.code], values=values)


def signal_message(signal: Signal, check: MeterCheck) -> Message:
    """Return what a chart shows beyond chance at a check."""
    return Message(text=SIGNALS[signal.kind, signal.direction], values={"at": check.at})
