"""The limits that ship, and those that speak to a kitchen."""

from dataclasses import replace

import pytest

from kettlewell.book import Force, Fryer, Grade, Judges, Kitchen, Limit, Oil, OilKind
from kettlewell.core.data import packaged_rows
from kettlewell.core.limits import jurisdictions, limits_of, packaged_limits
from kettlewell.core.limits.polymers import polymer_line
from kettlewell.core.limits.rules import EU_MEMBERS

HOUSE = Limit(
    jurisdiction="house",
    judges=Judges.OIL,
    quantity="total polar compounds",
    unfit_when=">",
    value=22,
    unit="% m/m",
    force=Force.HOUSE,
)
KITCHEN = Kitchen(
    name="Marrowby ferry terminal",
    fryers=(Fryer(key="one", name="One", oil="oil", oil_mass_kg=15),),
    oils=(Oil(key="oil", name="Oil"),),
    limits=(HOUSE,),
)


@pytest.mark.parametrize(
    "limit", packaged_limits(), ids=lambda limit: f"{limit.jurisdiction} {limit.quantity}"
)
def test_every_limit_has_a_source_and_a_grade_or_says_that_none_was_found(limit: Limit) -> None:
    assert limit.grade is not Grade.HOUSE
    if limit.force is Force.NONE_FOUND:
        assert (limit.value, limit.unfit_when) == (None, "")
        assert limit.remark
    else:
        assert limit.source
        assert limit.instrument
        assert limit.unfit_when in {">", ">=", "<"}
        assert limit.value is not None


@pytest.mark.parametrize("code", jurisdictions())
def test_every_jurisdiction_gives_its_own_limits_and_the_kitchens(code: str) -> None:
    limits = limits_of(replace(KITCHEN, jurisdiction=code))
    assert HOUSE in limits
    assert {limit.jurisdiction for limit in limits} <= {"house", code, "EU"}
    assert len(limits) > 1


def test_a_member_state_has_the_unions_limits_too() -> None:
    germany = limits_of(replace(KITCHEN, jurisdiction="DE"))
    assert {limit.jurisdiction for limit in germany} == {"house", "DE", "EU"}


def test_other_states_do_not_have_the_unions_limits() -> None:
    switzerland = limits_of(replace(KITCHEN, jurisdiction="CH"))
    assert {limit.jurisdiction for limit in switzerland} == {"house", "CH"}


def test_the_union_has_27_members() -> None:
    assert len(EU_MEMBERS) == 27


def test_without_a_jurisdiction_only_the_kitchens_own_limits_count() -> None:
    assert limits_of(KITCHEN) == (HOUSE,)


def test_an_unknown_jurisdiction_is_refused_and_the_known_ones_are_named() -> None:
    with pytest.raises(ValueError, match=r"'XX' is not known; known are AT, AU, BE"):
        limits_of(replace(KITCHEN, jurisdiction="XX"))


@pytest.mark.parametrize("kind", [OilKind.SUNFLOWER, OilKind.PALM_OLEIN, OilKind.OLIVE])
def test_a_polymer_line_rises_and_grows_less_certain(kind: OilKind) -> None:
    low, low_u = polymer_line(kind).tpc_pct(10)
    high, high_u = polymer_line(kind).tpc_pct(16)
    assert high > low
    assert high_u > low_u > 0


@pytest.mark.parametrize("row", packaged_rows("polymers.csv"), ids=lambda row: row["oil"])
def test_every_polymer_line_has_a_source_a_grade_and_a_date(row: dict[str, str]) -> None:
    assert row["source"]
    assert row["grade"] in {"research", "derived"}
    assert row["date"]


@pytest.mark.parametrize(("kind", "polymers_pct"), [(OilKind.PALM_OLEIN, 10), (OilKind.SUNFLOWER, 15)])
def test_the_polymer_lines_pass_the_published_points(kind: OilKind, polymers_pct: float) -> None:
    """25 % TPC is 10 % oligomers in palm olein and 15 % in sunflower (Forum Nutr. 56:345-347, 2003)."""
    tpc_pct, _ = polymer_line(kind).tpc_pct(polymers_pct)
    assert tpc_pct == pytest.approx(25)
