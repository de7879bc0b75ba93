"""The address by which a watching program sees that the server answers."""

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from kettlewell.web.account import health


@pytest.mark.django_db
@pytest.mark.parametrize("method", ["get", "head"])
def test_whoever_watches_needs_no_sign_in_and_gets_no_cookie(method):
    answer = getattr(Client(), method)(reverse("health"))
    assert (answer.status_code, answer.content) == (200, b"ok\n" if method == "get" else b"")
    assert "no-store" in answer["Cache-Control"]
    assert not answer.cookies


def test_a_database_that_does_not_answer_is_told(monkeypatch):
    def refuse():
        raise OperationalError

    monkeypatch.setattr(health, "book_ask", refuse)
    assert Client(raise_request_exception=False).get(reverse("health")).status_code == 503
