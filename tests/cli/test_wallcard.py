"""The wall card is laid out as lines, and says what the meter is worth that it is read with."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from answers import answer_of

from kettlewell.book import MeterCheck, ReferenceLot
from kettlewell.cli.screen import Weight
from kettlewell.cli.wallcard import wall_card
from kettlewell.core.outlook.meters import MeterReport, Next, When, WhenCode, charted

LATER = datetime(2026, 11, 30, 12, 0, tzinfo=UTC)


def texts(lines):
    return [line.text for line in lines]


@pytest.fixture
def report(kitchen, now):
    """Say of the kitchen's meter that it was last checked a week ago and found off by so much."""
    bottle = ReferenceLot(key="R1", name="First bottle", tpc_pct=10, expanded_u_pct=0.4)
    place = replace(kitchen, reference_lots=(bottle,))

    def of(off_pct, due=LATER, *, in_use=True):
        check = MeterCheck(
            at=now - timedelta(days=7),
            meter="hand",
            lot="R1",
            readings_pct=(10 + off_pct,) * 3,
            oil_temp_c=50,
        )
        return MeterReport(
            meter=kitchen.meters[0],
            in_use=in_use,
            checks=charted(place, [check]),
            next_check=Next(at=due, why=When(code=WhenCode.EVERY)),
            walk_pct_per_day=0.02,
            oils=(),
        )

    return of


@pytest.fixture
def card(change_before, fry_on, kitchen, reader):
    """Make the card of both fryers."""

    def made(reports, both=(change_before, fry_on)):
        return list(wall_card(answer_of(*both), reports, kitchen, reader))

    return made


def weights(lines):
    return {line.text: line.weight for line in lines}


def test_a_wall_card_is_dated_expires_and_goes_by_the_kitchens_order(card, report):
    told = texts(card([report(0.0)]))
    assert told[:3] == [
        "Wall card, Two baths (invented)",
        "Made Sun 15 Nov 2026, 21:30",
        "Good until Tue 17 Nov 2026, 11:30; then take it down",
    ]
    assert told.index("Fries (F1)") < told.index("Fish (F2)")
    assert told.count("Reading below 18.5 %: fry on.") == 2


def test_a_wall_card_holds_no_longer_than_its_first_fryer(card, report, change_before, fry_on):
    early = replace(
        change_before, card=replace(change_before.card, expires_at=datetime(2026, 11, 16, 11, 30, tzinfo=UTC))
    )
    told = texts(card([report(0.0)], (early, fry_on)))
    assert "Good until Mon 16 Nov 2026, 11:30; then take it down" in told
    assert "These hold until Tue 17 Nov 2026, 11:30." in told


def test_a_wall_card_names_its_meter_and_says_how_it_stood_and_when_it_is_due(card, report):
    told = weights(card([report(0.0)]))
    assert told["For Hand meter (hand), checked Sun 8 Nov 2026, 21:30: Fit for use."] is Weight.PLAIN
    assert (
        told["Check it by Mon 30 Nov. Four weeks after the last check, until its own checks tell more."]
        is Weight.PLAIN
    )


def test_a_wall_card_is_for_the_first_meter_in_use(card, report, kitchen):
    spare = replace(report(0.0), meter=replace(kitchen.meters[0], key="spare", name="Spare meter"))
    told = texts(card([report(0.0, in_use=False), spare]))
    assert [text for text in told if "meter (" in text] == [
        "For Spare meter (spare), checked Sun 8 Nov 2026, 21:30: Fit for use."
    ]


def test_a_meter_that_failed_or_is_overdue_stands_in_bold(card, report, now):
    failed = weights(card([report(-2.5, now - timedelta(days=7))]))
    assert failed["For Hand meter (hand), checked Sun 8 Nov 2026, 21:30: Adjust it."] is Weight.BOLD
    assert failed["Four weeks after the last check, until its own checks tell more."] is Weight.BOLD
    overdue = weights(card([report(0.0, now)]))
    assert (
        overdue["Check it now. Four weeks after the last check, until its own checks tell more."]
        is Weight.BOLD
    )


def test_a_meter_never_checked_is_no_more_than_named(card, report):
    told = weights(card([replace(report(0.0, None), checks=())]))
    assert told["For Hand meter (hand): Not checked yet."] is Weight.PLAIN


def test_without_a_meter_in_use_the_card_goes_by_the_senses(card, report, change_before, fry_on):
    unmetered = [replace(one, metered=False) for one in (change_before, fry_on)]
    for reports in ([], [report(0.0, in_use=False)]):
        told = weights(card(reports, unmetered))
        assert told["No meter in use: go by the senses."] is Weight.BOLD
        assert not [text for text in told if "find your reading" in text]
