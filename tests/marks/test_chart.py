"""The fryer's chart shows what was measured, what is believed and what is to come."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from kettlewell.marks.chart import FOOT, LEFT, RIGHT, TOP, draw_chart
from kettlewell.marks.pen import width_of
from kettlewell.marks.values import RANGE_SD, DrawnLevel, LimitLine, Measured, MeasuredKind


@pytest.fixture
def draw(drawn, chart_labels, caption):
    return lambda chart: drawn(draw_chart(chart, chart_labels, caption))


@pytest.fixture
def height(draw, chart):
    """Give how high one percentage point is."""
    ((_, y), _) = draw(chart).points("limit")[0]
    return (FOOT - y) / 24.0


def test_limits_are_lines_with_their_words(draw, chart):
    two = draw(replace(chart, limits=(*chart.limits, LimitLine(tpc_pct=12.0, label="early"))))
    heights = sorted(FOOT - line[0][1] for line in two.points("limit"))
    assert heights[1] == pytest.approx(2 * heights[0], rel=0.01)
    assert {"house limit 24 %", "early"} <= set(two.words())


def test_words_of_limits_close_together_do_not_meet(draw, chart):
    near = tuple(LimitLine(tpc_pct=tpc, label=f"limit {tpc}") for tpc in (24.0, 24.5, 25.0))
    feet = sorted(
        float(t.get("y")) for t in draw(replace(chart, limits=near)).all("strong") if t.text != "now"
    )
    assert len(feet) == 3
    assert all(after - before >= 13 for before, after in pairwise(feet))


def test_a_reading_stands_at_its_time_and_level_with_its_uncertainty(draw, chart, height):
    picture = draw(chart)
    (dot,) = picture.all("reading")
    days = (RIGHT - LEFT) / 15
    assert float(dot.get("cx")) == pytest.approx(LEFT + 3 * days, abs=0.1)
    assert float(dot.get("cy")) == pytest.approx(FOOT - 17.5 * height, abs=0.1)
    (_, foot), (_, top) = picture.points("error-bar")[0]
    assert foot - top == pytest.approx(2 * RANGE_SD * height, abs=0.15)


def test_a_value_that_nobody_believes_does_not_stretch_the_chart(draw, chart):
    """It is an arrow at the top with its figure; all else stands where it stood."""
    typed = Measured(at=chart.measured[1].at, tpc_pct=65.0, u_pct=1.0, kind=MeasuredKind.UNSOUND)
    calm, doubted = draw(chart), draw(replace(chart, measured=(*chart.measured, typed)))
    assert doubted.points("limit") == calm.points("limit")
    assert len(doubted.all("reading")) == len(calm.all("reading"))
    assert [word for word in doubted.words() if word not in calm.words()] == ["65", "above the chart"]
    assert len(doubted.all("unsound", "path")) == 1


def test_a_figure_above_the_chart_stays_on_the_sheet(draw, chart):
    typed = Measured(at=chart.coming[-1].at, tpc_pct=65.5, u_pct=1.0)
    [words] = [text for text in draw(replace(chart, measured=(typed,))).all("strong") if text.text == "65.5"]
    assert words.get("text-anchor") == "end"


def test_kinds_of_measurement_differ_in_shape(draw, chart):
    picture = draw(chart)
    assert len(picture.all("unsound", "circle")) == 1
    assert len(picture.all("laboratory", "rect")) == 1


def test_the_belief_is_broken_where_the_bath_got_other_oil(draw, chart):
    before, after = draw(chart).points("past")
    assert (len(before), len(after)) == (6, 5)
    assert before[-1][1] < after[0][1]


def test_the_range_of_the_belief_holds_its_mean(draw, chart, height):
    picture = draw(chart)
    for band, means in zip(picture.points("past-range"), picture.points("past"), strict=True):
        high, low = band[: len(means)], band[: len(means) - 1 : -1]
        for (_, upper), (_, mean), (_, lower) in zip(high, means, low, strict=True):
            assert upper < mean <= lower
    assert FOOT - picture.points("ahead-range")[0][0][1] == pytest.approx(
        (8 + RANGE_SD * 0.8) * height, abs=0.1
    )


def test_the_forecast_begins_now_where_the_belief_ends(draw, chart):
    picture = draw(chart)
    (now,) = picture.points("now")
    (ahead,) = picture.points("ahead")
    assert ahead[0] == picture.points("past")[-1][-1]
    assert ahead[0][0] == now[0][0] == now[1][0]
    assert ahead[-1][0] == RIGHT


def test_a_forecast_that_climbs_out_of_sight_does_not_flatten_the_rest(draw, chart):
    far = DrawnLevel(at=chart.coming[-1].at, tpc_mean_pct=90.0, tpc_sd_pct=5.0)
    picture = draw(replace(chart, coming=(*chart.coming, far)))
    assert picture.points("limit") == draw(chart).points("limit")
    clipped = [shape for group in picture.root if group.get("clip-path") for shape in group]
    assert picture.all("ahead")[0] in clipped


def test_acts_have_signs_of_their_own_and_a_change_cuts_through(draw, chart):
    picture = draw(chart)
    assert len(picture.all("top-up")) == 2
    assert len(picture.all("change")) == 1
    ((x, top), (_, foot)) = picture.points("change-line")[0]
    assert (top, foot) == (TOP, FOOT)
    assert x == pytest.approx(LEFT + 5.5 * (RIGHT - LEFT) / 15, abs=0.1)


def test_the_legend_names_what_is_on_the_chart_and_nothing_else(draw, chart):
    words = draw(chart).words()
    assert {"reading", "reading, not sound", "laboratory", "believed", "expected", "changed"} <= set(words)
    assert "moved" not in words
    bare = draw(replace(chart, measured=(), acts=(), past=())).words()
    assert not {"reading", "believed", "topped up"} & set(bare)


def test_days_stand_under_midnights_of_the_kitchen(draw, chart):
    assert {"09.11.", "16.11."} <= set(draw(chart).words())


def test_a_bath_of_which_nothing_is_known_but_now_is_drawn(draw, chart):
    picture = draw(replace(chart, past=(), coming=(), measured=(), acts=(), limits=()))
    assert len(picture.all("here")) == 1


def words_at(text):
    """Return where words begin and end."""
    x, wide = float(text.get("x")), width_of(text.text)
    start = x - wide * {"start": 0, "middle": 0.5, "end": 1}[text.get("text-anchor")]
    return start, start + wide


@pytest.mark.parametrize("day_of_ten", [0, 1, 3, 6, 9, 10])
def test_the_line_of_the_present_does_not_run_through_the_words_of_a_limit(draw, chart, day_of_ten):
    """The younger the fill, the further left the present stands."""
    ends = [
        DrawnLevel(at=chart.here.at + timedelta(days=n), tpc_mean_pct=8, tpc_sd_pct=1)
        for n in (-day_of_ten, 10 - day_of_ten)
    ]
    picture = draw(replace(chart, past=(ends[0],), coming=(ends[1],), measured=(), acts=()))
    (now,) = picture.points("now")
    (words,) = [text for text in picture.all("strong") if text.text == "house limit 24 %"]
    start, end = words_at(words)
    assert not start <= now[0][0] <= end
    assert LEFT <= start < end <= RIGHT


def test_a_fill_of_minutes_is_drawn(draw, chart):
    just = DrawnLevel(at=chart.here.at - timedelta(minutes=5), tpc_mean_pct=5.0, tpc_sd_pct=0.5)
    picture = draw(replace(chart, past=(just,), coming=(), measured=(), acts=()))
    assert len(picture.points("past")[0]) == 2
