"""Sentences about a meter say what its checks found, and what follows."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from kettlewell.book import Meter, MeterCheck, Reading, ReferenceLot
from kettlewell.core.decision import VerdictKey
from kettlewell.core.metering.checks import DecisionKey, decide_check
from kettlewell.core.metering.comparison import Agreement, Comparison
from kettlewell.core.metering.lines import StraightLine
from kettlewell.core.metering.pairs import Pair, SideBySide
from kettlewell.core.metering.paths import PathKind
from kettlewell.core.outlook.lookback import Again, Relied
from kettlewell.core.outlook.meters import MeterReport, Next, When, WhenCode, charted
from kettlewell.telling import meters

LOT = ReferenceLot(key="lot", name="Lot 7", tpc_pct=18.0, expanded_u_pct=0.6, read_at_c=50.0)


@pytest.fixture
def checked(kitchen, now):
    """Give the report of a meter that read so much in a reference oil of 18 %, a week between checks."""
    with_lot = replace(kitchen, reference_lots=(LOT,))

    def report(*read, due=timedelta(days=20), **more):
        checks = [
            MeterCheck(
                at=now - (len(read) - n) * timedelta(days=7),
                meter="hand",
                lot="lot",
                readings_pct=(pct, pct, pct),
                **{"oil_temp_c": 50.0, **more},
            )
            for n, pct in enumerate(read)
        ]
        return MeterReport(
            meter=with_lot.meters[0],
            in_use=True,
            checks=charted(with_lot, checks),
            next_check=Next(at=now + due, why=When(code=WhenCode.EVERY)),
            walk_pct_per_day=0.05,
            oils=(),
        )

    return report


@pytest.mark.parametrize(
    ("read", "words"),
    [
        ((18.0,), "Fit for use"),
        ((21.0,), "Adjust it"),
        ((24.0,), "Take it out of use"),
        ((), "Not checked yet"),
    ],
)
def test_a_meter_is_what_its_last_check_decided(checked, reader, read, words):
    assert meters.meter_words(checked(*read), reader) == words


def test_a_meter_out_of_use_says_so_whatever_its_check_found(checked, reader):
    assert meters.meter_words(replace(checked(18.0), in_use=False), reader) == "Out of use"


@pytest.mark.parametrize(
    ("read", "said"),
    [
        (19.0, "It reads 1 point too high (± 0.4 points)."),
        (17.5, "It reads 0.5 points too low (± 0.4 points)."),
        (18.0, "It reads right (± 0.4 points)."),
    ],
)
def test_the_deviation_has_its_direction_and_its_uncertainty(checked, reader, read, said):
    assert meters.off_by(checked(read).last.decision.deviation, reader) == said


def test_the_chance_names_what_is_permissible(checked, reader):
    decision = replace(checked(18.0).last.decision, off_probability=0.012)
    assert meters.off_chance(decision, 1.0, reader) == (
        "The chance that it is off by more than 1 point is 1.2 %."
    )
    assert "1.5 points" in meters.off_chance(decision, 1.5, reader)


def test_when_next_has_its_day_and_its_reason(checked, reader):
    assert meters.when_next(checked(18.0), reader) == (
        "Check it by Sat 5 Dec. Four weeks after the last check, until its own checks tell more."
    )
    overdue = checked(18.0, due=-timedelta(days=1))
    assert meters.when_next(overdue, reader).startswith("Check it now. ")


def test_a_check_due_later_today_is_told_now(checked, reader):
    assert meters.when_next(checked(18.0, due=timedelta(minutes=40)), reader).startswith("Check it now. ")


def test_a_check_due_in_this_minute_is_told_now_even_if_the_minute_ends_tomorrow(checked, reader):
    last_second = replace(reader, now=datetime(2026, 11, 15, 23, 59, 58, tzinfo=UTC))
    due = datetime(2026, 11, 16, tzinfo=UTC) - reader.now
    assert meters.when_next(checked(18.0, due=due), last_second).startswith("Check it now. ")


def test_a_meter_out_of_use_is_checked_before_it_is_used_again(checked, reader):
    idle = replace(checked(18.0, due=-timedelta(days=1)), in_use=False)
    assert meters.when_next(idle, reader) == "Check it before it is used again."
    assert not meters.is_due(idle, reader)


def test_after_a_failed_check_no_day_is_named(checked, reader):
    assert meters.when_next(checked(21.0), reader) == (
        "Four weeks after the last check, until its own checks tell more."
    )
    assert meters.when_next(
        replace(checked(), next_check=Next(at=None, why=When(code=WhenCode.NO_LOT))), reader
    ) == ("Set up a reference oil first: a bottle whose value is known.")


def test_the_chart_is_told_in_sentences_with_what_signals(checked, reader):
    calm = meters.chart_in_words(checked(18.0, 18.5), checked(18.0, 18.5).last, reader)
    assert calm.startswith("2 checks from 1 Nov to 8 Nov. It reads 0.5 points too high")
    assert calm.endswith(meters.CALM)
    jump = checked(18.0, 18.0, 22.0)
    told = meters.chart_in_words(jump, jump.last, reader)
    assert "is higher than chance explains" in told
    assert meters.CALM not in told
    assert meters.signals(jump, reader)[0] in told
    after = checked(18.0, 18.0, 22.0, 22.0)
    assert "creeping" not in meters.chart_in_words(after, after.last, reader)
    slowly = checked(18.0, 17.2, 16.6, 16.4, 16.2)
    assert "creeping down" in meters.chart_in_words(slowly, slowly.last, reader)
    assert meters.chart_in_words(checked(18.0), checked(18.0).last, reader).startswith("One check, on 8 Nov.")


def test_every_part_of_a_budget_has_words(kitchen, now, reader):
    """A check cold, one whose temperature nobody noted, and one by a meter out of its range."""
    narrow = Meter(key="hand", name="Hand meter", min_oil_temp_c=60.0, max_oil_temp_c=200.0)
    cast = replace(kitchen, meters=(narrow,), reference_lots=(LOT,))
    told = set()
    for temp_c in (30.0, 50.0, None):
        check = MeterCheck(at=now, meter="hand", lot="lot", readings_pct=(18.0,), oil_temp_c=temp_c)
        told |= {name for name, _ in meters.budget(decide_check(check, cast).deviation, reader)}
    assert told == set(meters.COMPONENTS.values())


@pytest.fixture
def side(now):
    """Three pairs in which a meter reads 0.9 of the laboratory's value and 1.6 points more."""
    pairs = tuple(
        Pair(at=now, fryer="F1", other_pct=x, other_u_pct=0.5, meter_pct=0.9 * x + 1.6, meter_u_pct=0.5)
        for x in (10.0, 15.0, 20.0)
    )
    line = StraightLine(x0=15.0, y0=15.1, y0_u=0.3, slope=0.9, slope_u=0.05)
    return SideBySide(
        meter="hand",
        against=None,
        oil="rapeseed",
        pairs=pairs,
        comparison=Comparison(line=line, misfit=1.0, dof=1),
        differences=Agreement(mean=0.1, mean_u=0.3, sd=0.5, lower=-0.9, upper=1.1, limit_u=0.5),
    )


