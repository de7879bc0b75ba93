"""Tables as kitchens keep them: each says what a person reads in it."""

import time
from datetime import UTC, datetime, timedelta

import pytest
from tables_made import PLACE, guessed, with_results, workbook

from kettlewell.tables.apply import Applied
from kettlewell.tables.guess import guess
from kettlewell.tables.reading import read_sheet
from kettlewell.tables.recipe import Order, Role


def said(applied: Applied) -> list[tuple[object, ...]]:
    """Return the row, what it is, its fryer and its figure."""
    return [
        (
            told.line,
            told.kind,
            told.payload["fryer"],
            told.payload.get("tpc_pct") or told.payload.get("amount"),
        )
        for told in applied.told
    ]


def test_semicolons_german_months_titles_above_and_a_day_once_for_all_its_rows():
    guess, applied = guessed(
        "Protokoll Frittierfett\n"
        "\n"
        "Datum;Uhrzeit;Fritteuse;Messwert %;Öltemperatur;Nachgefüllt (Liter);Ölwechsel;Kürzel;Bemerkung\n"
        "Mo 2. März 2026;10:05;Fryer 1;12,5;172;2,5;;AB;riecht gut\n"
        ";;Fryer 2;14;170 °C;;x;;\n"
        "Di, 3. Mär. 2026;10 Uhr;Fryer 1;13,5;;;nein;CD;\n".encode("utf-16")
    )
    assert said(applied) == [
        (4, "reading", "f1", "12.5"),
        (4, "top_up", "f1", "2.5"),
        (5, "reading", "f2", "14"),
        (5, "change", "f2", None),
        (6, "reading", "f1", "13.5"),
    ]
    assert applied.problems == ()
    first, second, *_ = (told.at for told in applied.told if told.kind == "reading")
    assert first == second == datetime(2026, 3, 2, 10, 5, tzinfo=UTC)
    assert applied.told[0].payload["oil_temp_c"] == "172"
    assert applied.told[0].note == "AB: riecht gut"
    assert applied.told[1].payload["unit"] == "l"
    assert guess.doubtful == frozenset()


def test_two_rows_of_titles_over_merged_cells_and_a_column_for_each_fryer_in_fahrenheit():
    rows = [
        ["Oil log"],
        ["Date", "Fryer 1", None, "Fryer 2", None, "By"],
        [None, "TPM", "Temp", "TPM", "Temp", None],
        ["03/04/2026", 12.5, 347, 14, 338, "AB"],
        ["03/15/2026", 13, 347, None, None, "AB"],
    ]
    guess, applied = guessed(workbook(rows, merged=("B2:C2", "D2:E2", "A1:F1")))
    assert guess.recipe.order is Order.MONTH_FIRST
    assert said(applied) == [
        (4, "reading", "f1", "12.5"),
        (4, "reading", "f2", "14"),
        (5, "reading", "f1", "13"),
    ]
    assert [told.payload["oil_temp_c"] for told in applied.told] == ["175", "170", "175"]
    assert "clock" in guess.doubtful


def test_a_title_over_all_fryers_names_none_of_them():
    rows = [
        ["Date", "Fryer", None, None],
        [None, "Left", "Right", "By"],
        ["3 April 2026 10:00", 12.5, 14, "AB"],
        ["4 April 2026 10:00", 13, 15, "AB"],
    ]
    sheet = read_sheet(workbook(rows, merged=("B1:D1",)))
    columns = [(column.role, column.fryer) for column in guess(sheet, PLACE).recipe.columns]
    assert columns == [(Role.DAY, ""), (Role.READING, "Left"), (Role.READING, "Right"), (Role.WHO, "")]


def test_a_day_merged_over_several_rows_is_of_each_of_them():
    rows = [
        ["Date", "Time", "Fryer", "TPM"],
        [datetime(2026, 3, 4), "9:00", "Fryer 1", 12.5],  # noqa: DTZ001 - as spreadsheets keep days
        [None, None, "Fryer 2", 14],
        [datetime(2026, 3, 5), "9:30", "Fryer 1", 13],  # noqa: DTZ001
        [None, None, "Fryer 2", 15],
    ]
    _, applied = guessed(workbook(rows, merged=("A2:A3", "A4:A5", "B2:B3", "B4:B5")))
    assert [told.at.strftime("%d %H:%M") for told in applied.told] == [
        "04 09:00",
        "04 09:00",
        "05 09:30",
        "05 09:30",
    ]


def test_a_row_that_lacks_its_day_where_others_have_theirs_is_a_problem_and_not_of_the_day_before():
    lines = "\n".join(f"2026-03-{day:02} 10:00,Fryer 1,12.5" for day in range(1, 10))
    _, applied = guessed(f"Date,Fryer,TPM\n{lines}\n,Fryer 2,14\n".encode())
    assert len(applied.told) == 9
    assert [(problem.line, str(problem.why)) for problem in applied.problems] == [(11, "tells no day")]


def test_formulas_count_as_what_was_saved_with_them_and_are_problems_without():
    rows = [
        ["Date", "Fryer", "TPM", "Temp"],
        ["2026-03-04 10:00", "Fryer 1", "=12+0.5", 170],
        ["2026-03-05 10:00", "Fryer 1", "=13+0.5", 170],
    ]
    _, applied = guessed(with_results(workbook(rows), {"C2": "12.5"}))
    assert said(applied) == [(2, "reading", "f1", "12.5")]
    (problem,) = applied.problems
    assert (problem.line, problem.column) == (3, "TPM")
    assert "formula without its result" in str(problem.why)


