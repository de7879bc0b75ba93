"""Passwords and PINs as they are kept: small enough for a small board, old ones still known."""

import argon2
import pytest
from cast import PASSWORD, PIN, tablet_in
from django.contrib.auth import authenticate
from django.contrib.auth.hashers import Argon2PasswordHasher, make_password


def figures(kept):
    """Return kind, memory in KiB, passes and lanes of a hash as it is kept."""
    found = argon2.extract_parameters(kept.removeprefix("argon2"))
    return found.type, found.memory_cost, found.time_cost, found.parallelism


SMALL = (argon2.Type.ID, 19 * 1024, 2, 1)


@pytest.fixture
def old():
    """Return a way to hash with other figures than today's."""
    hasher = Argon2PasswordHasher()
    hasher.memory_cost = 32 * 1024
    return lambda secret: hasher.encode(secret, hasher.salt())


def test_a_hash_takes_19_mib_two_passes_and_one_lane():
    assert figures(make_password(PASSWORD)) == SMALL


def test_an_old_password_is_known_and_made_anew_at_sign_in(rf, cook, old):
    cook.password = old(PASSWORD)
    cook.save()
    assert authenticate(rf.post("/"), username=cook.sign_in, password="another password") is None
    assert authenticate(rf.post("/"), username=cook.sign_in, password=PASSWORD) == cook
    cook.refresh_from_db()
    assert figures(cook.password) == SMALL
    assert cook.check_password(PASSWORD)


def test_an_old_pin_is_known_and_made_anew_when_it_signs(rf, marrowby, cook, old):
    cook.pin = old(PIN)
    cook.save()
    tablet = tablet_in(marrowby, "By the fryers")
    signed = authenticate(rf.post("/"), username=cook.sign_in, secret_pin=PIN, device=tablet)
    cook.refresh_from_db()
    assert (signed, signed.pin) == (cook, cook.pin)
    assert figures(cook.pin) == SMALL
    assert authenticate(rf.post("/"), username=cook.sign_in, secret_pin=PIN, device=tablet) == cook
