"""How the server takes a request: its body first, and not for ever."""

import asyncio

import pytest
from django.http import HttpResponse

from kettlewell import asgi
from kettlewell.records.access_log import Event
from kettlewell.records.photos import MOST_BYTES

PLAIN = HttpResponse()
FORM = b"username=somebody&password=wrong"


def scope(length, *headers):
    told = [(b"host", b"localhost"), (b"content-length", b"%d" % length), *headers]
    return {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/sign-in/",
        "query_string": b"",
        "headers": told,
        "client": ("192.0.2.7", 4711),
        "server": ("127.0.0.1", 8350),
    }


def asked(length, *messages, **more):
    """Return the messages sent in answer to a form of some length that comes in ``messages``."""
    coming, sent = iter(messages), []

    async def receive():
        for message in coming:
            return message
        return await asyncio.Event().wait()

    async def send(message):
        sent.append(message)

    asyncio.run(asgi.application({**scope(length), **more}, receive, send))
    return sent


def part(body, *, more=False):
    return {"type": "http.request", "body": body, "more_body": more}


@pytest.fixture
def echoed(monkeypatch):
    """Let the application answer with what it was sent, and from where."""

    def echo(environ, start_response):
        start_response("200 OK", [("Content-Type", "text/plain")])
        environ["wsgi.input"].seek(0)
        return [environ["REMOTE_ADDR"].encode(), b" ", environ["wsgi.input"].read()]

    class Closed(list):
        def close(self):
            pass

    monkeypatch.setattr(asgi, "django", lambda *told: Closed(echo(*told)))


def test_a_body_in_parts_is_put_together(echoed):
    begun, answer = asked(len(FORM), part(FORM[:5], more=True), part(FORM[5:]))
    assert (begun["status"], answer["body"]) == (200, b"192.0.2.7 " + FORM)


def test_a_body_that_does_not_come_is_given_up(echoed, monkeypatch):
    monkeypatch.setattr(asgi, "BODY_S", 0.05)
    begun, _ = asked(len(FORM), part(FORM[:5], more=True))
    assert begun["status"] == 408


def test_whoever_goes_away_is_not_answered(echoed):
    assert asked(len(FORM), part(FORM[:5], more=True), {"type": "http.disconnect"}) == []


def test_of_a_body_that_is_too_long_no_more_is_read_than_django_takes(echoed):
    parts = [part(b"x" * 60_000, more=True)] * 2
    _, answer = asked(10**9, *parts)
    assert len(answer["body"]) < 130_000


def test_a_receipt_is_read_up_to_its_largest_and_no_further(echoed):
    headers = [(b"host", b"localhost"), (b"content-length", b"1000000000")]
    parts = [part(b"x" * 60_000, more=True)] * 100
    _, answer = asked(10**9, *parts, path="/k/marrowby/collected/", headers=headers)
    assert MOST_BYTES < len(answer["body"]) < MOST_BYTES + 200_000


def test_the_rest_of_too_large_a_receipt_is_taken_and_not_kept(echoed):
    """A browser that is answered while it sends shows that the connection was reset, and no answer."""
    headers = [(b"host", b"localhost"), (b"content-length", b"6000000")]
    parts, more = (
        [part(b"x" * 60_000, more=True)] * 100,
        {"path": "/k/marrowby/collected/", "headers": headers},
    )
    _, answer = asked(6_000_000, *parts, **more)
    assert MOST_BYTES < len(answer["body"]) < MOST_BYTES + 200_000
    assert asked(6_000_000, *parts[1:], {"type": "http.disconnect"}, **more) == []


def test_only_a_few_receipts_are_read_at_once_and_the_others_wait_in_vain(echoed, monkeypatch):
    """So that many who send slowly do not fill the memory; one in time is taken again after them."""
    monkeypatch.setattr(asgi, "BODY_S", 0.2)
    path, length, reading = "/k/marrowby/collected/", 1_000_000, []

    async def begun():
        async def receive():
            reading.append(1)
            return await asyncio.Event().wait()

        told = {**scope(length), "path": path}
        with pytest.raises(TimeoutError):
            await asgi.body_of(told, receive)

    async def many():
        await asyncio.gather(*(begun() for _ in range(3 * asgi.AT_ONCE)))

    asyncio.run(many())
    assert len(reading) == asgi.AT_ONCE
    sent = b"x" * 150_000
    headers = [(b"host", b"localhost"), (b"content-length", b"%d" % len(sent))]
    _, answer = asked(len(sent), part(sent), path=path, headers=headers)
    assert answer["body"].endswith(sent)


UNREADABLE = {
    "a charset that is none": {
        "headers": [(b"content-type", b"multipart/form-data; boundary=b; charset=zlib")]
    },
    "a charset not ours": {"headers": [(b"content-type", b"text/plain; charset=punycode")]},
    "a name of a charset that is none": {"headers": [(b"content-type", b"text/plain; charset*=x''y")]},
    "an address of too many fields": {
        "headers": [(b"content-type", b"text/plain; charset=utf-8")],
        "query_string": b"a=1&" * 1_100,
    },
    "a header a hundred times": {"headers": [(b"x-more", b"1")] * 101},
    "signs that belong into no address": {"query_string": b"next=\xff"},
}


@pytest.mark.parametrize("why", sorted(UNREADABLE))
def test_a_request_that_cannot_be_read_is_refused_and_told(why, monkeypatch):
    told = []
    monkeypatch.setattr(asgi, "tell", lambda *what, **more: told.append((*what, more)))
    begun, _ = asked(0, **UNREADABLE[why])
    assert begun["status"] == 400
    assert told == [(Event.REFUSED, None, {"address": "192.0.2.7", "why": "unreadable"})]


def test_a_form_that_says_it_is_in_utf_8_is_answered(echoed):
    headers = [(b"content-type", b'application/x-www-form-urlencoded; charset="UTF-8"')]
    begun, _ = asked(0, headers=headers)
    assert begun["status"] == 200


@pytest.mark.parametrize("letters", ["ü", "油"])
def test_an_address_with_letters_is_asked_for_as_it_is(letters, monkeypatch):
    asked_for = []
    monkeypatch.setattr(asgi.django, "get_response", lambda request: asked_for.append(request.path) or PLAIN)
    asked(0, path=f"/{letters}/")
    assert asked_for == [f"/{letters}/"]
