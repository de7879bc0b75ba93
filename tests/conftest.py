"""A kitchen of two fryers and what the core might say about them; every figure is invented."""

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import moments  # noqa: F401 - the clock stands still before anything asks it
import pytest
from babel import Locale
from django.utils import translation
from hypothesis import settings

from kettlewell.book import (
    Force,
    Fryer,
    Judges,
    Kitchen,
    Limit,
    Oil,
    Product,
    Service,
)
from kettlewell.core.decision import Reason, VerdictKey
from kettlewell.core.limits import Quantity, judge_limits
from kettlewell.core.outlook.values import (
    Assessment,
    CardLine,
    Caution,
    ChangesIf,
    Cooling,
    Flag,
    FlagKind,
    InBath,
    Life,
    Odds,
    Remedy,
    ServiceForecast,
    TakeOver,
    Verdict,
    WallCard,
)
from kettlewell.practice.hand_meter import HAND_METER
from kettlewell.telling import Reader

pytest_plugins = ["cast", "tampering"]
settings.register_profile("unhurried", deadline=None)  # a loaded machine may stall any single example
settings.load_profile("unhurried")

NOW = datetime(2026, 11, 15, 21, 30, tzinfo=UTC)
LUNCH = datetime(2026, 11, 16, 11, 30, tzinfo=UTC)


@pytest.fixture(autouse=True)
def tongue():
    """A request leaves its language to whoever comes next: here nobody is to find it."""
    yield
    translation.deactivate()


@pytest.fixture
def now():
    return NOW


@pytest.fixture
def kitchen():
    return Kitchen(
        name="Two baths (invented)",
        timezone="Europe/London",
        oils=(Oil(key="rapeseed", name="Rapeseed oil"),),
        products=(Product(key="fish", name="Battered fish"), Product(key="fries", name="Frozen fries")),
        fryers=(
            Fryer(key="F1", name="Fries", oil="rapeseed", oil_mass_kg=20, fries=("fries",)),
            Fryer(key="F2", name="Fish", oil="rapeseed", oil_mass_kg=14, fries=("fish",)),
        ),
        meters=(HAND_METER,),
        services=(Service(name="Lunch", weekdays=tuple(range(7)), begins=time(11, 30), ends=time(14, 30)),),
        limits=(
            Limit(
                jurisdiction="house",
                judges=Judges.OIL,
                quantity="total polar compounds",
                unfit_when=">",
                value=24.0,
                unit="% m/m",
                force=Force.HOUSE,
            ),
        ),
    )


@pytest.fixture
def reader():
    return Reader(locale=Locale.parse("en_GB"), zone=ZoneInfo("Europe/London"), now=NOW)


def forecast(start_pct, step_pct, sd_pct=1.0):
    services = []
    for day in range(12):
        mean = start_pct + step_pct * (day + 1)
        services.append(
            ServiceForecast(
                name="Lunch",
                begins_at=LUNCH + timedelta(days=day),
                ends_at=LUNCH + timedelta(days=day, hours=3),
                tpc_mean_pct=mean,
                tpc_sd_pct=sd_pct,
                passing_probability=min(max((mean - 21) / 6, 0.0), 1.0),
            )
        )
    return tuple(services)


LIFE = Life(
    services_left=4,
    change_at=datetime(2026, 11, 20, 11, 30, tzinfo=UTC),
    services_median=5.4,
    services_low=4.0,
    services_high=7.0,
    hot_h_median=16.2,
    hot_h_low=12.0,
    hot_h_high=21.0,
    ends_at_median=datetime(2026, 11, 20, 14, 30, tzinfo=UTC),
    ends_at_low=datetime(2026, 11, 19, 14, 30, tzinfo=UTC),
    ends_at_high=datetime(2026, 11, 22, 14, 30, tzinfo=UTC),
    never=False,
    horizon_services=28,
)


ACCEPTED = Odds(
    code=Reason.RISK_ACCEPTED,
    quantity=Quantity.TPC,
    limit_pct=24.0,
    service="Lunch",
    ends_at=LUNCH + timedelta(hours=3),
    passing_probability=0.001,
    risk=0.05,
    metered=True,
)
WET = Flag(
    kind=FlagKind.WET,
    at=NOW,
    ref="log.csv:12",
    reading_pct=21.0,
    oil_temp_c=150.0,
    surprise_pct=6.26,
)


@pytest.fixture
def fry_on(kitchen):
    """F1: fit to fry in, read by Wednesday."""
    return Assessment(
        fryer="F1",
        name="Fries",
        at=NOW,
        model_version="1",
        filled_at=datetime(2026, 11, 9, 9, 0, tzinfo=UTC),
        last_reading_at=datetime(2026, 11, 15, 10, 50, tzinfo=UTC),
        last_reading_pct=15.0,
        reads_off_pct=None,
        tpc_mean_pct=15.3,
        tpc_sd_pct=1.1,
        fresh_tpc_pct=4.0,
        rate_pct_per_h=0.5,
        rate_sd_pct_per_h=0.05,
        turnover_per_service=0.06,
        steady_state_tpc_pct=29.0,
        in_use=True,
        metered=True,
        empty=False,
        forecast=forecast(15.3, 1.2),
        life=LIFE,
        read_by=datetime(2026, 11, 18, 11, 30, tzinfo=UTC),
        by_house_rule=False,
        verdict=Verdict(
            key=VerdictKey.FRY_ON,
            reason=ACCEPTED,
            changes_if=ChangesIf(code=Remedy.READING_FROM, reading_pct=19.5),
            passing_probability=0.001,
            passing_probability_next=0.002,
            risk=0.05,
            holds_until=datetime(2026, 11, 18, 11, 30, tzinfo=UTC),
        ),
        limits=judge_limits(kitchen, kitchen.fryers[0]).oil,
        notes=(),
        flags=(WET,),
        in_bath=InBath(allergens=(), left=(), unwritten=(), foods_known=True, unkept=()),
        cooling=None,
        cautions=(Caution.FIRE,),
        card=WallCard(
            fryer="F1",
            made_at=NOW,
            expires_at=datetime(2026, 11, 17, 11, 30, tzinfo=UTC),
            by_reading=True,
            by_hand=True,
            lines=(
                CardLine(
                    key=VerdictKey.FRY_ON,
                    from_pct=None,
                    to_pct=18.5,
                ),
                CardLine(
                    key=VerdictKey.CHANGE_BEFORE,
                    from_pct=18.5,
                    to_pct=None,
                ),
            ),
        ),
    )


@pytest.fixture
def change_before(fry_on, kitchen):
    """F2: so near the limit that it must go before the coming service."""
    return replace(
        fry_on,
        fryer="F2",
        name="Fish",
        tpc_mean_pct=22.8,
        forecast=forecast(22.8, 1.0),
        life=replace(
            LIFE, services_left=0, change_at=LUNCH, services_median=1.2, services_low=0.4, services_high=1.9
        ),
        verdict=replace(
            fry_on.verdict,
            key=VerdictKey.CHANGE_BEFORE,
            reason=replace(fry_on.verdict.reason, code=Reason.TOO_RISKY, passing_probability=0.3),
            passing_probability=0.3,
            taken_over_by=(TakeOver(fryer="F1"),),
        ),
        limits=judge_limits(kitchen, kitchen.fryers[1]).oil,
        flags=(),
        cooling=Cooling(off_at=None, low_h=6.0, high_h=7.0, drain_from=None, drain_by=None),
        card=replace(fry_on.card, fryer="F2"),
    )
