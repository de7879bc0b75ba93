"""What the program asks about the book, in a sentence."""

from kettlewell.core.outlook.values import Flag, FlagKind
from kettlewell.telling.message import N_, Message, Value

TEXTS = {
    FlagKind.UNSOUND: N_(
        "The reading of {reading_pct} % counts for less: not all four conditions were met, or nobody knows."
    ),
    FlagKind.OUT_OF_RANGE: N_(
        "{reading_pct} % was read at {oil_temp_c} °C. This meter must not be used at that temperature."
    ),
    FlagKind.WET: N_("{reading_pct} % is {surprise_pct} points higher than expected. Was the probe wet?"),
    FlagKind.LABORATORY: N_(
        "The laboratory's {reading_pct} % is {surprise_pct} points off what was expected. Was "
        "it the bottle of this fryer? If so, have a second one measured."
    ),
    FlagKind.CONTRADICTS: N_("{reading_pct} % is {surprise_pct} points lower than expected."),
    FlagKind.UNLOGGED_CHANGE: N_(
        "The reading fell to {reading_pct} %. Was the oil changed? If so, write it down; if "
        "not, measure again."
    ),
    FlagKind.SILENT: N_(
        "Nothing was written down of the last {days} days of frying: did you fry? "
        "If not, write down from when to when it was closed."
    ),
    FlagKind.SAME_FIGURE: N_(
        "The meter shows one figure whatever the oil: check it in reference oil, or read with another."
    ),
    FlagKind.TOO_SLOW: N_(
        "At {reading_pct} % this oil seems to age more slowly than any known oil. Check the "
        "meter in reference oil."
    ),
}
TOO_MUCH = N_(
    "The check of {at} found {meter} reading {surprise_pct} points too high. What is known "
    "of this oil rests on it."
)
TOO_LITTLE = N_(
    "The check of {at} found {meter} reading {surprise_pct} points too low. What is known "
    "of this oil rests on it."
)


MOVED_UP = N_(
    "{meter} read {surprise_pct} points higher than expected in several fryers on one day. "
    "That points to the meter, not the oil: check it in reference oil."
)
MOVED_DOWN = N_(
    "{meter} read {surprise_pct} points lower than expected in several fryers on one day. "
    "That points to the meter, not the oil: check it in reference oil."
)
TOO_HOT = N_(
    "Read while frying, this oil was {off_c} °C hotter than the fryer is set to, on average. If it is still "
    "set so, have the thermostat looked at: hotter oil ages faster."
)
TOO_COLD = N_(
    "Read while frying, this oil was {off_c} °C colder than the fryer is set to, on average. If it is still "
    "set so, and no food went in just before, have the thermostat looked at."
)
OF_METERS = {  # by: above
    FlagKind.METER_OFF: {True: TOO_MUCH, False: TOO_LITTLE},
    FlagKind.METER_MOVED: {True: MOVED_UP, False: MOVED_DOWN},
}


def flag_message(flag: Flag) -> Message:
    """Return what is asked about a reading, a meter, a thermostat, or days of which nothing was written."""
    if flag.kind is FlagKind.SILENT:
        return Message(text=TEXTS[flag.kind], values={"days": flag.days})
    if flag.kind is FlagKind.THERMOSTAT:
        return thermostat_message(flag)
    if flag.kind in OF_METERS:
        return meter_message(flag)
    values: dict[str, Value] = {"reading_pct": flag.reading_pct}
    if flag.kind is FlagKind.OUT_OF_RANGE:
        values["oil_temp_c"] = flag.oil_temp_c
    if flag.kind in (FlagKind.WET, FlagKind.CONTRADICTS, FlagKind.LABORATORY):
        values["surprise_pct"] = off_by(flag)
    return Message(text=TEXTS[flag.kind], values=values)


def meter_message(flag: Flag) -> Message:
    """Return which meter was found off or moved, by how much and when."""
    values: dict[str, Value] = {"at": flag.at, "meter": flag.meter, "surprise_pct": off_by(flag)}
    above = flag.surprise_pct is not None and flag.surprise_pct > 0
    return Message(text=OF_METERS[flag.kind][above], values=values)


def thermostat_message(flag: Flag) -> Message:
    """Return how far oil was off what its fryer is set to."""
    hotter_c = flag.hotter_c or 0.0
    return Message(text=TOO_HOT if hotter_c > 0 else TOO_COLD, values={"off_c": round(abs(hotter_c))})


def off_by(flag: Flag) -> float | None:
    """Return by how many points, either way, a figure lies from what was expected; None for no figure."""
    return None if flag.surprise_pct is None else round(abs(flag.surprise_pct), 1)
