"""What an assessment says: every probability, range and date of one fryer."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from kettlewell.book import Protection
from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.limits import LimitNote, OilLimit, Quantity


class FlagKind(StrEnum):
    """Why the program asks about something in the book."""

    WET = "wet"
    UNSOUND = "unsound"
    OUT_OF_RANGE = "temperature"
    UNLOGGED_CHANGE = "unlogged_change"
    CONTRADICTS = "contradicts"
    METER_OFF = "meter_off"
    LABORATORY = "laboratory"
    METER_MOVED = "meter_moved"
    SILENT = "silent"
    SAME_FIGURE = "same_figure"
    TOO_SLOW = "too_slow"
    THERMOSTAT = "thermostat"


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """A reading the program asks about; ``ref`` is where it is written down.

    It showed ``reading_pct`` in oil of ``oil_temp_c`` (None: not noted), and stood
    ``surprise_pct`` above what the book expects. Of a check that found a ``meter`` off, it stood so
    much above the reference value; of a laboratory's result it is the result. Where a
    meter moved, the surprise is the mean of all baths that it was read in. Or nothing was written of so
    many ``days`` of frying. Or oil read while it fried was ``hotter_c`` than its fryer is set to, or colder.
    """

    kind: FlagKind
    at: datetime
    ref: str = ""
    reading_pct: float | None = None
    oil_temp_c: float | None = None
    surprise_pct: float | None = None
    days: int | None = None
    meter: str | None = None
    hotter_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Because:
    """Why a verdict was reached; where numbers belong to the reason, a kind of its own holds them."""

    code: Reason


@dataclass(frozen=True, slots=True, kw_only=True)
class PastLimit(Because):
    """Sound readings, the mean of several or the highest, stand past a limit."""

    reading_pct: float
    limit_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubted(Because):
    """The last reading cannot be relied on."""

    flag: Flag


@dataclass(frozen=True, slots=True, kw_only=True)
class Odds(Because):
    """The probability that a limit on a ``quantity`` is passed by the end of a service, and the α accepted.

    ``metered`` says whether there is a meter in use.
    """

    quantity: Quantity
    limit_pct: float
    service: str
    ends_at: datetime
    passing_probability: float
    risk: float
    metered: bool


class Remedy(StrEnum):
    """What would change a verdict."""

    FRESH_OIL = "fresh_oil"
    LABORATORY = "laboratory"
    SOUND_READING = "sound_reading"
    METER_PUT_RIGHT = "meter_put_right"
    READING_BELOW = "reading_below"
    READING_FROM = "reading_from"
    SENSES = "senses"
    FILL_KNOWN = "fill_known"
    LOOKED_AT = "looked_at"


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangesIf:
    """What would change a verdict; ``reading_pct`` where it is a reading below or from some value."""

    code: Remedy
    reading_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeOver:
    """A ``fryer`` that can take another's work, and the allergens its bath ``adds`` to that food.

    Where ``asks_chef`` only with the chef's word.
    """

    fryer: str
    adds: tuple[str, ...] = ()
    asks_chef: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Unkept:
    """A promise on a fryer that does not hold, or may not: keys of foods and oils that stay in its bath."""

    promise: Protection
    by: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class InBath:
    """What food takes from a bath, all of it ``allergens``.

    ``left`` are those that came in otherwise than with the foods and the oil it is set to, and stay
    until it is cleaned and filled again; of what is ``unwritten`` (keys of foods and oils) nobody
    wrote down the allergens. ``foods_known`` is False where nothing says what is fried there.
    """

    allergens: tuple[str, ...]
    left: tuple[str, ...]
    unwritten: tuple[str, ...]
    foods_known: bool
    unkept: tuple[Unkept, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What to do with the bath now.

    ``passing_probability`` is P1, that the true TPC passes a limit in force by the
    end of the coming or running service; ``passing_probability_next`` is P2, by the
    end of the one after; ``risk`` is the α they were held against. ``changes_if``
    says what would change the verdict; it stands until ``holds_until``.
    ``taken_over_by`` can take the work while the bath cools, the best first. ``not_offered`` are
    keys of fryers of which the foods, or the allergens of one, are not written down; where it is
    the bath's own, nobody takes its work.
    """

    key: VerdictKey
    reason: Because
    changes_if: ChangesIf
    passing_probability: float
    passing_probability_next: float
    risk: float
    holds_until: datetime
    taken_over_by: tuple[TakeOver, ...] = ()
    not_offered: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """What is left in a fill: until its change is said; and the life itself, median and central 80 % range.

    ``services_left`` can still be fried before the verdict is to change, by the forecast; that
    is before the service that begins at ``change_at``. A limit is passed as probably as not by
    the median. Services are counted from the coming (or running) one; None means beyond
    ``horizon_services``. ``never`` says that no limit is likely to be passed within them, and that at
    this turnover the steady state lies below the lowest.
    """

    services_left: int | None
    change_at: datetime | None

    services_median: float | None
    services_low: float | None
    services_high: float | None
    hot_h_median: float | None
    hot_h_low: float | None
    hot_h_high: float | None
    ends_at_median: datetime | None
    ends_at_low: datetime | None
    ends_at_high: datetime | None
    never: bool
    horizon_services: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceForecast:
    """The true TPC expected at the end of one coming service (mean, standard deviation).

    Of a running service it is the rest, which begins now.
    """

    name: str
    begins_at: datetime
    ends_at: datetime
    tpc_mean_pct: float
    tpc_sd_pct: float
    passing_probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooling:
    """A bath drained by hand cools ``low_h`` to ``high_h`` hours to the 40 °C it may be drained at.

    It was switched off at ``off_at``, and may be cool enough from ``drain_from`` to ``drain_by`` on; None
    where the book does not say when.
    """

    off_at: datetime | None
    low_h: float
    high_h: float
    drain_from: datetime | None
    drain_by: datetime | None


