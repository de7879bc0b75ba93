"""What is told of a kind of entry, and the fields that several kinds share."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum

from kettlewell.book.entries import Entry
from kettlewell.book.fields import SOURCES, Field, Type, answer, mass, percent, temperature, thing, yes
from kettlewell.book.words import N_


class Concerns(StrEnum):
    """What an entry is of."""

    FRYER = "fryer"
    METER = "meter"
    KITCHEN = "kitchen"


class MayWrite(StrEnum):
    """Who may write, correct and undo entries of a kind."""

    EVERYONE = "everyone who records"
    DECIDERS = "those who set the kitchen up"
    PROGRAM = "the program alone"


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryKind:
    """One kind of entry.

    ``key`` is its name in the day book, ``words`` what its entries are called together, ``title``
    what is written at a fryer. It ``says`` the first of these sentences whose {fields} are all
    told; where there is none, its sentence needs more than that. ``value``
    is its class where the belief follows from it. ``log`` are the words of log.csv that say it,
    each with the fields that the word itself tells. ``about`` is the field that names the entry
    which it answers, of one of the kinds ``answers``.
    """

    key: str
    words: str
    title: str = ""
    says: tuple[str, ...] = ()
    fields: tuple[Field, ...] = ()
    concerns: Concerns = Concerns.FRYER
    value: type[Entry] | None = None
    log: Mapping[str, Mapping[str, str | bool]] = field(default_factory=dict)
    about: str = ""
    answers: frozenset[str] = frozenset()
    writer: MayWrite = MayWrite.EVERYONE
    correctable: bool = True
    always_told: bool = False

    @property
    def counts(self) -> bool:
        """Whether the belief about the baths follows from it."""
        return self.value is not None

    def attribute(self, told: Field) -> str:
        """Return what a field is called in the value; "" where the value does not hold it."""
        name = told.attribute or told.name
        return name if self.value and name in {each.name for each in fields(self.value)} else ""


FRYER = thing(name="fryer", things="fryers", label=N_("Fryer"), column="fryer")
METER = thing(name="meter", things="meters", label=N_("Meter"), column="meter")
TPC = percent(name="tpc_pct", label=N_("Polar compounds, %"), column="amount")
BATH_TEMP = temperature(label=N_("Oil temperature, °C"))
BACK = yes(name="back", label=N_("Back in use"))
AMOUNT = mass(name="amount", decimals=3, label=N_("How much"))
MASS = mass(name="mass_kg", column="amount")
# where it was first written down, unless in the day book
SOURCE = Field(
    name="source", type=Type.CHOICE, required=False, choices=SOURCES, label=N_("First written down")
)
CONDITIONS = (
    answer(name="no_food", label=N_("Bath empty of food")),
    answer(name="no_bubbles", label=N_("Oil still, without bubbles")),
    answer(name="probe_clear", label=N_("Probe clear of metal, as deep as its instructions say")),
    answer(name="steady", label=N_("Temperature steady")),
)