def test_the_line_through_pairs_is_a_sentence(side, reader):
    assert meters.reads_as(side, "the laboratory", reader) == (
        "It reads 0.90 times what the laboratory says, plus 1.6 points."
    )
    below = replace(side.comparison, line=replace(side.comparison.line, y0=12.5))
    assert meters.reads_as(replace(side, comparison=below), "Spare", reader).endswith("less 1.0 points.")
    assert "too few" in meters.reads_as(replace(side, comparison=None), "Spare", reader)


def test_the_difference_has_its_limits_of_agreement(side, reader):
    assert meters.differs_by(side.differences, reader) == (
        "The difference is 0.1 points on average, and 19 times of 20 between -0.9 and 1.1."
    )


def test_pairs_are_missing_until_there_are_enough(side, reader):
    assert meters.pairs_missing(side, reader) == "2 more pairs needed."
    assert meters.pairs_missing(replace(side, earlier=1), reader).endswith(
        "One pair is from before an adjustment and no longer counts."
    )
    assert meters.pairs_missing(replace(side, pairs=side.pairs * 2), reader) == ""


def test_what_may_not_be_taken_over_for_another_reason_than_pairs_says_so(side, reader):
    enough = replace(side, pairs=side.pairs * 2)
    falling = replace(enough.comparison, line=replace(enough.comparison.line, slope=-0.9))
    assert meters.why_not(side, reader) == meters.why_not(enough, reader) == ""
    assert "not sure enough yet" in meters.why_not(replace(enough, comparison=falling), reader)


def test_a_look_back_counts_what_rests_on_the_meter(now, reader):
    assert meters.rests_on(56, begins=now, after_good=True, reader=reader) == (
        "Since the good check of Sun 21:30, 56 verdicts used this meter."
    )
    assert "no good check" in meters.rests_on(1, begins=now, after_good=False, reader=reader)


def test_a_look_back_tells_those_in_real_doubt_from_those_that_merely_may_not_stand(reader):
    def relied(*not_stand):
        again = Again(reading_pct=1, reading_sd_pct=1, not_stand=0, instead=VerdictKey.FRY_ON)
        read = Reading(at=datetime(2026, 9, 7, tzinfo=UTC), fryer="F1", tpc_pct=1)
        return [
            Relied(
                reading=read,
                told=VerdictKey.FRY_ON,
                again={PathKind.DRIFT: replace(again, not_stand=one), PathKind.STEP: again},
            )
            for one in not_stand
        ]

    said = [meters.may_fall(relied(*some), reader) for some in ((), (0.1,), (0.9,), (0.1, 0.9), (0.9, 0.9))]
    assert said == [
        "All of them hold up: the chance of an error in each is under 1 %.",
        "One may have been wrong. Probably none of them was.",
        "One was probably wrong.",
        "2 may have been wrong. One of them probably was.",
        "2 were probably wrong.",
    ]


def test_a_verdict_told_again_says_what_would_have_been_told_where_it_is_another(reader):
    again = Again(reading_pct=24.6, reading_sd_pct=0.4, not_stand=0.83, instead=VerdictKey.CHANGE_BEFORE)
    assert meters.told_again(again, PathKind.STEP, VerdictKey.FRY_ON, reader) == (
        "If it jumped, the right reading was 24.6 % (± 0.4). "
        "Chance that the verdict was wrong: 83 %. It should have been: Change before frying."
    )
    same = meters.told_again(again, PathKind.DRIFT, VerdictKey.CHANGE_BEFORE, reader)
    assert same.startswith("If the meter drifted bit by bit")
    assert "instead" not in same


def test_each_decision_has_its_words():
    assert set(meters.DECISIONS) == set(DecisionKey)
