"""What the program asks about a reading, in a sentence."""

from kettlewell.core.outlook.values import Flag, FlagKind
from kettlewell.telling.message import N_, Message, Value

TEXTS = {
    FlagKind.UNSOUND: N_(
        "The reading of {reading_pct} % does not count in full: not all its conditions were met, "
        "or nobody knows."
    ),
    FlagKind.OUT_OF_RANGE: N_(
        "The reading of {reading_pct} % was taken at {oil_temp_c} °C, where this meter is not to be read."
    ),
    FlagKind.WET: N_(
        "The reading of {reading_pct} % stands {surprise_pct} points above what the book expects: wet probe?"
    ),
    FlagKind.CONTRADICTS: N_(
        "The reading of {reading_pct} % stands {surprise_pct} points below what the book expects."
    ),
    FlagKind.UNLOGGED_CHANGE: N_(
        "The reading fell to {reading_pct} %: was the oil changed? If so, write it down; if not, read again."
    ),
    FlagKind.SAME_FIGURE: N_(
        "The meter shows {reading_pct} % again and again while food is fried: check it in reference oil."
    ),
    FlagKind.TOO_SLOW: N_(
        "Read at {reading_pct} %, this oil seems to age more slowly than any known: "
        "check the meter in reference oil."
    ),
}


def flag_message(flag: Flag) -> Message:
    """Return what is asked about a reading."""
    values: dict[str, Value] = {"reading_pct": flag.reading_pct}
    if flag.kind is FlagKind.OUT_OF_RANGE:
        values["oil_temp_c"] = flag.oil_temp_c
    if flag.kind in (FlagKind.WET, FlagKind.CONTRADICTS):
        values["surprise_pct"] = round(abs(flag.surprise_pct), 1)
    return Message(text=TEXTS[flag.kind], values=values)
