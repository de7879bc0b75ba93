"""The life line puts hump, ticks and wall where they belong, in Unicode and in ASCII."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.cli.lifeline import ASCII, UNICODE, draw
from kettlewell.marks.lifeline import Labels, LifeLine

LABELS = Labels(fresh="fresh 4", now="now 14.0", limit="limit 24")


@pytest.fixture
def life(fry_on):
    return LifeLine(fresh_pct=4.0, limit_pct=24.0, mean_pct=14.0, sd_pct=1.0, coming=fry_on.forecast)


def test_the_hump_stands_highest_where_the_oil_is(life):
    hump, _, _ = draw(life, LABELS, width=61)
    assert hump[30] == "█"
    assert hump[29] == hump[31]
    assert hump[:20].strip() == ""


def test_the_wall_stands_at_the_end_of_the_line(life):
    hump, line, _ = draw(life, LABELS, width=61)
    assert hump[60] == line[60] == "║"


def test_oil_that_may_be_past_the_limit_is_drawn_past_the_wall(life):
    hump, line, _ = draw(replace(life, mean_pct=26.0), LABELS, width=61)
    assert hump.index("║") < hump.index("█")
    assert len(line) == 61


def test_ticks_stand_at_the_forecast_and_thin_out_with_probability(life):
    _, line, _ = draw(life, LABELS, width=61)
    surely = [service for service in life.coming if service.passing_probability <= 0.05]
    assert line.count("│") == len(surely)
    assert line[round((surely[0].tpc_mean_pct - 4) / 20 * 60)] == "│"
    ticks = [sign for sign in line if sign in UNICODE.ticks]
    assert ticks == sorted(ticks, key=UNICODE.ticks.index, reverse=True)
    assert "╵" in ticks


def test_a_service_the_oil_will_hardly_reach_has_no_tick(life):
    gone = tuple(replace(service, passing_probability=0.99) for service in life.coming)
    _, line, _ = draw(replace(life, coming=gone), LABELS, width=61)
    assert set(line) == {"─", "║"}


def test_of_two_services_in_one_place_the_surer_is_seen(life):
    first, second = life.coming[0], replace(life.coming[0], passing_probability=0.6)
    for coming in ((first, second), (second, first)):
        _, line, _ = draw(replace(life, coming=coming), LABELS, width=61)
        assert line.count("│") == 1
        assert "·" not in line


def test_labels_stand_under_what_they_name(life):
    _, _, labels = draw(life, LABELS, width=61)
    assert labels.startswith("fresh 4 ")
    assert labels.index("now") + len(LABELS.now) // 2 == 30
    assert labels.endswith("limit 24")
    assert len(labels) == 61


def test_fresh_oil_has_its_whole_hump_and_both_its_labels(life):
    hump, _, labels = draw(replace(life, mean_pct=4.0), LABELS, width=61)
    top = hump.index("█")
    assert hump[top - 2 : top] == hump[top + 2 : top : -1]
    assert labels.strip().startswith("fresh 4  now 14.0")


@given(
    mean=st.floats(0, 60),
    sd=st.floats(0, 20),
    fresh=st.floats(0, 15),
    limit=st.floats(5, 40),
    width=st.integers(42, 74),
)
def test_whatever_the_figures_every_row_fits_and_says_now_and_limit(mean, sd, fresh, limit, width):
    life = LifeLine(fresh_pct=fresh, limit_pct=limit, mean_pct=mean, sd_pct=sd, coming=())
    rows = draw(life, LABELS, width=width)
    assert max(map(len, rows)) <= width
    assert len(rows[1]) == width
    assert LABELS.now in rows[2]
    assert LABELS.limit in rows[2]
    assert set(rows[0]) & set(UNICODE.hump)


def test_ascii_signs_draw_the_same_line(life):
    rows = draw(life, LABELS, width=61, signs=ASCII)
    assert all(row.isascii() for row in rows)
    assert rows[0][30] == "@"
    assert rows[1].count("|") == draw(life, LABELS, width=61)[1].count("│")
