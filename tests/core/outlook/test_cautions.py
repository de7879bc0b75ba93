"""Which cautions belong to a verdict: by how a bath is drained, by its fat, by what it may hold."""

from dataclasses import replace

import pytest

from kettlewell.book import Draining, OilKind
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.cautions import cautions_of
from kettlewell.core.outlook.values import Caution

ALWAYS = {Caution.WET_FOOD, Caution.SMOKE, Caution.FIRE, Caution.BURNS}


@pytest.fixture
def cautions(kitchen):
    """Give the cautions of a verdict on ``big``, which fries what holds no allergen, in some oil."""

    def of(key=VerdictKey.CHANGE_BEFORE, *, cools=False, draining=Draining.HAND, **oil):
        big = kitchen.fryers[0]
        place = replace(kitchen, oils=(replace(kitchen.oils[0], **oil), *kitchen.oils[1:]))
        return cautions_of(place, replace(big, draining=draining), key, cools=cools)

    return of


@pytest.mark.parametrize("key", VerdictKey)
def test_fire_burns_smoke_and_wet_food_are_minded_whatever_is_to_be_done(cautions, key):
    assert set(cautions(key)) >= ALWAYS


def test_the_caution_of_the_act_comes_first(cautions):
    assert cautions()[0] is Caution.DRAIN_BY_HAND
    assert cautions(draining=Draining.PUMP)[0] is Caution.DRAIN_BY_PUMP
    assert cautions(VerdictKey.MEASURE_AGAIN)[0] is Caution.PROBE
    assert cautions(VerdictKey.MEASURE_AGAIN, cools=True)[0] is Caution.DRAIN_BY_HAND


@pytest.mark.parametrize(
    ("kind", "solid"), [(OilKind.RAPESEED, False), (OilKind.PALM_OLEIN, True), (OilKind.OTHER, True)]
)
def test_fat_that_may_be_solid_when_cold_is_minded(cautions, kind, solid):
    assert (Caution.SOLID_FAT in cautions(kind=kind)) is solid


@pytest.mark.parametrize(
    ("oil", "minded"),
    [
        ({}, False),
        ({"allergens": ("peanut",)}, True),
        ({"kind": OilKind.OTHER}, True),
        ({"kind": OilKind.OTHER, "allergens": ()}, False),
    ],
)
def test_an_oil_that_holds_or_may_hold_allergens_is_minded_as_food_is(cautions, oil, minded):
    assert (Caution.ALLERGENS in cautions(**oil)) is minded
