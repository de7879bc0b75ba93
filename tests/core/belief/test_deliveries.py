"""Fresh oil that differs from delivery to delivery, and what a certificate says of it."""

from dataclasses import replace

import numpy as np
import pytest

from kettlewell.book import Change, LabResult, Oil, OilKind
from kettlewell.core import checkpoint, history, trace
from kettlewell.core.ageing.coefficients import PACKAGED
from kettlewell.core.belief.deliveries import delivered


@pytest.fixture
def filled(at):
    """Fill ``big`` every other day, ``sampled`` fresh by the laboratory where that is given."""

    def fills(*deliveries, sampled=None, certificate=None):
        entries = []
        for n, delivery in enumerate(deliveries):
            entries.append(
                Change(at=at(2 * n, "08:00"), fryer="big", delivery=delivery, fresh_tpc_pct=certificate)
            )
            if sampled is not None:
                lab = LabResult(at=at(2 * n, "08:10"), fryer="big", tpc_pct=sampled, u_pct=0.2)
                entries.append(lab)
        return entries

    return fills


def test_fills_of_one_delivery_are_alike_and_of_another_are_not(told, filled, at):
    """Three fills were sampled; the fourth is of the same delivery, of the next, or of none named."""
    sampled = filled("May", "May", "May", sampled=6.0)
    now = at(6, "08:30")
    same, other, unnamed = (
        told([*sampled, Change(at=at(6, "08:00"), fryer="big", delivery=delivery)], now)
        for delivery in ("May", "June", None)
    )
    assert same.tpc_mean_pct == pytest.approx(6.0, abs=0.3)
    assert same.tpc_sd_pct < 0.5
    assert other.tpc_sd_pct > 0.7
    assert unnamed.tpc_sd_pct > 0.7


def test_a_certificate_tells_of_fresh_oil_as_far_as_it_can_be_relied_on(told, filled, at):
    now = at(0, "08:30")
    silent, stated = (told(filled("May", certificate=pct), now) for pct in (None, 6.0))
    assert silent.tpc_mean_pct == pytest.approx(4.0, abs=0.05)
    assert stated.tpc_mean_pct == pytest.approx(6.0, abs=0.3)
    assert stated.tpc_sd_pct < 0.5 < silent.tpc_sd_pct


def test_a_fresh_value_that_the_kitchen_states_narrows_what_is_believed_of_the_oil(told, kitchen, filled, at):
    oils = tuple(replace(oil, fresh_tpc_pct=5.5) if oil.key == "rape" else oil for oil in kitchen.oils)
    own = told(filled(None), at(0, "08:30"), place=replace(kitchen, oils=oils))
    usual = told(filled(None), at(0, "08:30"))
    assert own.tpc_mean_pct == pytest.approx(5.5, abs=0.05)
    assert own.tpc_sd_pct < usual.tpc_sd_pct


@pytest.mark.parametrize("kind", [OilKind.PALM_OLEIN, OilKind.RICE_BRAN, OilKind.OTHER])
def test_oils_of_wider_kinds_begin_wider(told, kitchen, filled, at, kind):
    other = Oil(key="rape", name="Oil", kind=kind)
    place = replace(kitchen, oils=(other, *kitchen.oils[1:]))
    wide, usual = (told(filled(None), at(0, "08:30"), place=place) for place in (place, kitchen))
    assert wide.tpc_sd_pct > usual.tpc_sd_pct


def test_a_checkpoint_between_two_deliveries_is_a_replay_to_the_last_bit(told, kitchen, filled, at):
    entries, now = filled("May", "May", "June", "June", certificate=5.0), at(7, "16:00")
    since = checkpoint(kitchen, entries, at=at(3, "09:00"))
    assert told(entries, now, since=since) == told(entries, now)


def test_the_past_is_told_back_to_the_last_delivery_that_was_named(kitchen, book, read, at):
    """What came before it is told by what was known then, from a trace as from the beginning."""
    entries = [
        *book(4, 8, 12),
        Change(at=at(3, "08:00"), fryer="big", delivery="June"),
        read(4, "09:00", 6.5),
        read(5, "09:00", 9.0),
    ]
    past = history(kitchen, entries, now=at(6, "09:00"))["big"]
    before = [told for told in past if told.at < at(3, "08:00")]
    alone = history(kitchen, book(4, 8, 12), now=at(3, "07:59"))["big"]
    assert [told.tpc_mean_pct for told in before] == pytest.approx([told.tpc_mean_pct for told in alone])
    since = trace(kitchen, entries, at=at(5, "08:00"))
    assert history(kitchen, entries, now=at(6, "09:00"), since=since)["big"] == past


@pytest.mark.parametrize("stated_pct", [3.0, 6.5])
def test_a_certificate_is_one_linear_measurement_of_the_fresh_value(kitchen, at, stated_pct):
    """By the textbook: the covariance of the innovation from all shared values, gain K = P h / S."""
    belief = checkpoint(kitchen, [Change(at=at(0, "08:00"), fryer="big")], at=at(0, "09:00")).belief
    after = delivered(belief, 0, np.array([0.3]), np.array([stated_pct]))
    layout = belief.layout
    wandered = belief.shared_cov[0].copy()
    wandered[layout.fresh.start, layout.fresh.start] += 0.3
    h = np.zeros(layout.size)
    h[layout.fresh.start], h[layout.gains.start] = 1.0, -stated_pct
    noise_sd = PACKAGED.fresh_stated.sd * belief.shared[0, layout.gains.start]
    innovation_var = h @ wandered @ h + noise_sd**2
    gain = wandered @ h / innovation_var
    np.testing.assert_allclose(after.shared[0], belief.shared[0] - gain * (h @ belief.shared[0]), rtol=1e-9)
    np.testing.assert_allclose(after.shared_cov[0], wandered - np.outer(gain, h @ wandered), atol=1e-12)


def test_a_delivery_without_a_certificate_only_lets_the_fresh_value_wander(kitchen, at):
    belief = checkpoint(kitchen, [Change(at=at(0, "08:00"), fryer="big")], at=at(0, "09:00")).belief
    after = delivered(belief, 1, np.array([0.3]), np.array([np.nan]))
    np.testing.assert_array_equal(after.shared, belief.shared)
    grown = after.shared_cov[0] - belief.shared_cov[0]
    second = belief.layout.fresh.start + 1
    assert grown[second, second] == pytest.approx(0.3)
    assert np.count_nonzero(np.abs(grown) > 1e-12) == 1
