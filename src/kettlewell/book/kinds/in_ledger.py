"""What the day book holds beside what happened to baths and meters: calls, verdicts, settings, erasures."""

from typing import Any

from kettlewell.book import entries
from kettlewell.book.fields import (
    CAUSES,
    FOOD_DONE,
    LONGEST_KEY,
    OIL_DONE,
    STANDS,
    TRAINED_IN,
    Field,
    Type,
    choice,
    choices,
    cited,
    delivery,
    drained_by,
    mass,
    number,
    thing,
    yes,
)
from kettlewell.book.kinds.at_fryers import AT_FRYERS
from kettlewell.book.kinds.at_meters import AT_METERS
from kettlewell.book.kinds.kind import FRYER, Concerns, EntryKind, MayWrite
from kettlewell.book.settings import THINGS, WRITERS
from kettlewell.book.words import N_

LONGEST_SETTING_KEY = 60
MOST_PAID = 1_000_000
RENEWED = (
    ("password", N_("password")),
    ("pin", N_("PIN")),
    ("code_on", N_("code at sign-in, on")),
    ("code_off", N_("code at sign-in, off")),
)
WHERE_IT_FELL: dict[str, Any] = {
    "required": False,
    "only_if": ("stands", "not"),
    "or_else": (N_("Say what was done."), N_("Only if the verdict was wrong.")),
}

