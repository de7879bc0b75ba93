"""What a row of log.csv becomes, and what is said about one that becomes nothing."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from kettlewell.book import (
    Care,
    Change,
    HotHours,
    LabResult,
    Load,
    MeterCheck,
    MeterOut,
    Move,
    OutOfOrder,
    Reading,
    Return,
    SensoryNote,
    Store,
    TopUp,
)
from kettlewell.folder import KitchenError, german, read_folder, read_log, words

STAMP = {"at": datetime(2026, 9, 7, 10, 0, tzinfo=UTC), "fryer": "F1", "person": None, "ref": "log.csv:2"}
AT_METER = {**{name: said for name, said in STAMP.items() if name != "fryer"}, "meter": "hand"}


@pytest.mark.parametrize(
    ("cells", "entry"),
    [
        (
            {"what": "reading", "amount": "12.5", "unit": "%", "oil_temp": "170"},
            Reading(**STAMP, tpc_pct=12.5, oil_temp_c=170.0, meter="hand"),
        ),
        ({"what": "Reading", "amount": "12,5"}, Reading(**STAMP, tpc_pct=12.5, meter="hand")),
        (
            {"what": "reading", "amount": "9", "sound": "no"},
            Reading(**STAMP, tpc_pct=9.0, meter="hand", sound=False),
        ),
        (
            {"what": "lab", "amount": "23.4", "uncertainty": "0,6"},
            LabResult(**STAMP, tpc_pct=23.4, u_pct=0.6),
        ),
        (
            {"what": "lab", "amount": "23.4", "polymers": "11,5"},
            LabResult(**STAMP, tpc_pct=23.4, polymers_pct=11.5),
        ),
        ({"what": "lab", "amount": "23.4"}, LabResult(**STAMP, tpc_pct=23.4)),
        ({"what": "smell", "amount": "spoiled"}, SensoryNote(**STAMP, spoiled=True)),
        ({"what": "smell", "note": "some foam"}, SensoryNote(**STAMP, spoiled=False, note="some foam")),
        ({"what": "TOP UP", "unit": "mark"}, TopUp(**STAMP)),
        ({"what": "topup"}, TopUp(**STAMP)),
        ({"what": "top-up", "amount": "0", "unit": "kg"}, TopUp(**STAMP, mass_kg=0.0)),
        ({"what": "top-up", "amount": "2", "unit": "KG"}, TopUp(**STAMP, mass_kg=2.0)),
        ({"what": "load", "amount": "3"} | {"unit": "baskets"}, Load(**STAMP, product="fries", mass_kg=4.5)),
        (
            {"what": "load", "product": "fish", "amount": "800", "unit": "g"},
            Load(**STAMP, product="fish", mass_kg=0.8),
        ),
        ({"what": "load", "product": "Fish"}, Load(**STAMP, product="fish")),
        ({"what": "load", "unit": "kg"}, Load(**STAMP, product="fries")),
        (
            {"what": "hot hours", "amount": "2,5", "oil_temp": "178"},
            HotHours(**STAMP, hot_h=2.5, oil_temp_c=178.0),
        ),
        ({"what": "hot-hours", "amount": "90", "unit": "min"}, HotHours(**STAMP, hot_h=1.5)),
        ({"what": "change"}, Change(**STAMP)),
        ({"what": "change", "oil": "Heavy"}, Change(**STAMP, oil="heavy")),
        (
            {"what": "change", "lot": "May 7", "certificate": "4,5 %"},
            Change(**STAMP, delivery="May 7", fresh_tpc_pct=4.5),
        ),
        ({"what": "move", "into": "f 2"}, Move(**STAMP, into="F2")),
        (
            {"what": "move", "into": "F2", "amount": "4", "unit": "kg"},
            Move(**STAMP, into="F2", mass_kg=4.0),
        ),
        ({"what": "store"}, Store(**STAMP)),
        ({"what": "return"}, Return(**STAMP)),
        ({"what": "Boil Out"}, Care(**STAMP, kind="boil-out")),
        ({"what": "shared_filter"}, Care(**STAMP, kind="shared-filter")),
        ({"what": "out of order"}, OutOfOrder(**STAMP)),
        ({"what": "back in order"}, OutOfOrder(**STAMP, back=True)),
        (
            {"what": "meter-check", "fryer": "", "amount": "17,5 / 18", "unit": "%", "oil_temp": "50"},
            MeterCheck(**AT_METER, lot="lot-7", readings_pct=(17.5, 18.0), oil_temp_c=50.0),
        ),
        (
            {"what": "Meter check", "fryer": "nowhere", "amount": "17.5 % 18 % 17", "lot": "bottle 7"},
            MeterCheck(**AT_METER, lot="lot-7", readings_pct=(17.5, 18.0, 17.0)),
        ),
        (
            {"what": "adjusted", "amount": "18", "meter": "HAND"},
            MeterCheck(**AT_METER, lot="lot-7", readings_pct=(18.0,), adjusted=True),
        ),
        ({"what": "meter out", "fryer": ""}, MeterOut(**AT_METER)),
        ({"what": "meter-back"}, MeterOut(**AT_METER, back=True)),
    ],
)
def test_each_word_becomes_its_entry(read_row, cells, entry):
    log = read_row(**cells)
    assert log.problems == ()
    assert log.entries == (entry,)


@pytest.mark.parametrize(
    ("cells", "mass_kg"),
    [
        # 0.920 kg/L at 20 °C, less 0.00067 kg/L for each kelvin above (units.py)
        ({"amount": "1", "unit": "l"}, 0.920),
        ({"amount": "500", "unit": "ml"}, 0.460),
        ({"amount": "1", "unit": "jug"}, 1.840),
        ({"amount": "2", "unit": "jugs"}, 3.680),
        ({"amount": "1", "unit": "l", "oil_temp": "170"}, 0.8195),
        ({"amount": "1", "unit": "l", "fryer": "F2"}, 0.950),
        ({"amount": "1", "unit": "pack"}, 9.2),
        ({"amount": "250", "unit": "g"}, 0.250),
    ],
)
def test_oil_is_weighed_whatever_it_is_measured_with(read_row, cells, mass_kg):
    (entry,) = read_row(what="top-up", **cells).entries
    assert entry.mass_kg == pytest.approx(mass_kg)


@pytest.mark.parametrize(
    ("cells", "field", "advice"),
    [
        ({"what": "reading"}, "amount", "write what the meter"),
        ({"what": "reading", "amount": "2O.5"}, "amount", "not a number"),
        ({"what": "reading", "amount": "nan"}, "amount", "not a number"),
        ({"what": "reading", "amount": "inf"}, "amount", "not a number"),
        ({"what": "reading", "amount": "-1"}, "amount", "outside 0 to 100 %"),
        ({"what": "reading", "amount": "100.5"}, "amount", "outside 0 to 100 %"),
        ({"what": "reading", "amount": "9" * 400}, "amount", "outside 0 to 100 %"),
        ({"what": "reading", "amount": "12", "unit": "kg"}, "unit", "use one of: %"),
        ({"what": "reading", "amount": "12", "oil_temp": "301"}, "oil_temp", "outside 0 to 300 °C"),
        ({"what": "reading", "amount": "12", "meter": "hnad"}, "meter", "did you mean 'hand'?"),
        ({"what": "reading", "amount": "12", "sound": "perhaps"}, "sound", "yes, no"),
        ({"what": "lab", "amount": "12", "uncertainty": "0"}, "uncertainty", "outside"),
        ({"what": "smell"}, "amount", "write spoiled or fine"),
        ({"what": "smell", "amount": "spoilt"}, "amount", "did you mean 'spoiled'?"),
        ({"what": "top-up", "amount": "2"}, "unit", "kg, g, l, ml, jugs or packs"),
        ({"what": "top-up", "amount": "-2", "unit": "kg"}, "amount", "cannot be"),
        ({"what": "top-up", "amount": "2", "unit": "mark"}, "amount", "must be empty"),
        ({"what": "top-up", "amount": "2", "unit": "jgs"}, "unit", "did you mean 'jugs'?"),
        ({"what": "top-up", "amount": "21", "unit": "kg"}, "amount", "more than the whole bath (20 kg)"),
        ({"what": "top-up", "amount": "1", "unit": "pack", "fryer": "F2"}, "unit", "has no pack_kg"),
        ({"what": "load", "fryer": "F2"}, "product", "say what was fried"),
        ({"what": "load", "product": "frise"}, "product", "did you mean 'fries'?"),
        ({"what": "load", "product": "fish", "amount": "2", "unit": "portions"}, "unit", "no portion_kg"),
        ({"what": "load", "amount": "1e6", "unit": "kg"}, "amount", "not a number"),
        ({"what": "load", "amount": "20000", "unit": "kg"}, "amount", "20000 kg cannot be"),
        ({"what": "hot-hours"}, "amount", "0 when it stood cold"),
        ({"what": "hot-hours", "amount": "25"}, "amount", "outside 0 to 24 h"),
        ({"what": "hot-hours", "amount": "1500", "unit": "min"}, "amount", "outside 0 to 1440 min"),
        ({"what": "change", "oil": "rapesed"}, "oil", "did you mean 'rapeseed'?"),
        ({"what": "change", "certificate": "65"}, "certificate", "outside 0.5 to 20 %"),
        ({"what": "move"}, "into", "name the fryer"),
        ({"what": "move", "into": "F2", "amount": "30", "unit": "l"}, "amount", "more than the whole bath"),
        ({"what": "move", "into": "F1"}, "into", "name the other one"),
        ({"what": "meter-check", "amount": " / "}, "amount", "what the meter said in the reference oil"),
        (
            {"what": "meter-check", "amount": "17 18 17 18"},
            "amount",
            "holds 4 readings; a check has at most 3",
        ),
        ({"what": "meter-check", "amount": "17 18x"}, "amount", "'18x' is not a number"),
        ({"what": "adjusted", "amount": "17 104"}, "amount", "outside 0 to 100 %"),
        ({"what": "meter-check", "amount": "17", "lot": "lot-8"}, "lot", "did you mean 'lot-7'?"),
        ({"what": "meter-check", "amount": "17", "meter": "hnad"}, "meter", "did you mean 'hand'?"),
        ({"what": "meter-out", "meter": "hnad"}, "meter", "did you mean 'hand'?"),
        (
            {"what": "meter-check", "amount": "17", "when": "2026-07-31 11:00"},
            "when",
            "first in use on 2026-08-01",
        ),
        ({"what": "metre-check", "amount": "17"}, "what", "did you mean 'meter-check'?"),
        ({"what": "redaing"}, "what", "did you mean 'reading'?"),
        ({"what": "change", "fryer": "Big pam"}, "fryer", "did you mean 'Big pan'?"),
        ({"what": "change", "fryer": ""}, "fryer", "is empty"),
        ({"what": "change", "when": "yesterday"}, "when", "31.12.2026 14:05"),
        ({"what": "change", "when": "2026-09-07"}, "when", "31.12.2026 14:05"),
        ({"what": "change", "when": "31.02.2026 10:00"}, "when", "is not a day and time there is"),
        ({"what": "change", "when": "12/31/2026 10:00"}, "when", "is not a day and time there is"),
        ({"what": "change", "when": "1999-12-31 10:00"}, "when", "in 2000 to 2099"),
        ({"what": "change", "when": "2206-09-07 10:00"}, "when", "in 2000 to 2099"),
        ({"what": "change", "when": "2026-09-07 10:00+99:00"}, "when", "is not a day and time there is"),
    ],
)
def test_a_bad_row_is_listed_with_its_line_its_column_and_what_to_do(read_row, cells, field, advice):
    log = read_row(**cells)
    assert log.entries == ()
    (problem,) = log.problems
    assert (problem.line, problem.field) == (2, field)
    assert advice in problem.reason


@pytest.mark.parametrize(
    ("typed", "utc"),
    [
        ("31.12.2026 14:05", datetime(2026, 12, 31, 14, 5, tzinfo=UTC)),
        ("31/12/2026 14.05", datetime(2026, 12, 31, 14, 5, tzinfo=UTC)),
        ("31-12-26, 14h05", datetime(2026, 12, 31, 14, 5, tzinfo=UTC)),
        ("2026-12-31T14:05", datetime(2026, 12, 31, 14, 5, tzinfo=UTC)),
        ("2026-12-31T14:05:30.250Z", datetime(2026, 12, 31, 14, 5, 30, 250000, tzinfo=UTC)),
        ("2026-12-31 14:05+02:00", datetime(2026, 12, 31, 12, 5, tzinfo=UTC)),
        ("2026-12-31 14:05-0330", datetime(2026, 12, 31, 17, 35, tzinfo=UTC)),
        ("07.09.2026 9:05", datetime(2026, 9, 7, 8, 5, tzinfo=UTC)),
        # clocks go back on 2026-10-25: 01:30 comes twice, the first is in summer time
        ("25.10.2026 01:30", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        # clocks go forward on 2026-03-29: 01:30 is left out
        ("29.03.2026 01:30", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
    ],
)
def test_times_are_read_as_people_write_them_in_the_kitchens_zone(read_row, typed, utc):
    (entry,) = read_row(what="skim", when=typed).entries
    assert entry.at == utc


TYPED = "When;Fryer;What;Amount;Oil temp;Who\n07.09.2026 11:00;F1;reading;12,5;170;Zoë\n"


@pytest.mark.parametrize(
    "file",
    [
        TYPED.encode(),
        TYPED.encode("utf-8-sig"),
        TYPED.replace("\n", "\r\n").encode(),
        TYPED.replace(";", "\t").encode(),
        TYPED.replace(",", ".").replace(";", ",").encode(),
        ("\n\n" + TYPED + "\n;;;;;\n").encode(),
        TYPED.replace("Oil temp", "OIL_TEMP").encode(),
    ],
)
def test_the_same_log_reads_the_same_however_it_was_saved(read, file):
    log = read(file)
    assert log.problems == ()
    (entry,) = log.entries
    assert (entry.tpc_pct, entry.oil_temp_c, entry.person) == (12.5, 170.0, "Zoë")


def test_a_file_that_is_not_utf8_is_read_as_windows_1252_and_said_so(read):
    log = read(TYPED.encode("cp1252"))
    assert [entry.person for entry in log.entries] == ["Zoë"]
    assert [(problem.line, problem.field) for problem in log.problems] == [(2, "row")]
    assert "save the file as CSV UTF-8" in log.problems[0].reason


def test_the_good_rows_are_used_beside_a_bad_one(read):
    log = read(
        "when,fryer,what\n2026-09-07 11:00,F1,skim\n2026-09-07 11:00,F9,skim\n2026-09-07 12:00,F2,skim\n"
    )
    assert [entry.ref for entry in log.entries] == ["log.csv:2", "log.csv:4"]
    assert [problem.line for problem in log.problems] == [3]


def test_a_row_typed_twice_counts_once(read):
    row = "2026-09-07 11:00,F1,load,2,kg\n"
    log = read(
        "when,fryer,what,amount,unit\n" + row + row.replace(",F1", ", F1 ") + row.replace(",2,", ",3,")
    )
    assert [entry.mass_kg for entry in log.entries] == [2.0, 3.0]
    assert log.problems == ()


def test_a_reference_names_the_line_where_the_row_begins(read):
    log = read(
        'when,fryer,what,note\n2026-09-07 11:00,F1,smell,"two\nlines"\n2026-09-07 12:00,F1,smell,one\n'
    )
    assert [(entry.ref, entry.note) for entry in log.entries] == [
        ("log.csv:2", "two\nlines"),
        ("log.csv:4", "one"),
    ]


@pytest.mark.parametrize("stray", ['"foam', '"""', '"a""b'])
def test_a_forgotten_quotation_mark_does_not_swallow_the_rows_after_it(read, stray):
    rows = "".join(f"2026-09-07 12:{minute},F1,skim,\n" for minute in range(10, 20))
    log = read("when,fryer,what,note\n2026-09-07 11:00,F1,smell," + stray + "\n" + rows)
    assert len(log.entries) == 10
    assert [problem.line for problem in log.problems] == [2]
    assert "never closed" in log.problems[0].reason


