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
    bottle = ReferenceLot(key="R1", name="First bottle", tpc_pct=10, expanded_u_pct=0.4, read_at_c=50.0)
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
        return list(wall_card([answer_of(*both)], reports, kitchen, reader))

    return made


def weights(lines):
    return {line.text: line.weight for line in lines}


def test_a_wall_card_is_dated_expires_and_goes_by_the_kitchens_order(card, report):
    told = texts(card([report(0.0)]))
    assert told[:2] == [
        "Wall card, Two baths (invented), for Lunch",
        "Valid until Tue 17 Nov 2026, 11:30. Then take it down.",
    ]
    assert "Made Sun 15 Nov 2026, 21:30." in told
    assert told.index("Fries (F1)") < told.index("Fish (F2)")
    assert told.count("Reading below 18.5 %: fry on.") == 2


def test_a_wall_card_holds_no_longer_than_its_first_fryer(card, report, change_before, fry_on):
    early = replace(
        change_before, card=replace(change_before.card, expires_at=datetime(2026, 11, 16, 11, 30, tzinfo=UTC))
    )
    told = texts(card([report(0.0)], (early, fry_on)))
    assert "Valid until Mon 16 Nov 2026, 11:30. Then take it down." in told
    assert "Fries (F1), valid until Tue 11:30" in told


def test_the_caution_stands_first_then_the_senses_then_the_meter_then_the_fryers(card, report):
    told = texts(card([report(0.0)]))
    starts = (
        "Hot oil burns",
        "Oil that smokes",
        "For Hand meter",
        "Read before you fry",
        "Fries (F1)",
        "Made",
    )
    places = [next(n for n, text in enumerate(told) if text.startswith(start)) for start in starts]
    assert places == sorted(places)


def test_a_wall_card_names_its_meter_and_says_that_it_is_fit(card, report):
    told = weights(card([report(0.0)]))
    assert told["For Hand meter (hand), fit for use when checked Sun 8 Nov 2026, 21:30."] is Weight.PLAIN


def test_a_wall_card_is_for_the_first_meter_in_use(card, report, kitchen):
    spare = replace(report(0.0), meter=replace(kitchen.meters[0], key="spare", name="Spare meter"))
    told = texts(card([report(0.0, in_use=False), spare]))
    assert [text for text in told if "meter (" in text] == [
        "For Spare meter (spare), fit for use when checked Sun 8 Nov 2026, 21:30."
    ]


@pytest.mark.parametrize(
    ("off_pct", "overdue", "said"),
    [
        (-2.5, True, "which was found off: adjust it and check it again before you rely on it."),
        (-9.0, False, "which is too far off: do not use it. Smell the oil and call the chef."),
        (0.0, True, "Check it first: its check is due."),
    ],
)
def test_a_meter_that_is_not_fit_is_told_so_in_words(card, report, now, off_pct, overdue, said):
    told = weights(card([report(off_pct, now if overdue else LATER)]))
    [meter] = [text for text in told if text.startswith("For Hand meter (hand)")]
    assert meter.endswith(said)
    assert told[meter] is Weight.PLAIN


def test_a_meter_never_checked_is_no_more_than_named(card, report):
    told = weights(card([replace(report(0.0, None), checks=())]))
    assert told["For Hand meter (hand), not checked yet."] is Weight.PLAIN


def test_without_a_meter_in_use_the_card_goes_by_the_senses(card, report, change_before, fry_on):
    unmetered = [replace(one, metered=False) for one in (change_before, fry_on)]
    for reports in ([], [report(0.0, in_use=False)]):
        told = texts(card(reports, unmetered))
        assert "No meter in use: go by the senses." in told
        assert not [text for text in told if text.startswith("Read before you fry")]


def test_each_later_sheet_says_from_when_it_goes_and_on_what_it_counts(
    report, change_before, fry_on, kitchen, reader
):
    answers = [answer_of(change_before, fry_on)] * 2
    told = texts(wall_card(answers, [report(0.0)], kitchen, reader))
    assert [text for text in told if text.startswith("Wall card")] == [
        "Wall card, Two baths (invented), for Lunch",
        "Wall card, Two baths (invented), for Lunch, from Sun 21:30 on",
    ]
    made = [text for text in told if text.startswith("Made")]
    assert [("usual services since" in text) for text in made] == [False, True]
