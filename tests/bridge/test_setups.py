"""Settings as rows become a kitchen."""

import pytest
from django.core.exceptions import ValidationError

from kettlewell.bridge.setups import check_setup, setup_of
from kettlewell.records.ledger import setting_add
from kettlewell.records.settings import settings_of


@pytest.mark.parametrize(("kept", "read"), [("0.001", 0.01), ("0.00000001", 0.01), ("0.05", 0.05)])
def test_a_display_as_fine_as_once_could_be_set_still_opens(marrowby, hand, kept, read):
    """A day book cannot be changed: a typo of long ago must not shut the kitchen."""
    setting_add(marrowby, "meters", "hand", {"name": "Hand meter", "resolution_pct": kept}, hand=hand)
    assert setup_of(marrowby).kitchen.meters[0].resolution_pct == read


def test_a_bath_that_was_said_to_fry_more_than_it_can_still_opens(marrowby, hand):
    fryer = {**settings_of(marrowby)["fryers"]["F1"], "oil_mass_kg": "14", "usual_load_kg": "3000"}
    setting_add(marrowby, "fryers", "F1", fryer, hand=hand)
    assert setup_of(marrowby).kitchen.fryers[0].usual_load_kg == 420


@pytest.mark.parametrize("step", ["0.001", "0", "-0.5"])
def test_a_display_finer_than_any_cannot_be_set(marrowby, step):
    things = settings_of(marrowby)
    with pytest.raises(ValidationError):
        check_setup({**things, "meters": {"hand": {"name": "Hand", "resolution_pct": step}}})


def test_more_oils_than_any_kitchen_has_cannot_be_set(marrowby):
    things = settings_of(marrowby)
    oils = {f"oil-{n}": {"name": f"Oil {n}"} for n in range(100)}
    with pytest.raises(ValidationError):
        check_setup({**things, "oils": {**things["oils"], **oils}})
