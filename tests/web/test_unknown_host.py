"""The page of an address that the server was not told is its own."""

import pytest
from django.test import Client


def asked(host, **more):
    return Client().get("/", headers={"host": host, **more})


@pytest.mark.parametrize("host", ["kitchen.example:8350", "[2001:db8::7]", "<b>kitchen</b>", ""])
def test_it_says_what_to_do_and_not_the_address(host):
    """Nor does it lead on: every page under this address is this one."""
    answer = asked(host)
    assert answer.status_code == 400
    assert "<code>kettlewell serve … --host ADDRESS</code>" in answer.text
    assert 'href="/"' not in answer.text
    assert not host or host not in answer.text


@pytest.mark.parametrize("redirected", [True, False])
def test_it_speaks_the_readers_language(settings, redirected):
    """Also where the address is looked at before the language is, to lead to HTTPS."""
    settings.SECURE_SSL_REDIRECT = redirected
    answer = asked("kitchen.example", accept_language="de")
    assert '<html lang="de">' in answer.text
    assert "kennt diese Adresse nicht" in answer.text
