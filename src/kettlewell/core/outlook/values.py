"""What an assessment says: every probability, range and date of one fryer."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from kettlewell.book import Message
from kettlewell.core.limits.values import JudgedLimit


class VerdictKey(StrEnum):
    """What to do with a bath now, most urgent first."""

    CHANGE_BEFORE = "change_before"
    CHANGE_AFTER = "change_after"
    MEASURE_AGAIN = "measure_again"
    FRY_ON = "fry_on"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What to do with the bath now.

    ``passing_probability`` is P1, that the true TPC passes a limit in force by the
    end of the coming or running service; ``passing_probability_next`` is P2, by the
    end of the one after; ``risk`` is the α they were held against. ``changes_if``
    says what would change the verdict; it stands until ``holds_until``.
    ``taken_over_by`` are keys of fryers that can take the work while the bath cools.
    """

    key: VerdictKey
    reason: Message
    changes_if: Message
    passing_probability: float
    passing_probability_next: float
    risk: float
    holds_until: datetime
    taken_over_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """What is left in a fill: median and central 80 % range.

    Services are counted from the coming (or running) one; None means beyond
    ``horizon_services``. ``never`` says that at this turnover the steady state
    lies below the limit.
    """

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


class FlagKind(StrEnum):
    """Why the program asks about something in the book."""

    WET = "wet"
    UNSOUND = "unsound"
    OUT_OF_RANGE = "temperature"
    UNLOGGED_CHANGE = "unlogged_change"
    CONTRADICTS = "contradicts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """An entry the program asks about; ``ref`` is where it is written down."""

    kind: FlagKind
    at: datetime
    ref: str
    message: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """One sentence of the wall card: a meter reading from … to … leads to a verdict.

    ``from_pct`` counts in, ``to_pct`` does not; None is open.
    """

    key: VerdictKey
    from_pct: float | None
    to_pct: float | None
    message: Message


@dataclass(frozen=True, slots=True, kw_only=True)
class WallCard:
    """Which reading before the next service leads to which verdict, until it expires."""

    fryer: str
    made_at: datetime
    expires_at: datetime
    lines: tuple[CardLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """Everything the program says about one fryer at ``at``.

    ``tpc_mean_pct`` and ``tpc_sd_pct`` are the belief about the true TPC now;
    ``rate_pct_per_h`` is percentage points a hot hour at the set temperature with
    the usual load, before turnover; ``turnover_per_service`` the share of the bath
    replaced by fresh oil in a usual service. ``read_by`` is the latest time at which
    the risk of passing a limit unseen stays under α, two weeks after the last reading at most.
    ``in_use`` is false of a bath that is ``empty`` or out of order; ``metered`` says whether
    there is a meter in use.
    """

    fryer: str
    name: str
    at: datetime
    model_version: str
    filled_at: datetime | None
    last_reading_at: datetime | None
    last_reading_pct: float | None
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
    verdict: Verdict
    limits: tuple[JudgedLimit, ...]
    flags: tuple[Flag, ...]
    cautions: tuple[Message, ...]
    card: WallCard
