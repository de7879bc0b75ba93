"""What happens to a meter."""

from kettlewell.book import entries
from kettlewell.book.fields import LEAST, Field, Type, number, temperature, thing, yes
from kettlewell.book.kinds.kind import BACK, METER, Concerns, EntryKind, MayWrite
from kettlewell.book.words import N_

AT_METERS = (
    EntryKind(
        key="meter_check",
        words=N_("Meter checks"),
        concerns=Concerns.METER,
        value=entries.MeterCheck,
        fields=(
            METER,
            thing(name="lot", things="reference_lots", label=N_("Reference oil"), column="lot"),
            Field(
                name="readings",
                type=Type.NUMBERS,
                label=N_("Readings, %"),
                low=0,
                high=100,
                decimals=2,
                most=entries.MOST_CHECK_READINGS,
                attribute="readings_pct",
                column="amount",
            ),
            temperature(label=N_("Temperature of the oil, °C")),
            yes(name="adjusted", label=N_("Read after adjusting")),
        ),
        log={"meter-check": {}, "adjusted": {"adjusted": True}},
    ),
    EntryKind(
        key="meter_order",
        words=N_("Meters in and out of use"),
        concerns=Concerns.METER,
        value=entries.MeterOut,
        fields=(METER, BACK),
        log={"meter-out": {}, "meter-back": {"back": True}},
        writer=MayWrite.DECIDERS,
    ),
    EntryKind(
        key="comparison",
        words=N_("Meters compared"),
        says=(
            N_("{meter} was compared with {against} in {oil}; what was found counts from then on."),
            N_("{meter} was compared with the laboratory in {oil}; what was found counts from then on."),
        ),
        concerns=Concerns.METER,
        value=entries.Adopted,
        fields=(
            METER,
            thing(
                name="against",
                things="meters",
                required=False,
                label=N_("Compared with"),
                column="against",
                other_than="meter",
                or_same=N_("Choose another meter: this is the same one."),
            ),
            thing(name="oil", things="oils", label=N_("In"), column="oil"),
            *(
                number(name=name, label=label, low=low, high=high, decimals=6, column="amount")
                for name, label, low, high in (
                    ("offset_pct", N_("Offset, points"), -100, 100),
                    ("offset_u_pct", N_("Standard uncertainty of the offset, points"), LEAST, 100),
                    ("gain", N_("Gain"), LEAST, 100),
                    ("gain_u", N_("Standard uncertainty of the gain"), LEAST, 100),
                    ("correlation", N_("Correlation of the two"), LEAST - 1, 1 - LEAST),
                )
            ),
        ),
        log={"comparison": {}},
        writer=MayWrite.DECIDERS,
    ),
)
