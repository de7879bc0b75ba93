"""A meter's chart shows what each check found, what is permissible, and where its runs break off."""

from dataclasses import replace
from datetime import timedelta

import pytest

from kettlewell.marks.control_chart import (
    FOOT,
    LEFT,
    RIGHT,
    TOP,
    ChartedDeviation,
    ControlChart,
    ControlLabels,
    draw_control_chart,
)
from kettlewell.marks.svg import Caption
from kettlewell.marks.theme import printed
from kettlewell.marks.values import RANGE_SD

FOUND_PCT = (0.2, 0.4, 1.8, 0.1, 0.3)
MIDDLE = (TOP + FOOT) / 2
LABELS = ControlLabels(
    deviation="reads too high by",
    permissible="may be off by 1",
    check="check",
    signal="more than chance",
    mean="weighted mean",
    chance="chance",
    adjusted="adjusted",
    bottle="another bottle",
    day=lambda at: f"{at:%d.%m.}",
    figure="{:g}".format,
)


@pytest.fixture
def meter(chart):
    """Five checks a week apart: the third signals, the meter is adjusted after it."""
    return ControlChart(
        zone=chart.zone,
        permissible_pct=1.0,
        checks=tuple(
            ChartedDeviation(
                at=chart.here.at + n * timedelta(days=7),
                pct=pct,
                u_pct=0.4,
                run=int(n > 2),
                centre_pct=0.1,
                limit_pct=1.2,
                mean_pct=pct / 2,
                adjusted=n == 3,
                signalled=n == 2,
            )
            for n, pct in enumerate(FOUND_PCT)
        ),
    )


@pytest.fixture
def draw(drawn):
    caption = Caption(name="meter", title="Hand meter", desc="The last of five checks found it right.")
    return lambda meter: drawn(draw_control_chart(meter, LABELS, caption))


@pytest.fixture
def height(draw, meter):
    """Give how high one percentage point is."""
    ((_, y), _) = draw(meter).points("limit")[0]
    return MIDDLE - y


def test_what_is_permissible_stands_as_a_wall_either_way_of_a_meter_that_reads_right(draw, meter, height):
    picture = draw(meter)
    high, low = (line[0][1] for line in picture.points("limit"))
    ((left, middle), (right, _)) = picture.points("axis")[0]
    assert (left, right) == (LEFT, RIGHT)
    assert (middle - high, low - middle) == (pytest.approx(height, abs=0.1), pytest.approx(height, abs=0.1))
    assert "may be off by 1" in picture.words()


def test_a_check_stands_at_its_deviation_with_its_uncertainty(draw, meter, height):
    picture = draw(meter)
    for dot, bar, pct in zip(picture.all("reading"), picture.points("error-bar"), FOUND_PCT, strict=True):
        assert float(dot.get("cy")) == pytest.approx(MIDDLE - pct * height, abs=0.11)
        assert bar[0][1] - bar[1][1] == pytest.approx(2 * RANGE_SD * 0.4 * height, abs=0.2)


def test_what_signals_wears_a_ring(draw, meter):
    picture = draw(meter)
    (ring,), third = picture.all("signal"), picture.all("reading")[2]
    assert (ring.get("cx"), ring.get("cy")) == (third.get("cx"), third.get("cy"))


def test_limits_of_chance_and_the_mean_break_off_where_the_meter_was_adjusted(draw, meter, height):
    picture = draw(meter)
    assert [len(line) for line in picture.points("mean")] == [3, 2]
    edges = picture.points("bound")
    assert len(edges) == 4
    upper = edges[0]
    assert MIDDLE - upper[1][1] == pytest.approx((0.1 + 1.2) * height, abs=0.11)
    ((x, top), (_, foot)) = picture.points("change-line")[0]
    assert (top, foot) == (TOP, FOOT)
    assert edges[0][-2][0] < x < edges[2][1][0]
    assert (len(picture.all("change")), len(picture.all("move"))) == (1, 0)


def test_another_bottle_has_a_sign_of_its_own(draw, meter):
    bottle = replace(meter, checks=tuple(replace(one, adjusted=False) for one in meter.checks))
    picture = draw(bottle)
    assert (len(picture.all("change")), len(picture.all("move"))) == (0, 1)
    assert ("adjusted" in picture.words(), "another bottle" in picture.words()) == (False, True)


def test_the_legend_names_only_what_is_there(draw, meter):
    calm = replace(meter, checks=tuple(replace(one, run=0, signalled=False) for one in meter.checks))
    words = draw(calm).words()
    assert {"check", "weighted mean", "chance"} <= set(words)
    assert not {"more than chance", "adjusted", "another bottle"} & set(words)


def test_a_single_check_is_drawn_with_its_limits(draw, meter):
    picture = draw(replace(meter, checks=meter.checks[:1]))
    assert len(picture.all("reading")) == 1
    first, last = picture.points("bound")[0][0], picture.points("bound")[0][-1]
    assert LEFT <= first[0] < last[0] <= RIGHT


def test_a_meter_far_off_stays_within_the_chart(draw, meter):
    far = replace(meter, checks=(replace(meter.checks[0], pct=-9.0),))
    picture = draw(far)
    assert MIDDLE < float(picture.all("reading")[0].get("cy")) < FOOT
    assert picture.points("error-bar")[0][0][1] < FOOT


def test_in_print_no_part_is_left_to_a_style_sheet(meter):
    caption = Caption(name="meter", title="Hand meter", desc="")
    picture = draw_control_chart(meter, LABELS, caption, theme=printed)
    assert "class=" not in picture
    assert 'stroke-dasharray="4 3"' in picture
