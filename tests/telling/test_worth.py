"""What a meter's readings and a laboratory sample are worth, in a cook's sentences."""

from dataclasses import replace
from decimal import Decimal

import pytest

from kettlewell.book import Oil
from kettlewell.core.outlook.worth import Accepted, OilWorth, SampleWorth
from kettlewell.telling.cautions import SAMPLE
from kettlewell.telling.worth import accepted_words, believed, known_to, misled, sampled


@pytest.fixture
def sample():
    return SampleWorth(
        tpc_pct=20.0,
        gain_sd=0.06,
        gain_sd_after=0.03,
        fryer="F1",
        services_more=1.13,
        saved_kg=6.28,
        saved=Decimal("13.19"),
        pays_after_days=300,
    )


@pytest.fixture
def worth(sample):
    one = Accepted(readings=1, u_pct=1.5, accept_pct=20.09, consumer=0.0031, producer=0.057)
    two = Accepted(readings=2, u_pct=1.42, accept_pct=20.2, consumer=0.0002, producer=0.05)
    return OilWorth(
        oil=Oil(key="rapeseed", name="Rapeseed oil"),
        limit_pct=24.0,
        risk=0.05,
        offset_pct=0.62,
        offset_sd_pct=0.4,
        gain=0.96,
        gain_sd=0.06,
        accepted=(one, two),
        sample=sample,
    )


def test_a_reading_that_accepts_oil_is_never_told_too_high(worth, reader):
    assert accepted_words(worth, reader) == (
        "Fry up to 20 % on this meter; read twice, up to a mean of 20.2 % (limit 24 %)."
    )


def test_how_well_readings_tell_the_oil_is_told_as_where_19_of_20_lie(worth, reader):
    assert "one reading is right to ± 3 points, two are to ± 2.8 points" in known_to(worth, reader)


def test_how_often_readings_mislead_is_counted_of_a_thousand_and_a_rare_share_is_not_none(worth, reader):
    assert misled(worth, reader) == (
        "Of 1,000 readings about 3 would keep unfit oil and about 57 would waste good oil. "
        "Read twice each time: fewer than 1 and about 50."
    )


def test_shares_that_nobody_can_know_yet_are_not_told_as_numbers(worth, reader):
    unknown = tuple(replace(one, consumer=None, producer=None) for one in worth.accepted)
    told = misled(replace(worth, accepted=unknown), reader)
    assert told == "There are too few readings in this oil lately to say how often they mislead."


@pytest.mark.parametrize(
    ("offset", "told"),
    [(0.62, "plus 0.6 points"), (-0.62, "less 0.6 points"), (-0.02, "plus 0.0 points")],
)
def test_a_meter_that_reads_less_is_told_without_a_sign(worth, reader, offset, told):
    assert told in believed(replace(worth, offset_pct=offset), reader)


@pytest.fixture
def told_of(worth, sample, kitchen, reader):
    """Tell the worth of the sample, changed so, at a price of the laboratory."""

    def told(price, **changes):
        changed = replace(worth, sample=replace(sample, **changes))
        return sampled(changed, replace(kitchen, laboratory_price=price), reader)

    return told


def test_a_sample_is_told_with_the_fryer_it_serves_most_and_when_it_pays(told_of):
    assert told_of(Decimal(44)) == (
        "One laboratory sample at about 20 % would let you use this oil 1.1 services longer in Fries (F1). "
        "Over a quarter it would save about 6.3 kg, worth 13.19 at your price. "
        f"At 44.00 a sample it pays for itself in 300 days. {SAMPLE}"
    )
    never = told_of(Decimal(90), pays_after_days=None)
    assert never.endswith(f"At 90.00 a sample it does not pay for itself within a year. {SAMPLE}")


def test_a_sample_is_told_without_the_prices_that_are_not_known(told_of):
    without = told_of(None, pays_after_days=None)
    assert without.endswith(f"worth 13.19 at your price. {SAMPLE}")
    assert told_of(Decimal(44), saved=None, pays_after_days=None).endswith(f"about 6.3 kg. {SAMPLE}")


def test_a_sample_that_would_change_nothing_is_told_so(worth, kitchen, reader):
    told = sampled(replace(worth, sample=None), kitchen, reader)
    assert told == "A laboratory sample would not help with this oil at present: you could not use it longer."
