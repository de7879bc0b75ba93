"""Pictures are sound SVG: named, without inline style, safe whatever a kitchen calls its things."""

from dataclasses import replace

import pytest

from kettlewell.marks.chart import draw_chart
from kettlewell.marks.lifeline import draw_life_line
from kettlewell.marks.svg import Caption, node, picture, written
from kettlewell.marks.theme import Part, printed, screen
from kettlewell.marks.values import LimitLine

EVIL = "<script>alert('x')</script>\"&\x00\x0b"


@pytest.fixture(params=[screen, printed])
def theme(request):
    return request.param


@pytest.fixture
def both(life, labels, chart, chart_labels, caption, theme):
    return (
        draw_life_line(life, labels, caption, theme=theme),
        draw_chart(chart, chart_labels, caption, theme=theme),
    )


def test_a_picture_is_an_image_with_a_title_and_a_sentence(both, drawn):
    for svg in both:
        root = drawn(svg).root
        named = {shape.get("id"): shape.text for shape in root.iter() if shape.get("id")}
        assert root.get("role") == "img"
        assert named[root.get("aria-labelledby")] == "Fries"
        assert named[root.get("aria-describedby")] == "Polar compounds about 14 % now."


def test_nothing_is_styled_inline_and_nothing_runs(both):
    for svg in both:
        for forbidden in ("style", "<script", "onload", "href", "<foreignObject"):
            assert forbidden not in svg


def test_on_the_screen_parts_have_classes_and_in_print_looks(both, theme):
    for svg in both:
        assert ("class=" in svg) is (theme is screen)
        assert ("stroke=" in svg) is (theme is printed)


@pytest.mark.parametrize("part", Part)
def test_every_part_has_a_look_in_print(part):
    assert printed(part)


def test_the_same_figures_give_the_same_picture(life, labels, chart, chart_labels, caption):
    assert draw_life_line(life, labels, caption) == draw_life_line(life, labels, caption)
    assert draw_chart(chart, chart_labels, caption) == draw_chart(chart, chart_labels, caption)


def test_words_cannot_break_out_of_their_place(drawn, life, labels, chart, chart_labels):
    caption = Caption(name=EVIL, title=EVIL, desc=EVIL)
    limits = (LimitLine(tpc_pct=24.0, label=EVIL),)
    for svg in (
        draw_life_line(life, replace(labels, now=EVIL), caption),
        draw_chart(replace(chart, limits=limits), replace(chart_labels, now=EVIL), caption),
    ):
        assert "<script" not in svg
        assert "<script>alert('x')</script>\"&" in drawn(svg).words()


def test_what_a_picture_refers_to_is_in_it_and_nowhere_else(drawn, life, labels):
    found = []
    for name in ("F 1", "F-1", "F_1", "Fünf", "F)"):
        svg = drawn(draw_life_line(life, labels, Caption(name=name, title="t", desc="d")))
        ids = {shape.get("id") for shape in svg.root.iter() if shape.get("id")}
        fills = [
            shape.get("fill") for shape in svg.root.iter() if (shape.get("fill") or "").startswith("url(#")
        ]
        assert {fill.removeprefix("url(#").removesuffix(")") for fill in fills} <= ids
        found.extend(ids)
    assert len(set(found)) == len(found)


def test_a_template_engine_takes_a_picture_as_markup(caption):
    svg = picture([node("g")], caption, size=(10.0, 10.0), look={})
    assert svg.__html__() == svg


@pytest.mark.parametrize(("number", "told"), [(1.0, "1"), (1.26, "1.3"), (-0.04, "0"), (-2.5, "-2.5")])
def test_numbers_are_short(number, told):
    assert written(number) == told
