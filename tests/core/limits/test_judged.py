"""What each limit means for one fryer."""

from dataclasses import replace

import pytest

from kettlewell.book import FoodKind, Force, Fryer, Grade, Judges, Kitchen, Limit, Oil, OilKind, Product
from kettlewell.core.limits import JudgedLimit, LimitStatus, judge_limits, jurisdictions, nothing_judged

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
    polymers, polar = limits[:2]
    assert (polar.limit.quantity, polar.tpc_pct, polar.tpc_u_pct) == ("total polar compounds", 24, 0)
    assert (polymers.limit.quantity, polymers.limit.value) == ("polymerised triglycerides", 12)
    assert polymers.status is polar.status is LimitStatus.JUDGED
    # 5 + 20 * 12/15, and ((21 - 5) * 1.5/15)² + 1² under the root
    assert polymers.tpc_pct == pytest.approx(21)
    assert polymers.tpc_u_pct == pytest.approx(1.887, abs=5e-4)
    assert "21 % polar compounds, give or take 1.9" in str(polymers.message)
    not_judged = [str(one.message) for one in limits if one.status is LimitStatus.NOT_JUDGED]
    assert [message.split(" (")[0].split(". The")[0] for message in not_judged] == [
        "Not judged: acid value",
        "Not judged: smoke point",
    ]


def test_limits_judged_come_first_by_the_polar_compounds_they_stand_for() -> None:
    limits = judge("DE", limits=(HOUSE,))
    assert [one.tpc_pct for one in limits[:3]] == [pytest.approx(21), 22, 24]
    assert all(one.tpc_pct is None and one.tpc_u_pct is None and one.risk is None for one in limits[3:])


def test_polymers_of_an_oil_with_a_measured_line_are_judged_and_of_others_named_as_not_judged() -> None:
    measured, unknown = (polymers(judge("BE", oil=oil)) for oil in ("sunflower", "soya"))
    assert measured.status is LimitStatus.JUDGED
    assert "derived and not measured" not in str(measured.message)
    assert unknown.status is LimitStatus.NOT_JUDGED
    assert str(unknown.message).startswith("Not judged: polymerised triglycerides")


def test_a_polymer_limit_beyond_what_was_measured_says_so() -> None:
    dutch = polymers(judge("NL", oil="palm"))
    assert dutch.tpc_pct > 25
    assert "derived and not measured" in str(dutch.message)


def test_the_risk_of_binding_limits_and_guidance_is_at_most_5_percent() -> None:
    limits = judge("DE", limits=(HOUSE,), risk=0.3)
    risks = {one.limit.force: one.risk for one in limits if one.status is LimitStatus.JUDGED}
    assert risks == {Force.HOUSE: 0.3, Force.GUIDANCE: 0.05}


@pytest.mark.parametrize(
    ("set_temp_c", "status"),
    [(174.9, LimitStatus.KEPT), (175, LimitStatus.WARNING), (180, LimitStatus.WARNING)],
)
def test_potatoes_are_fried_below_175_degrees(set_temp_c: float, status: LimitStatus) -> None:
    """Regulation (EU) 2017/2158, Annex II part A: below 175 °C, so 175 °C itself is too hot."""
    potato = by_quantity(judge("FR", set_temp_c=set_temp_c), "potato frying temperature")
    assert potato.status is status
    assert potato.tpc_pct is None
    assert ("Turn it down" in str(potato.message)) is (status is LimitStatus.WARNING)


@pytest.mark.parametrize(("set_temp_c", "status"), [(180, LimitStatus.KEPT), (181, LimitStatus.WARNING)])
def test_a_limit_above_180_degrees_allows_180(set_temp_c: float, status: LimitStatus) -> None:
    assert by_quantity(judge("BE", set_temp_c=set_temp_c), "oil temperature").status is status


def test_the_potato_limit_is_left_out_where_no_potatoes_are_fried() -> None:
    quantities = {one.limit.quantity for one in judge("FR", fries=("fish",), set_temp_c=185)}
    assert "potato frying temperature" not in quantities


def test_where_nothing_says_what_is_fried_the_potato_limit_is_named_and_not_judged() -> None:
    potato = by_quantity(judge("FR", fries=(), set_temp_c=185), "potato frying temperature")
    assert potato.status is LimitStatus.NOT_JUDGED
    assert "fry potatoes below 175 °C" in str(potato.message)


def test_an_unverified_number_is_shown_and_not_judged() -> None:
    (chile,) = judge("CL")
    assert chile.unverified
    assert chile.status is LimitStatus.NOT_JUDGED
    assert "unverified: confirm before relying on it" in str(chile.message)


def test_a_number_the_kitchen_confirms_as_its_own_is_judged() -> None:
    (chile,) = judge("CL")
    confirmed = replace(chile.limit, grade=Grade.HOUSE)
    first = judge("CL", limits=(confirmed,))[0]
    assert (first.status, first.unverified, first.tpc_pct) == (LimitStatus.JUDGED, False, 25)


def test_where_no_number_was_found_the_row_says_so() -> None:
    (united_kingdom,) = judge("GB")
    assert united_kingdom.status is LimitStatus.NONE_FOUND
    assert "No number was found for total polar compounds in GB" in str(united_kingdom.message)


@pytest.mark.parametrize("code", ["GB", "CL", "AT", "JP", "KR", "SE", "EU", None])
def test_a_fryer_whose_oil_nothing_judges_is_told_to_set_a_limit(code: str | None) -> None:
    assert "Set a limit of your own" in str(nothing_judged(judge(code)))


@pytest.mark.parametrize("code", ["GB", "DE", None])
def test_a_house_limit_is_enough_to_judge_the_oil(code: str | None) -> None:
    assert nothing_judged(judge(code, limits=(HOUSE,))) is None


@pytest.mark.parametrize("code", jurisdictions())
def test_no_limit_on_the_oil_is_passed_over(code: str) -> None:
    for one in judge(code):
        assert one.status is LimitStatus.JUDGED or one.tpc_pct is None
        assert "{" not in str(one.message)
        if one.status is LimitStatus.NOT_JUDGED:
            assert str(one.message).startswith(f"Not judged: {one.limit.quantity}")


@pytest.mark.parametrize("broken", [{"unfit_when": "<"}, {"unfit_when": ""}, {"value": None}])
def test_a_limit_that_cannot_be_judged_as_written_is_refused(broken: dict[str, str | None]) -> None:
    with pytest.raises(ValueError, match=r"limit on total polar compounds .* needs > or >= and a number"):
        judge(None, limits=(replace(HOUSE, **broken),))


def judge(
    jurisdiction: str | None, *, limits: tuple[Limit, ...] = (), risk: float = 0.05, **fryer: object
) -> tuple[JudgedLimit, ...]:
    kitchen = replace(KITCHEN, jurisdiction=jurisdiction, limits=limits, risk=risk)
    return judge_limits(kitchen, replace(FRYER, **fryer))


def by_quantity(limits: tuple[JudgedLimit, ...], quantity: str) -> JudgedLimit:
    (found,) = (one for one in limits if one.limit.quantity == quantity)
    return found


def polymers(limits: tuple[JudgedLimit, ...]) -> JudgedLimit:
    return by_quantity(limits, "polymerised triglycerides")
