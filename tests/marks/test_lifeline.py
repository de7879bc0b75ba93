"""The life line as SVG puts hump, ticks and wall where they belong."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kettlewell.marks.lifeline import (
    LEFT,
    RIGHT,
    WIDTH,
    LifeLine,
    Strength,
    draw_life_line,
    span_pct,
    strength_of,
)
from kettlewell.marks.pen import width_of
from kettlewell.marks.theme import printed


@pytest.fixture
def draw(drawn, labels, caption):
    return lambda life: drawn(draw_life_line(life, labels, caption))


def wall_of(picture):
    (wall,) = picture.all("wall")
    return float(wall.get("x")) + float(wall.get("width")) / 2


def hump_top(picture):
    (hump,) = picture.points("hump")
    return min(hump, key=lambda point: point[1])[0]


def test_the_wall_stands_at_the_limit(draw, life):
    assert wall_of(draw(life)) == pytest.approx(RIGHT)
    assert wall_of(draw(replace(life, mean_pct=24.0, sd_pct=4.0))) == pytest.approx(
        LEFT + (RIGHT - LEFT) * 20 / 30, abs=0.06
    )


def test_the_hump_stands_highest_at_the_mean(draw, life):
    (hump,) = draw(life).points("hump")
    top = min(hump, key=lambda point: point[1])
    assert top[0] == pytest.approx((LEFT + RIGHT) / 2, abs=0.1)
    assert hump[1][0] + hump[-2][0] == pytest.approx(2 * top[0], abs=0.2)


def test_a_surer_belief_is_a_narrower_hump(draw, life):
    widths = []
    for sd in (0.0, 0.5, 1.0, 2.0):
        (hump,) = draw(replace(life, sd_pct=sd)).points("hump")
        widths.append(hump[-1][0] - hump[0][0])
    assert 0 < widths[0] < widths[1] < widths[2] < widths[3]


def test_oil_that_may_be_past_the_limit_is_drawn_past_the_wall(draw, life):
    picture = draw(replace(life, mean_pct=26.0))
    (hump,) = picture.points("hump")
    assert min(hump, key=lambda point: point[1])[0] > wall_of(picture)


def test_ticks_stand_at_the_forecast_and_thin_out_with_probability(draw, life):
    picture = draw(life)
    lengths = []
    for part in ("tick-sure", "tick-likely", "tick-faint"):
        for (x, top), (_, foot) in picture.points(part):
            lengths.append((x, foot - top))
    assert [length for _, length in sorted(lengths)] == sorted((y for _, y in lengths), reverse=True)
    sure = [service for service in life.coming if service.passing_probability <= 0.05]
    assert [tick[0][0] for tick in picture.points("tick-sure")] == pytest.approx(
        [LEFT + (RIGHT - LEFT) * (service.tpc_mean_pct - 4) / 20 for service in sure], abs=0.06
    )
    assert picture.all("tick-likely")


@pytest.mark.parametrize(
    ("passing", "strength"),
    [(0.05, Strength.SURE), (0.06, Strength.LIKELY), (0.51, Strength.FAINT), (0.96, None)],
)
def test_a_tick_is_the_fainter_the_likelier_the_oil_is_past_the_limit(life, passing, strength):
    assert strength_of(replace(life.coming[0], passing_probability=passing)) == strength


def test_of_services_in_one_place_the_surest_is_drawn_alone(draw, life):
    first, second = life.coming[0], replace(life.coming[0], passing_probability=0.6)
    picture = draw(replace(life, coming=(first, second)))
    assert len(picture.all("tick-sure")) == 1
    assert picture.all("tick-faint") == []


@given(mean=st.floats(0, 60), sd=st.floats(0, 20), fresh=st.floats(0, 15), limit=st.floats(5, 40))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
def test_whatever_the_figures_all_stands_within_and_labels_stay_apart(draw, labels, mean, sd, fresh, limit):
    life = LifeLine(fresh_pct=fresh, limit_pct=limit, mean_pct=mean, sd_pct=sd, coming=())
    low, high = span_pct(life)
    assert low <= mean <= high
    assert low <= limit <= high
    picture = draw(life)
    assert all(0 <= x <= WIDTH for hump in picture.points("hump") for x, _ in hump)
    texts = sorted((float(text.get("x")), text.text) for text in picture.all("text") + picture.all("strong"))
    assert {labels.now, labels.limit} <= {words for _, words in texts}
    assert texts[0][0] - width_of(texts[0][1]) / 2 >= -0.1
    for (x, words), (other, others) in pairwise(texts):
        assert other - x >= (width_of(words) + width_of(others)) / 2


@pytest.mark.parametrize("mean", [3.9, 4.0, 4.5])
def test_of_nearly_fresh_oil_the_label_of_today_stands_at_its_place_and_fresh_gives_way(draw, life, mean):
    picture = draw(replace(life, mean_pct=mean, sd_pct=0.5))
    (now,) = picture.all("strong")
    assert abs(float(now.get("x")) - hump_top(picture)) <= width_of(now.text) / 2
    assert "fresh 4" not in picture.words()
    assert "fresh 4" in draw(life).words()


def test_in_print_it_has_the_same_shapes(drawn, life, labels, caption):
    screen, paper = (drawn(draw_life_line(life, labels, caption, **how)) for how in ({}, {"theme": printed}))
    assert [shape.get("d") for shape in screen.root.iter()] == [shape.get("d") for shape in paper.root.iter()]
