"""The limits that ship, and those that speak to a kitchen."""

import statistics
from dataclasses import replace
from urllib.parse import urlsplit

import pytest

from kettlewell.book import Force, Fryer, Grade, Judges, Kitchen, Limit, Oil, OilKind
from kettlewell.core.data import packaged_rows
from kettlewell.core.limits import jurisdictions, limits_of, packaged_limits
from kettlewell.core.limits.polymers import line_of, published_line
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
# authorities, gazettes, an organisation of the United Nations, and one journal
PUBLIC = {
    "eastregion.fssai.gov.in",
    "eur-lex.europa.eu",
    "inatrims.kemendag.go.id",
    "laves.niedersachsen.de",
    "legislation.gov.uk",
    "lyspkj.ijournal.cn",
    "www.bcn.cl",
    "www.boe.gob.es",
    "www.cfs.gov.hk",
    "www.ecolex.org",
    "www.favv.be",
    "www.foodsafetykorea.go.kr",
    "www.harnosand.se",
    "www.kuopio.fi",
    "www.lgl.bayern.de",
    "www.mhlw.go.jp",
    "www.pgrweb.go.cr",
    "www.szpi.gov.cz",
    "www.zh.ch",
}
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


@pytest.mark.parametrize("kind", list(OilKind))
def test_a_polymer_line_rises_and_grows_less_certain(kind: OilKind) -> None:
    line = line_of(Oil(key="oil", name="Oil", kind=kind))
    low, low_u = line.tpc_pct(10)
    high, high_u = line.tpc_pct(16)
    assert high > low
    assert high_u > low_u > 0


@pytest.mark.parametrize("row", packaged_rows("polymers.csv"), ids=lambda row: row["oil"])
def test_every_polymer_line_has_a_source_a_grade_and_a_date(row: dict[str, str]) -> None:
    assert row["source"]
    assert row["grade"] in {"research", "derived"}
    assert row["date"]


def test_the_line_of_palm_olein_passes_the_published_point() -> None:
    """25 % TPC is 10 % oligomers in palm olein (Forum Nutr. 56:345-347, 2003)."""
    tpc_pct, _ = line_of(Oil(key="oil", name="Oil", kind=OilKind.PALM_OLEIN)).tpc_pct(10)
    assert tpc_pct == pytest.approx(25, abs=0.1)


def test_the_published_points_of_sunflower_lie_within_its_line() -> None:
    """15 % at 25 % TPC (Forum Nutr. 56, 2003), 10 % at 20.4 % (Bastida & Sánchez-Muniz, JAOCS)."""
    line = line_of(Oil(key="oil", name="Oil", kind=OilKind.SUNFLOWER))
    for tpc_pct, polymers_pct in ((25, 15), (20.4, 10)):
        at, u_pct = line.tpc_pct(polymers_pct)
        assert abs(at - tpc_pct) < 2 * u_pct


def test_the_pooled_line_is_the_mean_of_the_measured_ones() -> None:
    """Five figures: palm olein, sunflower twice, olive, a mix; their mean and standard deviation."""
    measured = [0.57, 0.75, 0.65, 0.56, 0.59]
    per_point, u, _ = published_line(OilKind.OTHER)
    assert per_point == pytest.approx(statistics.mean(measured), abs=0.005)
    assert u == pytest.approx(statistics.stdev(measured), abs=0.005)


@pytest.mark.parametrize(
    ("code", "unfit_when", "since"),
    [
        ("ZA", ">=", "1996-08-16"),
        ("CZ", ">", "2024-01-01"),
        ("PT", ">", "1995-10-15"),
        ("ES", ">=", "1989-01-31"),
    ],
)
def test_comparators_and_days_are_those_that_were_read(code: str, unfit_when: str, since: str) -> None:
    (limit,) = (
        each
        for each in packaged_limits()
        if each.jurisdiction == code and each.quantity == "total polar compounds"
    )
    assert (limit.unfit_when, str(limit.in_force_since)) == (unfit_when, since)


def test_no_source_is_a_page_of_a_newspaper_or_a_firm() -> None:
    """A source is the name of a law, gazette or authority, or a page of one."""
    pages = {urlsplit(limit.source).hostname for limit in packaged_limits() if "://" in limit.source}
    assert pages == PUBLIC