def test_a_decimal_comma_between_commas_is_explained(read):
    log = read("when,fryer,what,amount\n2026-09-07 11:00,F1,reading,12,5\n")
    assert log.entries == ()
    assert "decimal comma" in log.problems[0].reason


def test_a_cell_too_long_for_csv_is_a_problem_and_the_next_row_stands(read):
    log = read("when,fryer,what\n" + "x" * 200_000 + "\n2026-09-07 11:00,F1,skim\n")
    assert len(log.entries) == 1
    assert [problem.line for problem in log.problems] == [2]


@pytest.mark.parametrize(
    ("typed", "advice"),
    [
        ("", "the file is empty"),
        ("2026-09-07 11:00,F1,skim\n", "no column 'when', 'fryer', 'what'"),
        ("when,fryer\n2026-09-07 11:00,F1\n", "no column 'what'"),
    ],
)
def test_a_missing_first_line_is_explained(read, typed, advice):
    log = read(typed)
    assert log.entries == ()
    assert any(advice in problem.reason and problem.field == "header" for problem in log.problems)


def test_a_column_nobody_knows_or_that_is_there_twice_is_listed_and_the_rest_is_read(read):
    log = read("when,fryer,what,amout,fryer\n2026-09-07 11:00,F1,skim,2,F2\n")
    assert [entry.fryer for entry in log.entries] == ["F1"]
    assert "did you mean 'amount'?" in log.problems[0].reason
    assert "twice" in log.problems[1].reason


