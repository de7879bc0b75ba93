"""Lines reach terminals, pipes and narrow encodings in a form that can be read there."""

import io
from dataclasses import replace

import pytest
from answers import answer_of
from rich.console import Console

from kettlewell.cli.report import report
from kettlewell.cli.screen import Line, Weight, draws_unicode, legible, show, width_of, wrapped


def screen(encoding="utf-8", *, terminal=False, width=80):
    stream = io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    return Console(file=stream, force_terminal=terminal, width=width, no_color=True, highlight=False)


def written(console):
    console.file.flush()
    return console.file.buffer.getvalue().decode(console.file.encoding)


def test_a_piped_report_has_no_codes_and_stays_within_80_columns(change_before, fry_on, kitchen, reader):
    console = screen(width=200)
    show(report(answer_of(change_before, fry_on), kitchen, reader, width=width_of(console)), console)
    text = written(console)
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) == 80


def test_letters_that_cannot_be_seen_reach_no_terminal():
    console = screen(terminal=True)
    show([Line(text="Left\x1b[2J\u202e", picture=True), Line(text="Right\x07Fry on")], console)
    assert written(console) == "Left\\x1b[2J\\u202e\nRight\\x07Fry on\n"


def test_a_terminal_shows_weight_and_no_colour(change_before, kitchen, reader):
    console = screen(terminal=True)
    show(report(answer_of(change_before), kitchen, reader, width=80), console)
    codes = written(console).split("\x1b[")[1:]
    assert {code.split("m")[0] for code in codes} == {"0", "1", "1;7"}


def test_an_ascii_terminal_gets_ascii(change_before, fry_on, kitchen, reader):
    console = screen("ascii")
    assert not draws_unicode(console)
    show(
        report(answer_of(change_before, replace(fry_on, flags=())), kitchen, reader, width=80, unicode=False),
        console,
    )
    text = written(console)
    assert text.isascii()
    assert "?" not in text
    assert "#" in text


@pytest.mark.parametrize(("text", "told"), [("7–9 · 180 °C", "7-9 , 180 C"), ("Café ≥ 5", "Cafe >= 5")])
def test_signs_an_encoding_lacks_are_told_by_those_it_has(text, told):
    assert legible(text, "ascii") == told
    assert legible(text, "utf-8") == text


def test_a_long_paragraph_is_wrapped_under_its_own_margin():
    rows = wrapped(Line(text="word " * 40, indent=3), 80)
    assert all(row.startswith("   word") and len(row) <= 80 for row in rows)


def test_a_narrow_terminal_still_gets_a_line_one_can_read(fry_on, kitchen, reader):
    console = screen(width=20)
    assert width_of(console) == 48
    rows = [row for line in report(answer_of(fry_on), kitchen, reader, width=48) for row in wrapped(line, 48)]
    assert max(map(len, rows)) <= 48


def test_weight_is_not_put_under_the_margin():
    console = screen(terminal=True)
    show([Line(text="NOW", weight=Weight.REVERSED, indent=3)], console)
    assert written(console).startswith("   \x1b[1;7m")
