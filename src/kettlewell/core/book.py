"""The values a kitchen and its day book are made of.

Every value is frozen and carries its unit in its name. Times are aware UTC;
TPC is total polar compounds in % m/m (ISO 8420). ``None`` means unknown,
never zero.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time
from decimal import Decimal
from enum import StrEnum
from itertools import chain, groupby
from typing import TypeVar


class OilKind(StrEnum):
    """Kinds of frying oil and fat with coefficients of their own."""

    RAPESEED = "rapeseed"
    SUNFLOWER = "sunflower"
    SOYA = "soya"
    HIGH_OLEIC = "high-oleic"
    OLIVE = "olive"
    PALM_OLEIN = "palm-olein"
    OTHER = "other"


class FoodKind(StrEnum):
    """Kinds of food with coefficients of their own."""

    FROZEN_FRIES = "frozen-fries"
    FRESH_CHIPS = "fresh-chips"
    BATTERED_FISH = "battered-fish"
    CHICKEN = "chicken"
    SCHNITZEL = "schnitzel"
    DOUGHNUTS = "doughnuts"
    BATTERED_VEGETABLES = "battered-vegetables"
    OTHER = "other"


class Draining(StrEnum):
    """How a bath is emptied: pumped hot, or drained by hand once it has cooled."""

    PUMP = "pump"
    HAND = "hand"


class Force(StrEnum):
    """What binds a kitchen to a limit."""

    BINDING = "binding"
    GUIDANCE = "guidance"
    HOUSE = "house"
    NONE_FOUND = "none found"


class Judges(StrEnum):
    """What a limit speaks of: the oil itself, or how it is used."""

    OIL = "oil"
    PROCESS = "process"


class Grade(StrEnum):
    """How well a number is known, a limit's or a coefficient's.

    Read in the law itself, in an official text, in another's account of it, or in
    research; derived from what was read; from memory; set by the kitchen.
    """

    PRIMARY = "primary"
    OFFICIAL = "official"
    SECONDARY = "secondary"
    RESEARCH = "research"
    DERIVED = "derived"
    MEMORY = "memory"
    HOUSE = "house"


@dataclass(frozen=True, slots=True, kw_only=True)
class Oil:
    """A frying oil or fat one can buy; ``None`` takes the default of its kind."""

    key: str
    name: str
    kind: OilKind = OilKind.OTHER
    fresh_tpc_pct: float | None = None
    density_kg_per_l: float | None = None
    pack_kg: float | None = None
    price_per_kg: Decimal | None = None
    allergens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A food that is fried; ``None`` takes the default of its kind."""

    key: str
    name: str
    kind: FoodKind = FoodKind.OTHER
    wear_factor: float | None = None
    uptake_kg_per_kg: float | None = None
    portion_kg: float | None = None
    basket_kg: float | None = None
    allergens: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fryer:
    """One bath that is filled, heated and measured on its own.

    ``oil_mass_kg`` is the oil at the cold-fill mark, ``minimum_mass_kg`` at the
    mark below which the elements lie bare. ``usual_load_kg`` is food a service.
    """

    key: str
    name: str
    oil: str
    oil_mass_kg: float
    set_temp_c: float = 175.0
    minimum_mass_kg: float | None = None
    draining: Draining = Draining.HAND
    fries: tuple[str, ...] = ()
    usual_load_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A hand meter for polar compounds.

    ``largest_error_pct`` is the largest error its maker states, in percentage
    points; the temperatures are the oil temperatures it may be read at.
    """

    key: str
    name: str
    resolution_pct: float = 0.5
    largest_error_pct: float = 2.0
    min_oil_temp_c: float = 40.0
    max_oil_temp_c: float = 200.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """A stretch of frying that comes back every week, in the kitchen's own time.

    ``weekdays`` counts from Monday = 0. A service that ends at or before it
    begins ends on the next day. ``fryers`` empty means all of them.
    """

    name: str
    weekdays: tuple[int, ...]
    begins: time
    ends: time
    fryers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A rule: ``quantity`` makes oil (or its use) unfit when it compares so with ``value``."""

    jurisdiction: str
    judges: Judges
    quantity: str
    unfit_when: str
    value: float | None
    unit: str
    force: Force
    instrument: str = ""
    in_force_since: date | None = None
    source: str = ""
    grade: Grade = Grade.HOUSE
    remark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kitchen:
    """One place with its fryers, meters and one day book.

    ``risk`` is the accepted probability α of passing a limit, 0 < α ≤ 0.5; for
    binding limits and guidance it counts at most as 0.05. ``limits`` are the
    kitchen's own; those of ``jurisdiction`` are added by the core.
    """

    name: str
    fryers: tuple[Fryer, ...]
    oils: tuple[Oil, ...]
    products: tuple[Product, ...] = ()
    meters: tuple[Meter, ...] = ()
    services: tuple[Service, ...] = ()
    limits: tuple[Limit, ...] = ()
    jurisdiction: str | None = None
    timezone: str = "UTC"
    risk: float = 0.05

    def __post_init__(self) -> None:
        """Raise ValueError where a name points nowhere, is given twice, or a number cannot be."""
        for fryer in self.fryers:
            self._check(fryer)
        for things in (self.fryers, self.oils, self.products, self.meters):
            keys = [thing.key for thing in things]
            if doubled := {key for key in keys if keys.count(key) > 1}:
                raise ValueError(f"key {min(doubled)!r} is given twice")
        for product in self.products:
            if product.wear_factor is not None and not product.wear_factor > 0:
                raise ValueError(f"product {product.key!r}: wear_factor must be above 0, or left out")
        if not 0 < self.risk <= 0.5:
            raise ValueError("risk must lie above 0 and at most at 0.5")

    def _check(self, fryer: Fryer) -> None:
        if fryer.oil not in {oil.key for oil in self.oils}:
            raise ValueError(f"fryer {fryer.key!r}: no oil {fryer.oil!r} in this kitchen")
        if missing := set(fryer.fries) - {product.key for product in self.products}:
            raise ValueError(f"fryer {fryer.key!r}: no product {min(missing)!r} in this kitchen")
        if not fryer.oil_mass_kg > 0:
            raise ValueError(f"fryer {fryer.key!r}: oil_mass_kg must be above 0")
        if fryer.usual_load_kg is not None and not fryer.usual_load_kg > 0:
            raise ValueError(f"fryer {fryer.key!r}: usual_load_kg must be above 0, or left out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """Something that happened at a fryer; ``ref`` says where it is written down."""

    at: datetime
    fryer: str
    person: str | None = None
    ref: str = ""

    def __post_init__(self) -> None:
        """Raise ValueError for a time that names no zone."""
        if self.at.tzinfo is None:
            raise ValueError(f"{self.ref or 'entry'}: the time {self.at} names no time zone")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Entry):
    """A measured TPC; ``sound`` is False when the conditions were not met."""

    tpc_pct: float
    oil_temp_c: float | None = None
    meter: str | None = None
    sound: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class LabResult(Entry):
    """A laboratory's TPC of a sample taken at ``at``; ``u_pct`` is one standard uncertainty."""

    tpc_pct: float
    u_pct: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SensoryNote(Entry):
    """Smell, smoke, foam, colour, taste."""

    spoiled: bool
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TopUp(Entry):
    """Fresh oil added; ``mass_kg`` None means to the mark, amount unknown."""

    mass_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load(Entry):
    """Food fried in the running or last service; ``mass_kg`` None means unknown."""

    product: str
    mass_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HotHours(Entry):
    """How long the bath was hot in the running or last service; 0 means it stood cold."""

    hot_h: float
    oil_temp_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change(Entry):
    """The bath emptied and filled fresh, with ``oil`` or the fryer's own."""

    oil: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move(Entry):
    """Oil pumped out of ``fryer`` into ``into``; ``mass_kg`` None means all that fits."""

    into: str
    mass_kg: float | None = None

    def __post_init__(self) -> None:
        """Raise ValueError for oil moved into the bath it comes from."""
        Entry.__post_init__(self)
        if self.into == self.fryer:
            raise ValueError(f"{self.ref or 'entry'}: oil cannot be moved from {self.fryer!r} into itself")


@dataclass(frozen=True, slots=True, kw_only=True)
class Store(Entry):
    """The fill taken out of the fryer and kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Return(Entry):
    """The stored fill put back into its fryer."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Care(Entry):
    """Skimmed, filtered, treated or boiled out; ``kind`` is one of CARE_KINDS."""

    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfOrder(Entry):
    """The fryer is taken out of use, or put back into use."""

    back: bool = False


IN_ONE_MINUTE = (
    Entry,
    Reading,
    LabResult,
    SensoryNote,
    Load,
    HotHours,
    Store,
    Move,
    Care,
    Change,
    Return,
    TopUp,
    OutOfOrder,
)

T = TypeVar("T", Oil, Product, Fryer, Meter)

CARE_KINDS = ("skim", "filter", "shared-filter", "adsorbent", "boil-out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A sentence to be shown: a translatable ``text`` with the values of its {fields}."""

    text: str
    values: Mapping[str, float | int | str | datetime | None] = field(default_factory=dict)

    def __str__(self) -> str:
        """Return the sentence untranslated."""
        return self.text.format(**self.values)


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Return the entries by time, then by what they say, and each of them once."""
    ordered: list[Entry] = []
    for _, group in groupby(sorted(entries, key=place), key=place):
        same = list(group)
        ordered += sorted(set(same), key=told) if len(same) > 1 else same
    return ordered


def place(entry: Entry) -> tuple[datetime, int, str]:
    """Return what entries are ordered by: within a minute oil is read before it is moved or changed."""
    return entry.at, IN_ONE_MINUTE.index(type(entry)), entry.fryer


def told(entry: Entry) -> str:
    """Return what an entry says as text, whatever zone its time is told in."""
    return repr(replace(entry, at=utc(entry.at)))


def find(things: Sequence[T], key: str) -> T:
    """Return the thing with this key; raise KeyError naming the keys there are."""
    for thing in things:
        if thing.key == key:
            return thing
    raise KeyError(f"no {key!r} among {', '.join(t.key for t in things) or 'none'}")


def allergens_in(kitchen: Kitchen, fryer: str) -> tuple[str, ...]:
    """Return the allergens of a fryer's oil and of what it fries, each once."""
    bath = find(kitchen.fryers, fryer)
    foods = (find(kitchen.products, key).allergens for key in bath.fries)
    return tuple(dict.fromkeys(chain(find(kitchen.oils, bath.oil).allergens, *foods)))


def utc(at: datetime) -> datetime:
    """Return the same moment in UTC."""
    return at.astimezone(UTC)
