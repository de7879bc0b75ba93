"""What each limit means for one fryer."""

from dataclasses import replace

import pytest

from kettlewell.book import FoodKind, Force, Fryer, Grade, Judges, Kitchen, Limit, Oil, OilKind, Product
from kettlewell.core.limits import (
    FryerLimits,
    LimitNote,
    LimitStatus,
    NoteCode,
    judge_limits,
    jurisdictions,
    limits_of,
)
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
    # 5 + 20 * 12/15, and ((21 - 5) * 1.5/15)² + 1² under the root
    assert polymers.tpc_pct == pytest.approx(21)
    assert polymers.tpc_u_pct == pytest.approx(1.887, abs=5e-4)
    assert [(note.limit.quantity, note.code) for note in not_judged(limits)] == [
        ("acid value", NoteCode.NOT_MEASURED),
        ("smoke point", NoteCode.UNVERIFIED),
    ]


def test_limits_judged_stand_by_the_polar_compounds_they_stand_for() -> None:
    limits = judge("DE", limits=(HOUSE,))
    assert [limit.tpc_pct for limit in limits.oil] == [pytest.approx(21), 22, 24]
    assert [limit.mapped for limit in limits.oil] == [True, False, False]


def test_polymers_of_an_oil_with_a_measured_line_are_judged_and_of_others_named_as_not_judged() -> None:
    (measured, _), (_,) = judge("BE").oil, judge("BE", oil="soya").oil
    assert (measured.mapped, measured.rough) == (True, False)
    unknown = noted(judge("BE", oil="soya"), "polymerised triglycerides")
    assert (unknown.status, unknown.code) == (LimitStatus.NOT_JUDGED, NoteCode.NO_LINE)


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
    (united_kingdom,) = judge("GB").notes
    assert (united_kingdom.status, united_kingdom.code) == (LimitStatus.NONE_FOUND, NoteCode.NONE_FOUND)
    (own_set,) = judge("GB", limits=(HOUSE,)).notes
    assert own_set.code is NoteCode.NONE_FOUND_OWN_SET


@pytest.mark.parametrize("code", ["GB", "CL", "AT", "JP", "KR", "SE", "EU", None])
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
    jurisdiction: str | None, *, limits: tuple[Limit, ...] = (), risk: float = 0.05, **fryer: object
) -> FryerLimits:
    kitchen = replace(KITCHEN, jurisdiction=jurisdiction, limits=limits, risk=risk)
    return judge_limits(kitchen, replace(FRYER, **fryer))


def noted(limits: FryerLimits, quantity: str) -> LimitNote:
    (found,) = (note for note in limits.notes if note.limit.quantity == quantity)
    return found


def not_judged(limits: FryerLimits) -> list[LimitNote]:
    return [note for note in limits.notes if note.status is LimitStatus.NOT_JUDGED]
