"""What a field of an entry or of a setting may hold: its type, unit, bounds, choices and words."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import partial

from kettlewell.book.words import N_

Choices = tuple[tuple[str, str], ...]

MOST_KG = 10_000
LONGEST_KEY = 40
LEAST = Decimal("0.000001")  # a computed number is written down to six decimals

ANSWERS: Choices = (("yes", N_("Yes")), ("no", N_("No")), ("unknown", N_("I don't know")))
SIGNS: Choices = (
    ("smell", N_("Smell")),
    ("smoke", N_("Smoke")),
    ("foam", N_("Foam")),
    ("colour", N_("Colour")),
    ("taste", N_("Taste of the food")),
)
CARE: Choices = (
    ("skim", N_("Skimmed")),
    ("filter", N_("Filtered, own filter")),
    ("shared-filter", N_("Filtered, shared filter")),
    ("adsorbent", N_("Treated with filter powder")),
    ("boil-out", N_("Boiled out")),
)
OIL_DONE: Choices = (
    ("drained", N_("Drained into the waste-oil drum")),
    ("stored", N_("Taken out and kept apart")),
    ("kept", N_("Still in the fryer, switched off")),
    ("book_incomplete", N_("Still in use: the day book was incomplete")),
    ("chef_decided", N_("Still in use: the chef decided so (why, in the note)")),
    ("unknown", N_("I don't know")),
)
FOOD_DONE: Choices = (
    ("thrown_away", N_("Thrown away")),
    ("held", N_("Kept apart until the chef decides")),
    ("served", N_("Served already")),
    ("none", N_("Nothing was fried")),
    ("unknown", N_("I don't know")),
)
TRAINED_IN: Choices = (
    ("readings", N_("Taking readings")),
    ("draining", N_("Draining hot oil")),
    ("emergency", N_("What to do at a fire and a burn")),
    ("records", N_("These records")),
)
COMPLAINTS: Choices = (
    ("taste", N_("Taste")),
    ("smell", N_("Smell")),
    ("colour", N_("Colour")),
    ("other", N_("Something else (what, in the note)")),
)
CAUSES: Choices = (
    ("long", N_("Fried too long on it")),
    ("hot", N_("Too hot")),
    ("crumbs", N_("Crumbs not skimmed or filtered")),
    ("top_up", N_("Hardly topped up")),
    ("reading", N_("The reading or the meter was wrong")),
    ("unknown", N_("I don't know")),
)
OIL_UNITS: Choices = (
    ("mark", N_("To the mark")),
    ("jug", N_("Jugs")),
    ("pack", N_("Packs")),
    ("kg", "kg"),
    ("l", "l"),
)
SOURCES: Choices = (("paper", N_("From a sheet of paper")),)
FOOD_UNITS: Choices = (("kg", "kg"), ("portion", N_("Portions")), ("basket", N_("Baskets")))
STANDS: Choices = (
    ("stands", N_("It was right")),
    ("not", N_("It was wrong")),
    ("unknown", N_("I don't know")),
)


class Type(StrEnum):
    """What sort of value a field holds, as it stands in the day book (JSON)."""

    NUMBER = "number"  # a decimal string
    NUMBERS = "numbers"  # a few of them, one at least
    TEXT = "text"
    CHOICE = "choice"
    CHOICES = "choices"  # any of them, or none
    ANSWER = "answer"  # yes, no, unknown
    YES = "yes"  # true or false
    ENTRY = "entry"  # the id of another entry
    PERSON = "person"  # the id of a person
    MOMENT = "moment"  # a time, UTC
    DAY = "day"  # a day of the kitchen's calendar
    JSON = "json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of what an entry says.

    Bounds are in the unit that its name tells, both included. ``things`` is the sort of thing of
    the kitchen whose key it is, ``most`` the longest text or the most numbers. ``attribute`` is
    what it is called in the value of the entry, where that is not its name; several answers with
    one attribute are one: whether all are yes. ``column`` is its cell in a row of log.csv.
    ``only_if`` names a field and what it says where this one is asked, ``or_else`` what is told
    where it is silent then; ``other_than`` is a field it may not equal, ``or_same`` what is told then.
    """

    name: str
    type: Type
    label: str = ""
    required: bool = True
    low: Decimal | int | None = None
    high: Decimal | int | None = None
    decimals: int | None = None
    most: int | None = None
    choices: Choices = ()
    things: str = ""
    attribute: str = ""
    column: str = ""
    only_if: tuple[str, str] | None = None
    or_else: tuple[str, str] = ("", "")
    other_than: str = ""
    or_same: str = ""


number = partial(Field, type=Type.NUMBER)
percent = partial(Field, type=Type.NUMBER, low=0, high=100, decimals=2)
mass = partial(Field, type=Type.NUMBER, low=0, high=MOST_KG, required=False)
temperature = partial(
    Field,
    name="oil_temp_c",
    type=Type.NUMBER,
    low=0,
    high=300,
    decimals=1,
    required=False,
    column="oil_temp",
)
thing = partial(Field, type=Type.TEXT, most=LONGEST_KEY)
choice = partial(Field, type=Type.CHOICE)
delivery = partial(thing, name="delivery", most=100, label=N_("Delivery or lot"))
yes = partial(Field, type=Type.YES, required=False)
choices = partial(Field, type=Type.CHOICES, required=False)
answer = partial(Field, type=Type.ANSWER, choices=ANSWERS, attribute="sound", column="sound")
cited = partial(Field, type=Type.ENTRY)
drained_by = partial(Field, name="drained_by", type=Type.PERSON, required=False, label=N_("Who drained it?"))
