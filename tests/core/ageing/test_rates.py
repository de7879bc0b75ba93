"""Temperature and work as rates of ageing."""

import numpy as np
import pytest

from kettlewell.core.ageing.rates import temperature_factor, working_hours


def test_the_factor_is_one_at_175_degrees_whatever_the_activation_energy():
    np.testing.assert_allclose(temperature_factor(175, activation_energy_kj_per_mol=[20, 34, 50]), 1)


def test_a_usual_service_counts_its_own_hours_whatever_the_share_of_the_load():
    np.testing.assert_allclose(
        working_hours(3, 1, usual_hot_h=3, load_share=np.array([0, 0.5, 1]), heat_up_h=0), 3
    )


def test_an_hour_without_food_counts_what_does_not_go_with_the_load():
    assert working_hours(1, 0, usual_hot_h=1, load_share=0.5, heat_up_h=0) == pytest.approx(0.5)


def test_an_hour_on_standby_counts_as_its_temperature_does_and_food_as_ever():
    working = [
        working_hours(3, load, usual_hot_h=3, load_share=0.5, heat_up_h=0, standby=0.6) for load in (0, 1)
    ]
    assert working == pytest.approx([3 * 0.5 * 0.6, 3 * (0.5 * 0.6 + 0.5)])


def test_heating_up_adds_its_hours():
    with_two, without = (working_hours(3, 1.2, usual_hot_h=3, load_share=0.5, heat_up_h=h) for h in (0.6, 0))
    assert with_two - without == pytest.approx(0.6)