IN_LEDGER = (
    EntryKind(
        key="call",
        words=N_("Calls for the chef"),
        title=N_("Call the chef"),
        says=(N_("The chef was called to {fryer}."),),
        fields=(FRYER,),
    ),
    EntryKind(
        key="answer",
        words=N_("Answers to calls"),
        says=(N_("The call from {fryer} was answered."),),
        fields=(FRYER, cited(name="call")),
        about="call",
        answers=frozenset({"call"}),
        correctable=False,
    ),
    EntryKind(
        key="settled",
        words=N_("What was done with oil and food"),
        says=(
            N_("Done at {fryer}. Oil: {oil_done}, by {drained_by}. Food: {food_done}. Cause: {cause}."),
            N_("Done at {fryer}. Oil: {oil_done}. Food: {food_done}. Cause: {cause}."),
            N_("Done at {fryer}. Oil: {oil_done}, by {drained_by}. Food: {food_done}."),
            N_("Done at {fryer}. Oil: {oil_done}. Food: {food_done}."),
        ),
        fields=(
            FRYER,
            cited(name="verdict"),
            choice(name="oil_done", choices=OIL_DONE, label=N_("What was done with the oil?")),
            choice(
                name="food_done",
                choices=FOOD_DONE,
                label=N_("What was done with the food fried since the last good reading?"),
            ),
            drained_by(),
            choices(name="cause", choices=CAUSES, label=N_("Why did the oil go so far?")),
        ),
        about="verdict",
        answers=frozenset({"verdict"}),
    ),
    EntryKind(
        key="reviewed",
        words=N_("Signed off: what was done"),
        says=(N_("What was done at {fryer} was signed off."),),
        fields=(FRYER, cited(name="settled")),
        about="settled",
        answers=frozenset({"settled"}),
        writer=MayWrite.DECIDERS,
    ),
    EntryKind(
        key="relied",
        words=N_("Verdicts looked at again"),
        fields=(
            FRYER,
            cited(name="verdict"),
            cited(name="check"),
            choice(name="stands", choices=STANDS, label=N_("Was the verdict right?")),
            choice(
                name="oil_done", choices=OIL_DONE, label=N_("What was done with the oil?"), **WHERE_IT_FELL
            ),
            choice(
                name="food_done", choices=FOOD_DONE, label=N_("What was done with the food?"), **WHERE_IT_FELL
            ),
        ),
        about="verdict",
        answers=frozenset({"verdict"}),
        writer=MayWrite.DECIDERS,
    ),
    EntryKind(
        key="review",
        words=N_("Records looked through"),
        says=(N_("The records from {first_day} to {last_day} were looked through."),),
        concerns=Concerns.KITCHEN,
        fields=(
            Field(name="first_day", type=Type.DAY, label=N_("From")),
            Field(name="last_day", type=Type.DAY, label=N_("To")),
        ),
        writer=MayWrite.DECIDERS,
    ),
    EntryKind(
        key="recall",
        words=N_("Recalls"),
        says=(N_("The oil lot {delivery} was recalled."),),
        concerns=Concerns.KITCHEN,
        fields=(delivery(column="lot"),),
        value=entries.Recall,
        log={"recall": {}},
    ),
    EntryKind(
        key="training",
        words=N_("Trainings"),
        says=(N_("{trained} was trained. In: {trained_in}."),),
        concerns=Concerns.KITCHEN,
        fields=(
            Field(name="trained", type=Type.PERSON, label=N_("Who was trained?")),
            choices(name="trained_in", choices=TRAINED_IN, required=True, label=N_("In what?")),
        ),
        writer=MayWrite.DECIDERS,
    ),
    EntryKind(
        key="collected",
        words=N_("Old oil handed over"),
        says=(
            N_("Old oil handed over to {carrier}: {mass_kg} kg."),
            N_("Old oil handed over to {carrier}. Containers: {containers}, of {container_l} l each."),
            N_("Old oil handed over to {carrier}, amount not known."),
        ),
        concerns=Concerns.KITCHEN,
        fields=(
            mass(name="mass_kg", decimals=1, label=N_("How much, kg")),
            number(
                name="containers",
                low=1,
                high=1000,
                decimals=0,
                required=False,
                label=N_("Or how many containers"),
            ),
            number(
                name="container_l",
                low=1,
                high=2000,
                decimals=1,
                required=False,
                label=N_("Litres in one container"),
            ),
            thing(name="carrier", most=100, label=N_("Who took it")),
            thing(name="receiver", most=100, required=False, label=N_("Where it goes")),
            thing(name="waste_code", most=20, label=N_("Waste code")),
            number(
                name="paid",
                low=-MOST_PAID,
                high=MOST_PAID,
                decimals=3,
                required=False,
                label=N_("What was paid for it"),
            ),
            thing(name="currency", most=3, required=False, label=N_("Currency, such as EUR")),
        ),
    ),
    EntryKind(
        key="setting",
        words=N_("Settings"),
        concerns=Concerns.KITCHEN,
        fields=(
            choice(name="thing", choices=tuple((thing, thing) for thing in (*THINGS, *WRITERS))),
            Field(name="key", type=Type.TEXT, most=LONGEST_SETTING_KEY, required=False),
            Field(name="values", type=Type.JSON, required=False),
            yes(name="removed"),
            choices(name="renewed", choices=RENEWED),
        ),
        writer=MayWrite.PROGRAM,
        correctable=False,
    ),
    EntryKind(
        key="verdict",
        words=N_("Verdicts"),
        says=(N_("Verdict for {fryer}: {verdict}."),),
        fields=(
            FRYER,
            Field(name="verdict", type=Type.TEXT, most=20),
            Field(name="reason", type=Type.JSON),
            Field(name="changes_if", type=Type.JSON),
            *(
                number(name=name, low=0, high=1)
                for name in ("passing_probability", "passing_probability_next", "risk")
            ),
            Field(name="holds_until", type=Type.TEXT, most=LONGEST_KEY),
            number(name="tpc_mean_pct"),
            number(name="tpc_sd_pct"),
            *(
                Field(name=name, type=Type.JSON, required=False)
                for name in ("services", "limits", "taken_over_by")
            ),
            Field(name="model_version", type=Type.TEXT, most=20),
            Field(name="head_seq", type=Type.TEXT, most=20),
            Field(name="head_hash", type=Type.TEXT, most=64),
            cited(name="answers", required=False),
            yes(name="recomputing"),
        ),
        about="answers",
        answers=frozenset({*(kind.key for kind in (*AT_FRYERS, *AT_METERS)), "recall", "undone"}),
        writer=MayWrite.PROGRAM,
        correctable=False,
    ),
    EntryKind(
        key="undone",
        words=N_("Undone entries"),
        says=(N_("An entry was undone: it did not happen."),),
        concerns=Concerns.KITCHEN,
        correctable=False,
    ),
    EntryKind(
        key="imported",
        words=N_("Entries brought in from files"),
        says=(N_("Entries {first} to {last} were brought in from files."),),
        concerns=Concerns.KITCHEN,
        fields=(
            number(name="first", low=1, decimals=0),
            number(name="last", low=1, decimals=0),
            Field(name="digest", type=Type.TEXT, most=64, required=False),
            Field(name="recipe", type=Type.JSON, required=False),
        ),
        writer=MayWrite.PROGRAM,
        correctable=False,
    ),
    EntryKind(
        key="erased",
        words=N_("Erased names and notes"),
        says=(N_("Names or notes erased, as people may ask. Entries: {number}."),),
        concerns=Concerns.KITCHEN,
        fields=(Field(name="entries", type=Type.JSON),),
        writer=MayWrite.PROGRAM,
        correctable=False,
    ),
)