class Caution(StrEnum):
    """The usual cautions, each where it belongs."""

    FIRE = "fire"
    SMOKE = "smoke"
    BURNS = "burns"
    WET_FOOD = "wet_food"
    DRAIN_BY_HAND = "drain_by_hand"
    DRAIN_BY_PUMP = "drain_by_pump"
    REFILL = "refill"
    SOLID_FAT = "solid_fat"
    ALLERGENS = "allergens"
    PROBE = "probe"
    POTATOES = "potatoes"


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One line of the wall card: a meter reading from … to … leads to a verdict.

    ``from_pct`` counts in, ``to_pct`` does not; None is open.
    """

    key: VerdictKey
    from_pct: float | None
    to_pct: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WallCard:
    """Which reading before the next service leads to which verdict, until it expires.

    Not ``by_reading`` it has one line, the verdict whatever is read: nothing can be. A bath drained
    ``by_hand`` is never changed at once.
    """

    fryer: str
    made_at: datetime
    expires_at: datetime
    by_reading: bool
    by_hand: bool
    lines: tuple[CardLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """Everything the program says about one fryer at ``at``.

    ``tpc_mean_pct`` and ``tpc_sd_pct`` are the belief about the true TPC now;
    ``rate_pct_per_h`` is percentage points a hot hour at the set temperature with
    the usual load, before turnover; ``turnover_per_service`` the share of the bath
    replaced by fresh oil in a usual service. ``read_by`` is the latest time at which
    the risk of passing a limit unseen stays under α, two weeks after the last reading at most;
    ``by_house_rule`` where the house's own rule asks for it earlier still.
    ``reads_off_pct`` is by how many points the meter of the last reading probably reads too high
    (negative: too low), where that is mostly why the oil is believed to stand elsewhere than it was read.
    ``in_use`` is false of a bath that is ``empty`` or out of order; ``metered`` says whether
    there is a meter in use. ``limits`` judge the oil, ``notes`` tell of those that do not.
    """

    fryer: str
    name: str
    at: datetime
    model_version: str
    filled_at: datetime | None
    last_reading_at: datetime | None
    last_reading_pct: float | None
    reads_off_pct: float | None
    tpc_mean_pct: float
    tpc_sd_pct: float
    fresh_tpc_pct: float
    rate_pct_per_h: float
    rate_sd_pct_per_h: float
    turnover_per_service: float
    steady_state_tpc_pct: float | None
    in_use: bool
    metered: bool
    empty: bool
    forecast: tuple[ServiceForecast, ...]
    life: Life
    read_by: datetime
    by_house_rule: bool
    verdict: Verdict
    limits: tuple[OilLimit, ...]
    notes: tuple[LimitNote, ...]
    flags: tuple[Flag, ...]
    in_bath: InBath
    cooling: Cooling | None
    cautions: tuple[Caution, ...]
    card: WallCard


class Lack(StrEnum):
    """What a fryer lacks that has no answer."""

    SERVICE = "service"
    LIMIT = "limit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unanswered:
    """A fryer that nothing can be told of, and what it lacks."""

    fryer: str
    name: str
    lacks: Lack
