"""What each limit means for one fryer."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kettlewell.book import (
    FoodKind,
    Force,
    Fryer,
    Grade,
    Judges,
    Kitchen,
    Limit,
    Oil,
    OilKind,
    Polymers,
    Product,
)
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.limits import (
    FryerLimits,
    LimitNote,
    LimitStatus,
    NoteCode,
    OilLimit,
    judge_limits,
    jurisdictions,
    limits_of,
)
from kettlewell.core.limits.polymers import PolymerFigure
from kettlewell.telling.limits import limit_messages, note_message

FRYER = Fryer(key="one", name="One", oil="sunflower", oil_mass_kg=15, set_temp_c=172, fries=("fries",))
KITCHEN = Kitchen(
    name="Marrowby ferry terminal",
    fryers=(FRYER,),
    oils=(
        Oil(key="sunflower", name="Sunflower oil", kind=OilKind.SUNFLOWER),
        Oil(key="palm", name="Palm olein", kind=OilKind.PALM_OLEIN),
        Oil(key="soya", name="Soya oil", kind=OilKind.SOYA),
    ),
    products=(
        Product(key="fries", name="Fries", kind=FoodKind.FROZEN_FRIES),
        Product(key="fish", name="Battered fish", kind=FoodKind.BATTERED_FISH),
    ),
)
HOUSE = Limit(
    jurisdiction="house",
    judges=Judges.OIL,
    quantity="total polar compounds",
    unfit_when=">",
    value=22,
    unit="% m/m",
    force=Force.HOUSE,
)


def test_a_german_sunflower_fryer_has_two_limits_judged_and_two_named_as_not_judged() -> None:
    limits = judge("DE")
    polymers, polar = limits.oil
    assert (polar.limit.quantity, polar.tpc_pct, polar.tpc_u_pct) == ("total polar compounds", 24, 0)
    assert (polymers.limit.quantity, polymers.limit.value) == ("polymerised triglycerides", 12)
    # 5 + 12/0.70, and (12/0.70 * 0.05/0.70)² and the spread of fresh sunflower oil under the root
    assert polymers.tpc_pct == pytest.approx(22.143, abs=5e-4)
    assert polymers.tpc_u_pct == pytest.approx(
        math.hypot(1.2245, PACKAGED.oils["sunflower"].fresh_tpc_sd_pct), abs=5e-4
    )
    assert [(note.limit.quantity, note.code) for note in not_judged(limits)] == [
        ("acid value", NoteCode.NOT_MEASURED),
        ("smoke point", NoteCode.UNVERIFIED),
    ]


def test_limits_judged_stand_by_the_polar_compounds_they_stand_for() -> None:
    limits = judge("DE", limits=(HOUSE,))
    assert [limit.tpc_pct for limit in limits.oil] == [22, pytest.approx(22.143, abs=5e-4), 24]
    assert [limit.mapped for limit in limits.oil] == [False, True, False]


def test_polymers_of_an_oil_with_a_measured_line_are_judged_and_of_others_by_all_studies_together() -> None:
    measured, pooled = (mapped(judge("BE", oil=oil)) for oil in ("palm", "soya"))
    assert (measured.rough, pooled.rough) == (False, True)
    # 4 + 10/0.62, and 10/0.62 * 0.08/0.62
    assert pooled.tpc_pct == pytest.approx(20.129, abs=5e-4)
    assert pooled.tpc_u_pct > 2.08


def test_a_laboratorys_figure_of_this_oil_takes_over_from_what_was_published() -> None:
    high, low = (PolymerFigure(oil="soya", tpc_pct=22.0, polymers_pct=pct) for pct in (14.0, 9.0))
    of_another = PolymerFigure(oil="palm", tpc_pct=22.0, polymers_pct=14.0)
    packaged, sooner, later, same = (
        mapped(judge("BE", oil="soya", figures=figures))
        for figures in ((), (high,) * 3, (low,) * 3, (of_another,))
    )
    assert sooner.tpc_pct < packaged.tpc_pct < later.tpc_pct
    assert sooner.tpc_u_pct < packaged.tpc_u_pct
    assert (sooner.by_laboratory, sooner.rough, packaged.by_laboratory) == (True, False, False)
    assert same == packaged


@given(st.floats(4.5, 35), st.floats(0, 30), st.floats(0, 30))
def test_more_polymers_from_the_laboratory_never_raise_the_limit(tpc_pct: float, a: float, b: float) -> None:
    figures = [PolymerFigure(oil="soya", tpc_pct=tpc_pct, polymers_pct=pct) for pct in sorted((a, b))]
    less, more = (mapped(judge("BE", oil="soya", figures=(figure,))) for figure in figures)
    assert less.tpc_pct >= more.tpc_pct
    assert less.tpc_u_pct >= more.tpc_u_pct


def test_the_laboratory_may_be_left_to_decide_on_polymers() -> None:
    left = judge("BE", oil="soya", polymers=Polymers.LABORATORY)
    assert [limit.mapped for limit in left.oil] == [False]
    assert noted(left, "polymerised triglycerides").code is NoteCode.LABORATORY_DECIDES
    figure = PolymerFigure(oil="soya", tpc_pct=22.0, polymers_pct=11.0)
    assert mapped(judge("BE", oil="soya", polymers=Polymers.LABORATORY, figures=(figure,))).by_laboratory


def test_polymers_judge_where_nothing_else_screens() -> None:
    assert mapped(judge("NL", polymers=Polymers.LABORATORY)).limit.value == 16


@pytest.mark.parametrize(
    ("code", "said"),
    [
        *((code, NoteCode.METER_SCREENS) for code in ("BE", "PL", "TR")),
        *((code, NoteCode.NO_TOP_UP) for code in ("IT", "BR")),
    ],
)
def test_what_a_rule_says_beside_its_number_is_told(code: str, said: NoteCode) -> None:
    notes = [note for note in judge(code).notes if note.status is LimitStatus.ADVICE]
    assert [note.code for note in notes] == [said]
    assert str(note_message(notes[0])).startswith(f"{code}: ")


def test_a_polymer_limit_beyond_what_was_measured_is_a_rough_one() -> None:
    (dutch,) = judge("NL", oil="palm").oil
    assert dutch.tpc_pct > 25
    assert dutch.rough


def test_the_risk_of_binding_limits_and_guidance_is_at_most_5_percent() -> None:
    limits = judge("DE", limits=(HOUSE,), risk=0.3).oil
    assert {limit.limit.force: limit.risk for limit in limits} == {Force.HOUSE: 0.3, Force.GUIDANCE: 0.05}


@pytest.mark.parametrize(
    ("set_temp_c", "status"),
    [(174.9, LimitStatus.KEPT), (175, LimitStatus.WARNING), (180, LimitStatus.WARNING)],
)
def test_potatoes_are_fried_below_175_degrees(set_temp_c: float, status: LimitStatus) -> None:
    """Regulation (EU) 2017/2158, Annex II part A: below 175 °C, so 175 °C itself is too hot."""
    potato = noted(judge("FR", set_temp_c=set_temp_c), "potato frying temperature")
    assert (potato.status, potato.set_temp_c) == (status, set_temp_c)
    assert (potato.code is NoteCode.TOO_HOT) is (status is LimitStatus.WARNING)


@pytest.mark.parametrize(("set_temp_c", "status"), [(180, LimitStatus.KEPT), (181, LimitStatus.WARNING)])
def test_a_limit_above_180_degrees_allows_180(set_temp_c: float, status: LimitStatus) -> None:
    assert noted(judge("BE", set_temp_c=set_temp_c), "oil temperature").status is status


def test_the_potato_limit_is_left_out_where_no_potatoes_are_fried() -> None:
    limits = judge("FR", fries=("fish",), set_temp_c=185)
    assert "potato frying temperature" not in {note.limit.quantity for note in limits.notes}


def test_where_nothing_says_what_is_fried_the_potato_limit_is_named_and_not_judged() -> None:
    potato = noted(judge("FR", fries=(), set_temp_c=185), "potato frying temperature")
    assert (potato.status, potato.code) == (LimitStatus.NOT_JUDGED, NoteCode.FOODS_UNKNOWN)


def test_an_unverified_number_is_shown_and_not_judged() -> None:
    (chile,) = judge("CL").notes
    assert chile.unverified
    assert (chile.status, chile.code) == (LimitStatus.NOT_JUDGED, NoteCode.UNVERIFIED)


def test_a_number_the_kitchen_confirms_as_its_own_is_judged() -> None:
    (chile,) = judge("CL").notes
    confirmed = replace(chile.limit, grade=Grade.HOUSE)
    (judged,) = judge("CL", limits=(confirmed,)).oil
    assert judged.tpc_pct == 25


def test_where_no_number_was_found_the_row_says_so() -> None:
    united_kingdom = noted(judge("GB"), "total polar compounds")
    assert (united_kingdom.status, united_kingdom.code) == (LimitStatus.NONE_FOUND, NoteCode.NONE_FOUND)
    own_set = noted(judge("GB", limits=(HOUSE,)), "total polar compounds")
    assert own_set.code is NoteCode.NONE_FOUND_OWN_SET


@pytest.mark.parametrize("code", ["GB", "CL", "AT", "TW", "LI", "BR", "JP", "KR", "SE", "EU", None])
def test_a_fryer_may_have_no_limit_that_judges_its_oil(code: str | None) -> None:
    assert judge(code).oil == ()


@pytest.mark.parametrize("code", ["GB", "DE", None])
def test_a_house_limit_is_enough_to_judge_the_oil(code: str | None) -> None:
    assert HOUSE in [limit.limit for limit in judge(code, limits=(HOUSE,)).oil]


@pytest.mark.parametrize("code", jurisdictions())
def test_no_limit_on_the_oil_is_passed_over(code: str) -> None:
    """Each is judged or noted, and told in a whole sentence that names what is not judged."""
    kitchen = replace(KITCHEN, jurisdiction=code)
    limits = judge(code)
    speak = [each for each in limits_of(kitchen) if each.judges is Judges.OIL]
    met = [each.limit for each in (*limits.oil, *limits.notes)]
    assert all(limit in met for limit in speak)
    assert not [message for message in limit_messages(limits) if "{" in str(message)]
    for note in not_judged(limits):
        assert str(note_message(note)).startswith(f"Not judged: {note.limit.quantity}")


@pytest.mark.parametrize("broken", [{"unfit_when": "<"}, {"unfit_when": ""}, {"value": None}])
def test_a_limit_that_cannot_be_judged_as_written_is_refused(broken: dict[str, str | None]) -> None:
    with pytest.raises(ValueError, match=r"limit on total polar compounds .* needs > or >= and a number"):
        judge(None, limits=(replace(HOUSE, **broken),))


def judge(
    jurisdiction: str | None,
    *,
    limits: tuple[Limit, ...] = (),
    risk: float = 0.05,
    polymers: Polymers = Polymers.POLAR_COMPOUNDS,
    figures: tuple[PolymerFigure, ...] = (),
    **fryer: object,
) -> FryerLimits:
    kitchen = replace(KITCHEN, jurisdiction=jurisdiction, limits=limits, risk=risk, polymers=polymers)
    return judge_limits(kitchen, replace(FRYER, **fryer), figures)


def mapped(limits: FryerLimits) -> OilLimit:
    (found,) = (limit for limit in limits.oil if limit.mapped)
    return found


def noted(limits: FryerLimits, quantity: str) -> LimitNote:
    (found,) = (
        note
        for note in limits.notes
        if note.limit.quantity == quantity and note.status is not LimitStatus.ADVICE
    )
    return found


def not_judged(limits: FryerLimits) -> list[LimitNote]:
    return [note for note in limits.notes if note.status is LimitStatus.NOT_JUDGED]
