"""Whatever is sent to an address that takes a form is answered or refused, soon, and the book stays whole."""

import resource
from collections import Counter
from contextlib import contextmanager
from random import Random
from time import perf_counter
from urllib.parse import unquote

import pytest
from addresses import addresses, ids_of, undone
from axes.models import AccessAttempt
from cast import SETTINGS
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from django.test import Client
from django.urls import resolve, reverse
from forms import Page
from odd_posts import odd_post

from kettlewell.asgi import Answer
from kettlewell.records.models import Device
from kettlewell.records.verify import verify
from kettlewell.web.entry.asking import FORMS as ACTS
from kettlewell.web.setup.first import STEPS
from kettlewell.web.setup.views import ADDED

SEED, ROUNDS, IN_A_ROUND = 20261129, 20, 50  # after each round the kitchen is as it was
NOT_TAKEN, METHOD_NOT_ALLOWED = 400, 405
MOST_S, MOST_BYTES_MORE = 5, 500_000_000
KEY = "k" * 32
SHOW_IT = ("line", "fryer", "acts", "fills", "meters", "book", "kitchen", "people", "compare", "told")


@pytest.fixture
def ids(marrowby, cook, hand):
    return ids_of(marrowby, cook, hand)


@pytest.fixture
def open_browser(signed_in, owner, cook, on_tablet, ids):
    """Return a way to open a browser: most often the owner's, else a cook's, a tablet, a stranger's."""

    def tablet():
        client = on_tablet(Device.objects.get(pk=ids["device"]))
        client.sign(cook)
        return client

    by_owner = [lambda: signed_in(owner)] * 6
    openings = [*by_owner, lambda: signed_in(cook), tablet, Client]
    return lambda rng: rng.choice(openings)()


@pytest.fixture
def forms(signed_in, owner, ids):
    """The forms sent to each address, by its name: where to, and soundly filled in; none stands for some."""
    client, found = signed_in(owner), {}
    for path in paths(ids):
        for browser in (client, Client()):
            for form in Page(browser.get(path).content.decode(errors="replace")).forms:
                to = form.attributes.get("action") or path
                if form.writes:
                    found.setdefault(resolve(to.partition("?")[0]).url_name, {})[to] = form.filled("x")
    for address in addresses():
        with undone():
            if client.post(address.at(ids)).status_code != METHOD_NOT_ALLOWED:
                found.setdefault(address.name, {address.at(ids): {}})
    return found


def paths(ids):
    """Yield the paths of all pages that may hold a form."""
    yield from (address.at(ids) for address in addresses() if address.name != "sign-out")
    yield from (reverse("act", args=(ids["slug"], "F1", kind)) for kind in ACTS)
    yield from (reverse("thing-new", args=(ids["slug"], thing)) for thing in ADDED)
    yield from (f"{reverse('set-up')}?kitchen={ids['slug']}&step={step}" for step in STEPS)
    for thing, key in (*SETTINGS, ("reference_lots", "bottle")):
        yield reverse("thing", args=(ids["slug"], thing, key or "-"))


def scope_of(client, post):
    """Return a post as the server hands it on: from a browser, with the key of its forms."""
    path, _, query = post.path.partition("?")
    cookies = {name: told.value for name, told in client.cookies.items()} | {"csrftoken": KEY}
    headers = {
        "Host": "localhost",
        "Content-Type": post.content_type,
        "Content-Length": str(len(post.content)),
        "Cookie": "; ".join([*(f"{name}={value}" for name, value in cookies.items()), post.cookie]),
        "X-CSRFToken": KEY,
        **post.headers,
    }
    return {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": unquote(path),
        "query_string": query.encode("latin-1"),
        "headers": [(name.lower().encode(), value.encode("latin-1")) for name, value in headers.items()],
        "client": ("192.0.2.7", 4711),
        "server": ("127.0.0.1", 8350),
    }


@contextmanager
def one_connection():
    """Keep the connection between requests, as Django's own client does: the test is one transaction."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


def status_of(client, post):
    """Return how a post is answered, which has to be soon and by no fault of ours."""
    answer, begun = Answer(scope_of(client, post)), perf_counter()
    with one_connection():
        answer.body(post.content)
    status = answer.response_start["status"]
    assert status < 500, post
    assert perf_counter() - begun < MOST_S, post
    return status


@pytest.mark.slow
def test_no_post_breaks_the_program_or_the_day_book(marrowby, ids, forms, open_browser, signed_in, owner):
    rng, answered = Random(SEED), Counter()  # noqa: S311 - no secret
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(ROUNDS):
        with undone():
            for _ in range(IN_A_ROUND):
                to, sound = rng.choice(list(forms[rng.choice(list(forms))].items()))
                answered[status_of(open_browser(rng), odd_post(rng, to, sound))] += 1
                AccessAttempt.objects.all().delete()  # or soon nobody could send anything
            assert verify(marrowby) is None
            for address in addresses():
                if address.name in SHOW_IT:
                    assert signed_in(owner).get(address.at(ids)).status_code < NOT_TAKEN, address.name
    grown = 1024 * (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
    assert grown < MOST_BYTES_MORE
    assert answered[302] > answered.total() / 4, "the posts are so odd that hardly one is taken"