def test_days_counted_from_1904_are_the_days_that_the_spreadsheet_shows():
    rows = [["Date", "Fryer 1"], [datetime(2026, 3, 4, 10, 30), 12.5], [datetime(2026, 3, 5, 10, 30), 13]]  # noqa: DTZ001
    _, applied = guessed(workbook(rows, from_1904=True))
    assert [told.at for told in applied.told] == [
        datetime(2026, 3, 4, 10, 30, tzinfo=UTC),
        datetime(2026, 3, 5, 10, 30, tzinfo=UTC),
    ]


def test_french_words_in_an_old_encoding_and_commas_in_quotes():
    _guess, applied = guessed(
        "Jour,Heure,Friteuse,Composés polaires,Température,Appoint (kg),Vidange,Par\n"
        'lundi 2 février 2026,10h05,Fryer 1,"12,5 %",172,"1,5",,AB\n'
        'mardi 3 févr. 2026,10h15,Fryer 2,"14,5 %",171,,oui,AB\n'.encode("cp1252")
    )
    assert said(applied) == [
        (2, "reading", "f1", "12.5"),
        (2, "top_up", "f1", "1.5"),
        (3, "reading", "f2", "14.5"),
        (3, "change", "f2", None),
    ]
    assert applied.problems == ()


def test_a_row_for_each_act_with_what_it_was_and_in_which_unit():
    _, applied = guessed(
        b"Date\tTime\tFryer\tWhat\tAmount\tUnit\n"
        b"2026-03-04\t9:00 am\tFryer 1\treading\t12.5\t%\n"
        b"2026-03-04\t1:30 pm\tFryer 1\ttop-up\t2\tlitres\n"
        b"2026-03-04\t2:30 pm\tFryer 1\tsinging\t2\tlitres\n"
    )
    assert said(applied) == [(2, "reading", "f1", "12.5"), (3, "top_up", "f1", "2")]
    assert [(problem.line, problem.column) for problem in applied.problems] == [(4, "What")]


def test_titles_repeated_on_each_page_are_passed_by_and_a_sum_at_the_end_is_named():
    _, applied = guessed(
        b"Date;Fryer 1;Fryer 2\n04.03.2026 10:00;12,5;-\nDate;Fryer 1;Fryer 2\n05.03.2026 10:00;13;\n"
        b"Average;12,75;\n"
    )
    assert said(applied) == [(2, "reading", "f1", "12.5"), (4, "reading", "f1", "13")]
    assert [problem.line for problem in applied.problems] == [5]


def test_days_that_may_be_read_both_ways_are_asked_about():
    guess, _ = guessed(b"Date,Fryer,TPM\n03/04/2026 10:00,Fryer 1,12.5\n")
    assert guess.doubtful == {"order"}


def test_names_that_only_resemble_are_asked_about_with_a_guess():
    guess, _ = guessed(b"Date,Fryer,TPM\n2026-04-03 10:00,Fr. 1,12.5\n2026-04-03 10:00,Annexe,12.5\n")
    assert guess.recipe.fryers == {"Fr. 1": "f1", "Annexe": ""}
    assert guess.doubtful == {"fryers"}


def test_every_bad_cell_is_told_by_its_row_and_the_others_stand():
    _, applied = guessed(
        b"Date;Fryer;TPM;Temp;Topped up kg;Changed\n"
        b"04.03.2026 10:00;Fryer 1;twelve;170;1;\n"
        b"31.02.2026 10:00;Fryer 1;12;170;1;\n"
        b"05.03.2026 10:00;Nowhere;12;170;;\n"
        b"06.03.2026 10:00;Fryer 1;120;170;;\n"
        b"07.03.2026 10:00;Fryer 1;12;4000;2 buckets;\n"
        b"08.03.2026 25:00;Fryer 1;12;170;;perhaps\n"
        b"09.03.2026 10:00;Fryer 1;12;170;;perhaps\n"
    )
    assert said(applied) == [(2, "top_up", "f1", "1"), (8, "reading", "f1", "12")]
    assert [(problem.line, problem.column) for problem in applied.problems] == [
        (2, "TPM"),
        (3, "Date"),
        (4, "Fryer"),
        (5, "TPM"),
        (6, "Temp"),
        (6, "Topped up kg"),
        (7, "Date"),
        (8, "Changed"),
    ]


@pytest.mark.slow
@pytest.mark.parametrize("as_workbook", [False, True])
def test_fifty_thousand_rows_are_read_in_seconds(as_workbook):
    first = datetime(2016, 1, 1, 9)  # noqa: DTZ001 - as spreadsheets keep times
    rows = [
        [first + timedelta(minutes=90 * place), f"Fryer {place % 2 + 1}", 5 + place % 190 / 10, 175]
        for place in range(50_000)
    ]
    if as_workbook:
        data = workbook([["Date", "Fryer", "TPM", "Temp"], *rows])
    else:
        lines = [f"{at:%d.%m.%Y %H:%M};{fryer};{tpc:.1f};{temp}" for at, fryer, tpc, temp in rows]
        data = "\n".join(["Date;Fryer;TPM;Temp", *lines]).encode()
    begun = time.process_time()
    _, applied = guessed(data, PLACE)
    assert len(applied.told) == 50_000
    assert time.process_time() - begun < 10
