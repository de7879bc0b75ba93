"""A difference plot shows each pair, the mean difference, and the limits of agreement."""

from dataclasses import replace
from itertools import pairwise

import pytest

from kettlewell.marks.difference import (
    FOOT,
    LEFT,
    RIGHT,
    TOP,
    DifferenceLabels,
    DifferencePlot,
    draw_difference,
)
from kettlewell.marks.svg import Caption

PLOT = DifferencePlot(
    pairs=((10.0, 1.0), (15.0, 2.0), (22.0, 1.5)), mean_pct=1.5, lower_pct=0.5, upper_pct=2.5
)
LABELS = DifferenceLabels(
    difference="hand less laboratory",
    mean_of_both="mean of both, %",
    mean="mean",
    lower="lower",
    upper="upper",
    figure="{:g}".format,
)


@pytest.fixture
def draw(drawn):
    caption = Caption(name="difference", title="Side by side", desc="It reads about 1.5 more.")
    return lambda plot: drawn(draw_difference(plot, LABELS, caption))


def test_each_pair_stands_at_its_mean_and_difference(draw):
    picture = draw(PLOT)
    dots = [(float(dot.get("cx")), float(dot.get("cy"))) for dot in picture.all("reading")]
    assert [x for x, _ in dots] == sorted(x for x, _ in dots)
    (axis,) = picture.points("axis")
    up = [axis[0][1] - y for _, y in dots]
    assert up[1] == pytest.approx(2 * up[0], abs=0.2)
    assert all(LEFT < x < RIGHT and TOP < y < FOOT for x, y in dots)


def test_mean_and_limits_are_lines_with_their_words_in_order(draw):
    picture = draw(PLOT)
    upper, lower = (line[0][1] for line in picture.points("bound"))
    (mean,) = (line[0][1] for line in picture.points("mean"))
    assert upper < mean < lower
    assert mean - upper == pytest.approx(lower - mean, abs=0.2)
    feet = [float(text.get("y")) for text in picture.all("text", "text")]
    assert feet == sorted(feet)
    assert [text.text for text in picture.all("text", "text")] == ["upper", "mean", "lower"]


def test_words_of_lines_that_meet_stand_apart(draw):
    picture = draw(replace(PLOT, lower_pct=1.45, upper_pct=1.55))
    feet = [float(text.get("y")) for text in picture.all("text", "text")]
    assert all(below - above >= 13 for above, below in pairwise(feet))