def test_a_stream_is_left_open(setup, tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("when,fryer,what\n", encoding="utf-8")
    with path.open("rb") as stream:
        assert read_log(stream, setup).entries == ()
        assert not stream.closed


def test_a_missing_log_says_how_to_begin_one(setup, tmp_path):
    with pytest.raises(KitchenError, match=r"log\.csv: .*begin one with the line when,fryer,what"):
        read_log(tmp_path / "log.csv", setup)


def test_the_example_folder_is_read():
    folder = read_folder(Path(__file__).parents[2] / "examples" / "two-fryers")
    assert len(folder.log.entries) == 12
    assert [str(problem) for problem in folder.log.problems] == [
        "log.csv, line 12, fryer: 'F3' is not known; use one of: F1, F2, Left, Right"
    ]


GERMAN_LOG = """Wann;Fritteuse;Was;Menge;Einheit;Lebensmittel;Öltemperatur;Charge;Einwandfrei;Messgerät;wer
07.09.2026 10:00;F1;Ölwechsel;;;;;;;;AB
07.09.2026 14:10;F1;frittiert;9;Körbe;fries;;;;;AB
07.09.2026 14:20;F1;auffüllen;;Marke;;;;;;AB
08.09.2026 11:10;F1;MESSUNG;6,5;%;;171;;nein;;CD
08.09.2026 14:15;F1;aufgefüllt;1,5;Liter;;;;;;CD
08.09.2026 14:35;F1;Geruch;verdorben;;;;;;;AB
08.09.2026 14:40;F1;Betriebsstunden;2;Stunden;;;;;;AB
08.09.2026 15:00;;Geräteprüfung;17,5 18;%;;50;lot-7;;hand;AB
"""
IN_ENGLISH = {
    "Ölwechsel": "change",
    "frittiert": "load",
    "Körbe": "baskets",
    "auffüllen": "top-up",
    "Marke": "mark",
    "MESSUNG": "reading",
    "nein": "no",
    "aufgefüllt": "top-up",
    "Liter": "l",
    "Geruch": "smell",
    "verdorben": "spoiled",
    "Betriebsstunden": "hot-hours",
    "Stunden": "h",
    "Geräteprüfung": "meter-check",
}


def test_a_log_in_german_words_says_what_the_english_one_says(read):
    head, *rows = GERMAN_LOG.splitlines()
    english = "when;fryer;what;amount;unit;product;oil_temp;lot;sound;meter;who"
    translated = [";".join(IN_ENGLISH.get(cell, cell) for cell in row.split(";")) for row in rows]
    log = read("\n".join([head, *rows]))
    assert log.problems == ()
    assert log.entries == read("\n".join([english, *translated])).entries


def test_a_german_word_that_is_nearly_right_is_told(read):
    log = read("wann;fritteuse;was;meneg\n07.09.2026 10:00;F1;Mesung;6\n")
    assert [problem.reason for problem in log.problems] == [
        "column 'meneg' is not known and is not read; did you mean 'Menge'?",
        "'Mesung' is not known; did you mean 'Messung'?",
    ]


@pytest.mark.parametrize("column", words.COLUMNS)
def test_every_column_and_word_has_a_german_one_that_the_docs_name(column):
    page = (Path(__file__).parents[2] / "docs" / "reference" / "kitchen-folder.md").read_text("utf-8")
    named = [*german.COLUMNS[column]]
    if column == "what":
        assert german.WHATS.keys() == set(words.WHATS)
        named += [word for told in german.WHATS.values() for word in told]
    assert [word for word in named if f"`{word}`" not in page] == []
