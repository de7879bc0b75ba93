"""What the model says moves only where somebody means it to.

Two dozen drawn stretches of weeks in which everything happens are told as the table beside this file has
it. These are the program's own figures and prove nothing right: they show that nothing moved unseen, and
that stored beliefs of one version of the model may still be read.
"""

import csv
import math

import figures


def is_same(told, kept):
    """Return whether two values are one but for the last digits, which differ from machine to machine."""
    try:
        return math.isclose(float(told), float(kept), rel_tol=1e-6, abs_tol=1e-9)
    except ValueError:
        return told == kept


def test_the_figures_are_those_of_this_version_of_the_model():
    with figures.KEPT_IN.open(encoding="utf-8", newline="") as file:
        _, *kept = csv.reader(file)
    told = figures.figures()
    assert [row[:-1] for row in told] == [row[:-1] for row in kept]
    moved = [(row, was[-1]) for row, was in zip(told, kept, strict=True) if not is_same(row[-1], was[-1])]
    assert moved == [], "meant? Then raise MODEL_VERSION and run tools/figures.py"


def test_the_weeks_hold_what_a_book_can():
    """Else the agreement would say little."""
    told = [row[-2:] for row in figures.figures()]
    verdicts = {value.split()[0] for figure, value in told if figure == "verdict"}
    asked = {
        word.rstrip("0123456789") for figure, value in told if figure == "asked" for word in value.split()
    }
    assert len(verdicts) >= 4
    assert len(asked) >= 5
