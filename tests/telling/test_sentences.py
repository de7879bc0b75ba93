"""Every code of the core has its sentence, and no sentence is left with a gap."""

from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import product

import pytest

from kettlewell.book import MeterCheck
from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.limits import LimitNote, LimitStatus, NoteCode, OilLimit, Quantity
from kettlewell.core.metering.charts import Direction, Signal, SignalKind
from kettlewell.core.metering.checks import Remark, RemarkKey
from kettlewell.core.outlook.meters import AfterDays, FoundOff, Reliable, When, WhenCode
from kettlewell.core.outlook.values import (
    Because,
    CardLine,
    Caution,
    ChangesIf,
    Doubted,
    Flag,
    FlagKind,
    Odds,
    PastLimit,
    Remedy,
    WallCard,
)
from kettlewell.telling.cards import rows_of
from kettlewell.telling.cautions import caution_message
from kettlewell.telling.checks import remark_message, signal_message, when_message
from kettlewell.telling.flags import flag_message
from kettlewell.telling.limits import note_message, oil_limit_message
from kettlewell.telling.message import tidy
from kettlewell.telling.reasons import reason_message, remedy_message

AT = datetime(2026, 11, 16, 14, 30, tzinfo=UTC)
READINGS = (Reason.MEAN_PAST, Reason.PAST_AND_RISKY, Reason.ONE_PAST)
DOUBTS = (Reason.CONTRADICTED, Reason.DOUBTED)
ABOUT_METERS = (FlagKind.METER_OFF, FlagKind.METER_MOVED)
OF_NO_READING = (*ABOUT_METERS, FlagKind.SAME_FIGURE, FlagKind.SILENT, FlagKind.THERMOSTAT)
RISKS = (Reason.TOO_RISKY, Reason.TOO_RISKY_NEXT, Reason.RISK_ACCEPTED)


def flagged(kind):
    return Flag(
        kind=kind, at=AT, ref="#3", reading_pct=7.5, oil_temp_c=35.0, surprise_pct=-6.26, meter="Blue"
    )


def odds(code, quantity=Quantity.TPC, *, metered=True):
    return Odds(
        code=code,
        quantity=quantity,
        limit_pct=20.97,
        service="Lunch",
        ends_at=AT,
        passing_probability=0.073,
        risk=0.05,
        metered=metered,
    )


def because(code):
    if code in RISKS:
        return odds(code)
    if code in READINGS:
        return PastLimit(code=code, reading_pct=24.25, limit_pct=24.0)
    if code in DOUBTS:
        return Doubted(code=code, flag=flagged(FlagKind.CONTRADICTS))
    if code is Reason.METER_OFF:
        return Doubted(code=code, flag=flagged(FlagKind.METER_OFF))
    return Because(code=code)


def whole(reader, message):
    sentence = reader.tell(message)
    assert sentence[0].isupper() or sentence[0].isdigit()
    assert sentence[-1] in ".?"
    assert "{" not in sentence
    return sentence


@pytest.mark.parametrize("code", Reason)
def test_every_reason_is_told(reader, code):
    assert whole(reader, reason_message(because(code)))


def test_reasons_name_their_numbers_as_a_cook_reads_them(reader):
    told = {code: whole(reader, reason_message(because(code))) for code in Reason}
    assert told[Reason.MEAN_PAST] == ("The proper readings average 24.2 %, over the 24 % limit.")
    assert told[Reason.ONE_PAST] == "One reading is over the 24 % limit: measure again now."
    assert told[Reason.TOO_RISKY] == told[Reason.TOO_RISKY_NEXT]
    assert told[Reason.TOO_RISKY] == (
        "Chance of going over the 21 % limit by the end of Lunch (Mon 14:30): 7.3 %. You allow 5 %."
    )
    assert told[Reason.RISK_ACCEPTED].endswith("by the end of Lunch (Mon 14:30): 7.3 %.")
    assert told[Reason.CONTRADICTED] == told[Reason.DOUBTED]


@pytest.mark.parametrize(("code", "quantity", "metered"), list(product(RISKS, Quantity, [True, False])))
def test_a_chance_names_polymers_and_says_where_there_is_no_meter(reader, code, quantity, metered):
    told = whole(reader, reason_message(odds(code, quantity, metered=metered)))
    assert ("polymers" in told) is (quantity is Quantity.POLYMERS)
    assert told.startswith("No meter in use") is not metered
    assert ("You allow" in told) is (code is not Reason.RISK_ACCEPTED)


@pytest.mark.parametrize("code", Remedy)
def test_every_remedy_is_told(reader, code):
    with_reading = code in (Remedy.READING_BELOW, Remedy.READING_FROM)
    told = whole(reader, remedy_message(ChangesIf(code=code, reading_pct=19.5 if with_reading else None)))
    assert ("19.5 %" in told) is with_reading


