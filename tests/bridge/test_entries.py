"""Rows and entries say the same, whichever way they are turned."""

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from kettlewell import book
from kettlewell.book.payloads import payload_of, value_of
from kettlewell.records.checks import checked_payload

AT = datetime(2026, 11, 20, 12, tzinfo=UTC)
STAMP = {"at": AT, "ref": "#7"}
tpc_pct = st.integers(0, 10000).map(lambda n: n / 100)
mass_kg = st.none() | st.integers(0, 100_000).map(lambda n: n / 1000)
temp_c = st.none() | st.integers(0, 3000).map(lambda n: n / 10)
u_pct = st.none() | st.sampled_from([0.4, 1.25])
meter = st.none() | st.just("hand")


def of_kind(kind, /, **fields):
    place = {"meter": "hand"} if issubclass(kind, book.AtMeter) else {"fryer": "F1"}
    return st.builds(lambda said: kind(**STAMP, **place, **said), st.fixed_dictionaries(fields))


def to_6(low, high):
    return st.integers(int(low * 1e6), int(high * 1e6)).map(lambda n: n / 1e6)


entries = st.one_of(
    of_kind(book.Reading, tpc_pct=tpc_pct, oil_temp_c=temp_c, meter=meter, sound=st.booleans()),
    of_kind(book.LabResult, tpc_pct=tpc_pct, u_pct=u_pct),
    of_kind(book.SensoryNote, spoiled=st.booleans(), note=st.sampled_from(["", "smoke", "smell, foam"])),
    of_kind(book.TopUp, mass_kg=mass_kg),
    of_kind(book.Load, product=st.just("fries"), mass_kg=mass_kg),
    of_kind(book.HotHours, hot_h=st.sampled_from([0.0, 2.5]), oil_temp_c=temp_c),
    of_kind(book.Change, oil=st.none() | st.just("oil")),
    of_kind(book.Move, into=st.just("F2"), mass_kg=mass_kg),
    of_kind(book.Care, kind=st.sampled_from(book.CARE_KINDS)),
    of_kind(book.OutOfOrder, back=st.booleans()),
    of_kind(book.Store),
    st.builds(
        book.Closed,
        at=st.just(AT),
        ref=st.just("#7"),
        until=st.datetimes(datetime(2026, 11, 21), datetime(2030, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
        fryer=st.none() | st.just("F1"),
    ),
    of_kind(book.Return),
    of_kind(
        book.MeterCheck,
        lot=st.just("bottle"),
        readings_pct=st.lists(tpc_pct, min_size=1, max_size=3).map(tuple),
        oil_temp_c=temp_c,
        adjusted=st.booleans(),
    ),
    of_kind(book.MeterOut, back=st.booleans()),
    of_kind(
        book.Adopted,
        oil=st.just("oil"),
        against=st.none() | st.just("second"),
        offset_pct=to_6(-100, 100),
        offset_u_pct=to_6(1e-6, 100),
        gain=to_6(1e-6, 100),
        gain_u=to_6(1e-6, 100),
        correlation=to_6(-0.999999, 0.999999),
    ),
)


@given(entries)
def test_an_entry_turned_into_a_row_and_back_is_the_same(entry):
    kind, payload = payload_of(entry)
    written = checked_payload(kind, payload)
    assert value_of(kind, written, at=entry.at, ref=entry.ref) == entry
