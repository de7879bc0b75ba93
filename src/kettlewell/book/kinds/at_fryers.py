"""What happens at a fryer."""

from decimal import Decimal

from kettlewell.book import entries
from kettlewell.book.fields import (
    CARE,
    FOOD_UNITS,
    OIL_UNITS,
    SIGNS,
    Field,
    Type,
    choice,
    drained_by,
    mass,
    number,
    thing,
    yes,
)
from kettlewell.book.kinds.kind import AMOUNT, BACK, BATH_TEMP, CONDITIONS, FRYER, MASS, TPC, EntryKind
from kettlewell.book.words import N_

AT_FRYERS = (
    EntryKind(
        key="reading",
        words=N_("Readings"),
        value=entries.Reading,
        fields=(
            FRYER,
            TPC,
            BATH_TEMP,
            thing(name="meter", things="meters", label=N_("Meter"), column="meter", required=False),
            *CONDITIONS,
        ),
        log={"reading": {}},
        always_told=True,
    ),
    EntryKind(
        key="laboratory",
        words=N_("Laboratory results"),
        value=entries.LabResult,
        fields=(
            FRYER,
            TPC,
            number(
                name="u_pct",
                label=N_("Its standard uncertainty, %"),
                low=Decimal("0.01"),
                high=100,
                decimals=2,
                required=False,
                column="uncertainty",
            ),
        ),
        log={"lab": {}},
        always_told=True,
    ),
    EntryKind(
        key="senses",
        words=N_("Smell and looks"),
        value=entries.SensoryNote,
        fields=(
            FRYER,
            yes(name="spoiled", label=N_("Spoiled"), column="amount"),
            Field(
                name="signs",
                type=Type.CHOICES,
                choices=SIGNS,
                required=False,
                label=N_("What did you notice?"),
                attribute="note",
                column="note",
            ),
        ),
        log={"smell": {}},
        always_told=True,
    ),
    EntryKind(
        key="top_up",
        words=N_("Top-ups"),
        value=entries.TopUp,
        fields=(
            FRYER,
            choice(name="unit", choices=OIL_UNITS, label=N_("Measured in"), column="unit"),
            AMOUNT,
            MASS,
        ),
        log={"top-up": {}},
    ),
    EntryKind(
        key="care",
        words=N_("Skimming, filtering, boiling out"),
        value=entries.Care,
        fields=(FRYER, choice(name="care", choices=CARE, label=N_("What was done"), attribute="kind")),
        log={kind: {"care": kind} for kind, _ in CARE},
    ),
    EntryKind(
        key="change",
        words=N_("Changes"),
        value=entries.Change,
        fields=(
            FRYER,
            drained_by(),
            thing(name="oil", things="oils", label=N_("Filled with"), column="oil", required=False),
        ),
        log={"change": {}},
    ),
    EntryKind(
        key="move",
        words=N_("Moves"),
        value=entries.Move,
        fields=(
            FRYER,
            thing(
                name="into",
                things="fryers",
                label=N_("Into fryer"),
                column="into",
                other_than="fryer",
                or_same=N_("Choose another fryer: the oil comes from this one."),
            ),
            mass(name="mass_kg", decimals=3, label=N_("How much, kg"), column="amount"),
        ),
        log={"move": {}},
    ),
    EntryKind(
        key="store",
        words=N_("Oil taken out and kept"),
        value=entries.Store,
        fields=(FRYER, drained_by()),
        log={"store": {}},
    ),
    EntryKind(
        key="return", words=N_("Oil put back"), value=entries.Return, fields=(FRYER,), log={"return": {}}
    ),
    EntryKind(
        key="load",
        words=N_("Food fried"),
        value=entries.Load,
        fields=(
            FRYER,
            thing(name="product", things="products", label=N_("What was fried"), column="product"),
            choice(name="unit", choices=FOOD_UNITS, required=False, label=N_("Measured in"), column="unit"),
            AMOUNT,
            MASS,
        ),
        log={"load": {}},
    ),
    EntryKind(
        key="hot_hours",
        words=N_("Hot hours"),
        value=entries.HotHours,
        fields=(
            FRYER,
            number(
                name="hot_h",
                label=N_("Hours hot in this service"),
                low=0,
                high=24,
                decimals=2,
                column="amount",
            ),
            BATH_TEMP,
        ),
        log={"hot-hours": {}},
    ),
    EntryKind(
        key="order",
        words=N_("In and out of use"),
        value=entries.OutOfOrder,
        fields=(FRYER, BACK),
        log={"out-of-order": {}, "back-in-order": {"back": True}},
    ),
)