@pytest.mark.parametrize(("surprise_pct", "said"), [(-6.26, "too low"), (6.26, "too high")])
def test_a_meter_found_off_is_told_by_its_name_and_by_how_much(reader, surprise_pct, said):
    flag = replace(flagged(FlagKind.METER_OFF), surprise_pct=surprise_pct)
    assert whole(reader, flag_message(flag)).startswith(
        f"The check of Mon 14:30 found Blue reading 6.3 points {said}"
    )


@pytest.mark.parametrize(("surprise_pct", "said"), [(-6.26, "lower"), (6.26, "higher")])
def test_a_meter_that_moved_is_told_by_its_name_and_sent_to_the_reference_oil(reader, surprise_pct, said):
    told = whole(reader, flag_message(replace(flagged(FlagKind.METER_MOVED), surprise_pct=surprise_pct)))
    assert told.startswith(f"Blue read 6.3 points {said}")
    assert told.endswith("check it in reference oil.")


def test_silent_days_are_asked_about(reader):
    told = whole(reader, flag_message(Flag(kind=FlagKind.SILENT, at=AT, days=3)))
    assert "3 days" in told
    assert "did you fry?" in told


@pytest.mark.parametrize(("hotter_c", "said"), [(12.4, "12 °C hotter than"), (-12.4, "12 °C colder than")])
def test_a_thermostat_that_is_off_is_told_by_how_much_and_which_way(reader, hotter_c, said):
    told = whole(reader, flag_message(Flag(kind=FlagKind.THERMOSTAT, at=AT, hotter_c=hotter_c)))
    assert said in told
    assert "thermostat" in told


@pytest.mark.parametrize("kind", sorted(set(FlagKind) - set(OF_NO_READING)))
def test_every_flag_is_told_with_what_was_read(reader, kind):
    told = whole(reader, flag_message(flagged(kind)))
    assert "7.5 %" in told
    assert ("6.3 points" in told) is (kind in (FlagKind.WET, FlagKind.CONTRADICTS, FlagKind.LABORATORY))
    assert ("35 °C" in told) is (kind is FlagKind.OUT_OF_RANGE)


@pytest.mark.parametrize("caution", Caution)
def test_every_caution_is_told(reader, caution):
    assert whole(reader, caution_message(caution))


WORDS = {
    VerdictKey.CHANGE_BEFORE: "change before frying",
    VerdictKey.CHANGE_AFTER: "change after this service",
    VerdictKey.MEASURE_AGAIN: "measure again",
    VerdictKey.FRY_ON: "fry on",
}


@pytest.mark.parametrize(
    ("from_pct", "to_pct", "by_reading", "starts"),
    [
        (None, 12.5, True, "Reading below 12.5 %:"),
        (12.5, 22.0, True, "Reading 12.5 % to below 22 %:"),
        (22.0, None, True, "Reading 22 % or more:"),
        (None, None, True, "Reading of any value:"),
        (None, None, False, ""),
    ],
)
@pytest.mark.parametrize("key", VerdictKey)
def test_every_line_of_a_card_names_its_edges_and_its_verdict(
    reader, key, from_pct, to_pct, by_reading, starts
):
    """Where the bath is drained by hand it is switched off, and changed once it is cold."""
    line = CardLine(key=key, from_pct=from_pct, to_pct=to_pct)
    pumped = WallCard(
        fryer="F1", made_at=AT, expires_at=AT, by_reading=by_reading, by_hand=False, lines=(line,)
    )
    told, by_hand = (
        row.sentence(reader)
        for card in (pumped, replace(pumped, by_hand=True))
        for row in rows_of(card, reader)
    )
    assert told.startswith(starts)
    assert by_hand.startswith(starts)
    words = WORDS[key].replace("change", "change the oil")
    assert words in told.lower()
    cold = key is VerdictKey.CHANGE_BEFORE
    assert ("switch it off; change the oil once it is cold" if cold else words) in by_hand.lower()


def test_a_low_reading_says_why_it_is_measured_again_and_no_other_does(reader):
    again, on, change = VerdictKey.MEASURE_AGAIN, VerdictKey.FRY_ON, VerdictKey.CHANGE_BEFORE
    edges = (None, 8.0, 16.0, 24.0, None)

    def acts(*keys):
        ends = (*edges[: len(keys)], None)
        lines = tuple(
            CardLine(key=key, from_pct=low, to_pct=high)
            for key, low, high in zip(keys, ends, (*ends[1:], None), strict=False)
        )
        card = WallCard(fryer="F1", made_at=AT, expires_at=AT, by_reading=True, by_hand=False, lines=lines)
        return ["lower than expected" in row.act for row in rows_of(card, reader)]

    assert acts(again, on, again, change) == [True, False, False, False]
    assert acts(again, change) == [False, False]
    assert acts(on, again, change) == [False, False, False]


@pytest.fixture
def limit(kitchen):
    return replace(kitchen.limits[0], jurisdiction="DE", value=12.0)


