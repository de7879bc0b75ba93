"""What a kitchen is made of."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from enum import StrEnum
from typing import TypeVar

from kettlewell.book.words import N_, ToldError

PERMISSIBLE_PCT = 1.0  # common practice, no source
LARGEST_DEVIATION_PCT = 4.0  # twice the largest error makers commonly state: chosen, no source
# of a meter whose figures nobody told: wide on purpose, our own, chosen, no source
WIDE_RESOLUTION_PCT, WIDE_ERROR_PCT = 1.0, 3.0
NARROW_C = (60.0, 180.0)
CONTROL_C = 150.0  # a control oil is read at, hot as the baths are when they are read: chosen, no source

T = TypeVar("T", "Oil", "Product", "Fryer", "Meter", "ReferenceLot")


class OilKind(StrEnum):
    """Kinds of frying oil and fat with coefficients of their own."""

    RAPESEED = "rapeseed"
    HIGH_OLEIC_RAPESEED = "high-oleic-rapeseed"
    SUNFLOWER = "sunflower"
    MID_OLEIC_SUNFLOWER = "mid-oleic-sunflower"
    HIGH_OLEIC = "high-oleic"
    SOYA = "soya"
    GROUNDNUT = "groundnut"
    MAIZE = "maize"
    COTTONSEED = "cottonseed"
    RICE_BRAN = "rice-bran"
    OLIVE = "olive"
    POMACE = "pomace"
    PALM_OLEIN = "palm-olein"
    HARD_PALM = "hard-palm"
    COCONUT = "coconut"
    DRIPPING = "dripping"
    LARD = "lard"
    OTHER = "other"


class FoodKind(StrEnum):
    """Kinds of food with coefficients of their own."""

    FROZEN_FRIES = "frozen-fries"
    FRESH_CHIPS = "fresh-chips"
    CRISPS = "crisps"
    BATTERED_FISH = "battered-fish"
    COATED_FISH = "coated-fish"
    CHICKEN = "chicken"
    COATED_CHICKEN = "coated-chicken"
    SCHNITZEL = "schnitzel"
    TEMPURA = "tempura"
    BATTERED_VEGETABLES = "battered-vegetables"
    ONION_RINGS = "onion-rings"
    SPRING_ROLLS = "spring-rolls"
    FALAFEL = "falafel"
    BREADED_CHEESE = "breaded-cheese"
    DOUGHNUTS = "doughnuts"
    CHURROS = "churros"
    OTHER = "other"


class Draining(StrEnum):
    """How a bath is emptied: pumped hot, or drained by hand once it has cooled."""

    PUMP = "pump"
    HAND = "hand"


class Protection(StrEnum):
    """What a fryer may be kept free of, so that the food from it can be promised to be so."""

    GLUTEN_FREE = "gluten-free"
    NUT_FREE = "nut-free"
    MILK_FREE = "milk-free"
    EGG_FREE = "egg-free"
    FISH_FREE = "fish-free"
    VEGETARIAN = "vegetarian"


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


class Clause(StrEnum):
    """What a rule says beside its number.

    A hand meter only screens, and the laboratory decides; or: do not top up used oil.
    """

    SCREENING = "screening"
    NO_TOP_UP = "no-top-up"


class Polymers(StrEnum):
    """What decides on a limit on polymers: polar compounds that stand for them, or the laboratory."""

    POLAR_COMPOUNDS = "polar-compounds"
    LABORATORY = "laboratory"


class Readings(StrEnum):
    """When baths are read at the latest: when the risk asks for it, or on every day that they fry."""

    WHEN_DUE = "when-due"
    DAILY = "daily"


class Language(StrEnum):
    """What the program speaks."""

    ENGLISH = "en"
    GERMAN = "de"


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
    """A frying oil or fat one can buy; ``None`` takes the default of its kind.

    No ``allergens`` are (); None: nobody wrote them down. ``parts`` are those of a blend, each a kind and
    its share by mass: "sunflower 60". Raises ValueError for one that is not.
    """

    key: str
    name: str
    kind: OilKind = OilKind.OTHER
    fresh_tpc_pct: float | None = None
    density_kg_per_l: float | None = None
    pack_kg: float | None = None
    price_per_kg: Decimal | None = None
    allergens: tuple[str, ...] | None = None
    parts: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse parts that are no kinds, or have no share."""
        self.shares()

    def shares(self) -> tuple[tuple[OilKind, float], ...]:
        """Return the kinds of a blend with their shares by mass, which add up to 1; none of one oil."""
        told = [self._part(part) for part in self.parts]
        whole = sum(share for _, share in told)
        return tuple((kind, share / whole) for kind, share in told)

    def _part(self, part: str) -> tuple[OilKind, float]:
        word, _, share = part.strip().removesuffix("%").strip().rpartition(" ")
        try:
            kind, number = OilKind(word.strip()), float(share)
        except ValueError:
            raise ToldError(
                N_("part {part!r}: write a kind and its share, such as 'sunflower 60'"), part=part
            ) from None
        if not 0 < number < math.inf:
            raise ToldError(N_("part {part!r}: its share must be above 0"), part=part)
        return kind, number


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A food that is fried; ``None`` takes the default of its kind.

    No ``allergens`` are (); None: nobody wrote them down.
    """

    key: str
    name: str
    kind: FoodKind = FoodKind.OTHER
    wear_factor: float | None = None
    uptake_kg_per_kg: float | None = None
    portion_kg: float | None = None
    basket_kg: float | None = None
    allergens: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fryer:
    """One bath that is filled, heated and measured on its own.

    ``oil_mass_kg`` is the oil at the cold-fill mark, ``minimum_mass_kg`` at the
    mark below which the elements lie bare. ``usual_load_kg`` is food a service. ``standby_temp_c`` is
    what the thermostat is turned down to while nothing is fried; None: it is not. Its food is promised
    to be what it is ``protected`` as.
    """

    key: str
    name: str
    oil: str
    oil_mass_kg: float
    set_temp_c: float = 175.0
    standby_temp_c: float | None = None
    minimum_mass_kg: float | None = None
    draining: Draining = Draining.HAND
    fries: tuple[str, ...] = ()
    usual_load_kg: float | None = None
    protected: tuple[Protection, ...] = ()

    @property
    def stands_at_c(self) -> float:
        """The temperature while it is hot and nothing is fried, never above the one it is set to."""
        return self.set_temp_c if self.standby_temp_c is None else min(self.standby_temp_c, self.set_temp_c)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A hand meter for polar compounds.

    ``largest_error_pct`` is the largest error its maker states, in percentage
    points; the temperatures are the oil temperatures it may be read at. What nobody told is
    doubted more than most meters deserve.
    ``in_use_since`` is a day of the kitchen; None where nobody wrote it down.
    """

    key: str
    name: str
    resolution_pct: float = WIDE_RESOLUTION_PCT
    largest_error_pct: float = WIDE_ERROR_PCT
    min_oil_temp_c: float = NARROW_C[0]
    max_oil_temp_c: float = NARROW_C[1]
    in_use_since: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceLot:
    """A lot of reference oil: its TPC with expanded uncertainty and coverage factor k.

    With an ``oil`` it is a control oil of the house: used oil of that kind, valued by the laboratory and
    read hot. ``read_at_c`` is the temperature on its label, to be read at; None: 150 °C of a control
    oil, of reference oil nobody told it.

    Raises ValueError for a value that is not above 0, a negative uncertainty, or a coverage
    factor that is not above 0.
    """

    key: str
    name: str
    tpc_pct: float
    expanded_u_pct: float
    coverage_factor: float = 2.0
    opened: date | None = None
    best_before: date | None = None
    oil: str | None = None
    read_at_c: float | None = None

    def __post_init__(self) -> None:
        """Refuse a lot that nothing can be checked against."""
        if not 0 < self.tpc_pct <= 100:
            raise ToldError(
                N_("reference oil {key!r}: its value must be above 0 and at most 100 %"), key=self.key
            )
        if not 0 <= self.expanded_u_pct < math.inf:
            raise ToldError(
                N_("reference oil {key!r}: its uncertainty cannot be below 0 or unknown"), key=self.key
            )
        if not 0 < self.coverage_factor < math.inf:
            raise ToldError(N_("reference oil {key!r}: its coverage factor k must be above 0"), key=self.key)

    @property
    def u_pct(self) -> float:
        """The standard uncertainty of the value: U/k."""
        return self.expanded_u_pct / self.coverage_factor

    @property
    def at_c(self) -> float | None:
        """The temperature it is read at; None where nobody told it."""
        return CONTROL_C if self.read_at_c is None and self.oil is not None else self.read_at_c


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
    clauses: tuple[Clause, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Kitchen:
    """One place with its fryers, meters and one day book.

    ``risk`` is the accepted probability α of passing a limit, 0 < α ≤ 0.5; for
    binding limits and guidance it counts at most as 0.05. ``limits`` are the
    kitchen's own; those of ``jurisdiction`` are added by the core. A meter may be off by
    ``permissible_pct`` in reference oil, either way; ``laboratory_price`` is what the
    laboratory asks for a sample, ``polymers`` what decides on limits on them. ``readings`` is the house's
    rule on when a bath is read at the latest. Cards and pages are printed in ``language``, of None in
    that of whoever prints them.
    """

    name: str
    fryers: tuple[Fryer, ...]
    oils: tuple[Oil, ...]
    products: tuple[Product, ...] = ()
    meters: tuple[Meter, ...] = ()
    reference_lots: tuple[ReferenceLot, ...] = ()
    services: tuple[Service, ...] = ()
    limits: tuple[Limit, ...] = ()
    jurisdiction: str | None = None
    timezone: str = "UTC"
    risk: float = 0.05
    permissible_pct: float = PERMISSIBLE_PCT
    laboratory_price: Decimal | None = None
    polymers: Polymers = Polymers.POLAR_COMPOUNDS
    readings: Readings = Readings.WHEN_DUE
    language: Language | None = None

    def __post_init__(self) -> None:
        """Raise ValueError where a name points nowhere, is given twice, or a number cannot be."""
        for fryer in self.fryers:
            self._check(fryer)
        for lot in self.reference_lots:
            if lot.oil is not None and lot.oil not in {oil.key for oil in self.oils}:
                raise ToldError(
                    N_("reference oil {key!r}: no oil {oil!r} in this kitchen"), key=lot.key, oil=lot.oil
                )
        for things in (self.fryers, self.oils, self.products, self.meters, self.reference_lots):
            keys = [thing.key for thing in things]
            if doubled := {key for key in keys if keys.count(key) > 1}:
                raise ToldError(N_("key {doubled!r} is given twice"), doubled=min(doubled))
        for product in self.products:
            if product.wear_factor is not None and not product.wear_factor > 0:
                raise ToldError(
                    N_("product {key!r}: wear_factor must be above 0, or left out"), key=product.key
                )
        if not 0 < self.risk <= 0.5:
            raise ToldError(N_("risk must lie above 0 and at most at 0.5"))
        if not 0 < self.permissible_pct <= LARGEST_DEVIATION_PCT:
            raise ToldError(
                N_("permissible_pct must lie above 0 and at most at {most}"), most=LARGEST_DEVIATION_PCT
            )

    def _check(self, fryer: Fryer) -> None:
        if fryer.oil not in {oil.key for oil in self.oils}:
            raise ToldError(N_("fryer {key!r}: no oil {oil!r} in this kitchen"), key=fryer.key, oil=fryer.oil)
        if missing := set(fryer.fries) - {product.key for product in self.products}:
            raise ToldError(
                N_("fryer {key!r}: no product {missing!r} in this kitchen"),
                key=fryer.key,
                missing=min(missing),
            )
        if not fryer.oil_mass_kg > 0:
            raise ToldError(N_("fryer {key!r}: oil_mass_kg must be above 0"), key=fryer.key)
        if fryer.usual_load_kg is not None and not fryer.usual_load_kg > 0:
            raise ToldError(N_("fryer {key!r}: usual_load_kg must be above 0, or left out"), key=fryer.key)


def find(things: Sequence[T], key: str) -> T:
    """Return the thing with this key; raise KeyError naming the keys there are."""
    for thing in things:
        if thing.key == key:
            return thing
    raise KeyError(f"no {key!r} among {', '.join(t.key for t in things) or 'none'}")