def test_a_limit_that_judges_is_told_and_one_on_polymers_with_what_it_stands_for(reader, limit):
    polar = OilLimit(limit=limit, tpc_pct=12.0, tpc_u_pct=0.0, risk=0.05)
    assert whole(reader, oil_limit_message(polar)) == "Judged: polar compounds, limit 12 %."
    on_polymers = replace(limit, quantity=Quantity.POLYMERS.value)
    measured = OilLimit(limit=on_polymers, tpc_pct=21.0, tpc_u_pct=1.887, risk=0.05)
    told = whole(reader, oil_limit_message(measured))
    assert "12 % polymers is about 21 % polar compounds (± 1.9)." in told
    rough = whole(reader, oil_limit_message(replace(measured, rough=True)))
    assert rough == told[:-1] + "; a rough figure, derived and not measured."
    own = whole(reader, oil_limit_message(replace(measured, by_laboratory=True)))
    assert "by your laboratory's figures 12 % polymers is about 21 % polar compounds in this oil" in own


@pytest.mark.parametrize("code", NoteCode)
@pytest.mark.parametrize("unfit_when", [">", ">="])
def test_every_note_on_a_limit_is_told(reader, limit, code, unfit_when):
    held = code in (NoteCode.KEPT, NoteCode.TOO_HOT)
    note = LimitNote(
        limit=replace(limit, quantity="oil temperature", unit="degC", value=180.0, unfit_when=unfit_when),
        status=LimitStatus.NOT_JUDGED,
        code=code,
        set_temp_c=182.5 if held else None,
    )
    told = whole(reader, note_message(note))
    advice = code in (NoteCode.METER_SCREENS, NoteCode.NO_TOP_UP)
    assert (limit.jurisdiction if advice else "oil temperature") in told
    assert ("182.5 °C" in told) is held
    too_hot_below = code is NoteCode.TOO_HOT and unfit_when == ">="
    assert ("below" in told) is (too_hot_below or code is NoteCode.FOODS_UNKNOWN)


REMARKS = {
    RemarkKey.EXPIRED: ({"best_before": date(2026, 9, 6)}, "6 Sept 2026"),
    RemarkKey.TEMP_UNKNOWN: ({}, "not noted"),
    RemarkKey.TOO_COLD: ({"oil_temp_c": 20.0, "read_at_c": 50.0}, "Warm it to about 50 °C"),
    RemarkKey.TOO_HOT: ({"oil_temp_c": 170.0, "read_at_c": 150.0}, "Let it cool to about 150 °C"),
    RemarkKey.SCATTERED: ({"range_pct": 2.449}, "2.4 points apart"),
}


@pytest.mark.parametrize("key", RemarkKey)
def test_every_remark_on_a_check_is_told(reader, key):
    numbers, said = REMARKS[key]
    assert said in whole(reader, remark_message(Remark(key=key, **numbers)))


WHENS = {
    WhenCode.ADJUST: (FoundOff(code=WhenCode.ADJUST, tpc_pct=10.0, lot="Lot 7"), "shows 10 % in Lot 7"),
    WhenCode.SOONER: (AfterDays(code=WhenCode.SOONER, days=18), "18 days after"),
    WhenCode.BY_DRIFT: (AfterDays(code=WhenCode.BY_DRIFT, days=60), "60 days after"),
    WhenCode.BY_PASSES: (
        Reliable(code=WhenCode.BY_PASSES, days=20, passed=7, checks=9),
        "20 days after the last check: it passed 7 of 9",
    ),
    WhenCode.NEAR: (AfterDays(code=WhenCode.NEAR, days=7), "A week after"),
    WhenCode.EVERY: (AfterDays(code=WhenCode.EVERY, days=28), "Four weeks after"),
    WhenCode.NO_LOT: (When(code=WhenCode.NO_LOT), "reference oil first"),
    WhenCode.NEVER: (When(code=WhenCode.NEVER), "never been checked"),
    WhenCode.REPEAT: (FoundOff(code=WhenCode.REPEAT, tpc_pct=10.0, lot="Lot 7"), "repeat it"),
    WhenCode.OUT: (FoundOff(code=WhenCode.OUT, tpc_pct=10.0, lot="Lot 7"), "out of use"),
}


@pytest.mark.parametrize("code", WhenCode)
def test_why_a_check_is_due_is_told(reader, code):
    when, said = WHENS[code]
    assert said in whole(reader, when_message(when))


def test_every_signal_of_a_chart_is_told_apart(reader):
    check = MeterCheck(at=AT, meter="hand", lot="R1", readings_pct=(10.0,), oil_temp_c=50.0)
    told = {
        whole(reader, signal_message(Signal(kind=kind, index=0, size_pct=1.0, direction=way), check))
        for kind, way in product(SignalKind, Direction)
    }
    assert len(told) == 4


@pytest.mark.parametrize(("number", "told"), [(24.0, "24"), (21.04, "21.0"), (20.97, "21.0"), (7.25, "7.2")])
def test_a_number_is_told_whole_or_to_a_tenth(number, told):
    assert str(tidy(number)) == told
