"""What an attacker would try, tried on every address."""

import os
import subprocess
import sys

import pytest
from addresses import addresses, ids_of, second_kitchen, undone
from cast import PASSWORD
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from forms import Page

from kettlewell.records.ledger import Hand

# signing out comes last: what is tried after it is tried by nobody
FOUND = sorted(addresses(), key=lambda address: (address.name == "sign-out", address.name))
HTML = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
NOT_OF_ONE_KITCHEN = {
    "kitchens",
    "sign-in",
    "code",
    "feed",
    "sign",
    "sign-out",
    "health",
    "own",
    "own-code",
    "language",
    "set-up",
}
LATIN_1 = b"\xff\xfe=\xff&fryer=\x80"
HERE = ("/", "#", "?", "otpauth://totp/Kettlewell:")  # the last one opens an app on the same phone
BOUNDARY = "multipart/form-data; boundary=b"


@pytest.fixture
def ids(marrowby, cook, hand):
    return ids_of(marrowby, cook, hand)


@pytest.fixture
def elsewhere(marrowby, stranger, started_at, hand):
    """The addresses of another kitchen, where nobody of this one works."""
    second = second_kitchen(marrowby, stranger, started_at)
    return ids_of(second, stranger, Hand(person=stranger, now=hand.now))


@pytest.fixture
def browser(signed_in, owner):
    client = signed_in(owner)
    client.raise_request_exception = False
    return client


@pytest.fixture
def strict(owner):
    """A browser whose forms need their key."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize("signed", [True, False])
def test_no_address_takes_a_form_without_its_key(strict, ids, signed):
    client = strict if signed else Client(enforce_csrf_checks=True)
    for address in FOUND:
        for sent in ({}, {"csrfmiddlewaretoken": "x" * 32}):
            answer = client.post(address.at(ids), sent)
            assert answer.status_code == 403, address.name
            assert "Please send it again" in answer.content.decode(), address.name


@pytest.mark.parametrize("method", ["get", "post"])
def test_ids_of_another_kitchen_are_not_there(browser, ids, elsewhere, method):
    """Neither its own addresses, nor its ids under the address of one's own kitchen."""
    for address in FOUND:
        if address.name in NOT_OF_ONE_KITCHEN:
            continue
        tried = [elsewhere]
        if {"entry", "person", "device"} & set(address.fields):
            tried.append({**elsewhere, "slug": ids["slug"]})
        for those in tried:
            with undone():
                answer = getattr(browser, method)(address.at(those))
            assert answer.status_code in {404, 405}, (address.name, answer.status_code)


def test_what_a_kitchen_does_not_have_is_not_there(browser, ids):
    for field in ("fryer", "kind", "thing", "key"):
        for address in FOUND:
            if field in address.fields:
                for bad in ("nothing-such", "' OR 1=1 --", "%00", HTML.replace("/", "")):
                    answer = browser.get(address.at({**ids, field: bad}))
                    assert answer.status_code == 404, (address.name, field, bad, answer.status_code)


BODIES = {
    "too long": ("application/x-www-form-urlencoded", b"note=" + b"x" * 200_000),
    "too many fields": ("application/x-www-form-urlencoded", b"&".join(b"f%d=1" % n for n in range(1_100))),
    "no text": ("application/x-www-form-urlencoded", LATIN_1),
    "zero bytes": (
        "application/x-www-form-urlencoded",
        b"fryer=%00&note=%00&sign_in=%00&name=%00&next=%00&username=%00&password=%00&entry_id=%00&phone_now=%00&tpc_pct=%00&language=%00",
    ),
    "strange numbers": (
        "application/x-www-form-urlencoded",
        b"tpc_pct=NaN&oil_temp_c=1e999999&amount=-Infinity&phone_now=9999-99-99T99:99&entry_id=1&hot_h=1e400",
    ),
    "no parts": (BOUNDARY, b"nonsense"),
    "parts cut off": (BOUNDARY, b'--b\r\nContent-Disposition: form-data; name="note"\r\n\r\nx'),
    "no boundary": ("multipart/form-data", b"x"),
    "a file": (
        BOUNDARY,
        b'--b\r\nContent-Disposition: form-data; name="note"; filename="n"\r\n\r\nx\r\n--b--\r\n',
    ),
    "JSON": ("application/json", b'{"tpc_pct": {"$gt": 0}}'),
    "a strange charset": ("application/x-www-form-urlencoded; charset=nonsense", b"note=x"),
}
REFUSED = {"too long", "too many fields", "a file"}


@pytest.mark.parametrize("body", sorted(set(BODIES) - REFUSED))
def test_no_body_breaks_the_program(browser, ids, body):
    content_type, content = BODIES[body]
    for address in FOUND:
        with undone():
            answer = browser.generic("POST", address.at(ids), content, content_type=content_type)
        assert answer.status_code < 500, address.name


@pytest.mark.parametrize("body", sorted(REFUSED))
def test_what_is_too_much_is_refused_unread(strict, ids, body):
    strict.cookies["csrftoken"] = "k" * 32
    content_type, content = BODIES[body]
    for address in FOUND:
        answer = strict.generic("POST", address.at(ids), content, content_type=content_type)
        assert answer.status_code == 400, address.name


def test_no_query_breaks_the_program(browser, ids):
    query = (
        "?page=9999999999999999999&page=x&kind=%00&fryer=%00&from=9999-99-99&set_temp_c=NaN"
        "&load_kg=1e999&hot_h=%FF&next=%00&q=%00"
    )
    for address in FOUND:
        assert browser.get(address.at(ids) + query).status_code < 500, address.name


def test_a_foreign_host_and_a_broken_body_at_once_are_refused(strict):
    strict.raise_request_exception = False
    strict.cookies["csrftoken"] = "k" * 32
    answer = strict.generic(
        "POST", "/", b"--b", content_type="multipart/form-data", headers={"host": "evil.test"}
    )
    assert answer.status_code == 400


def test_a_broken_body_for_what_is_not_there_breaks_nothing(strict):
    strict.raise_request_exception = False
    strict.cookies["csrftoken"] = "k" * 32
    answer = strict.generic("POST", "/nothing/", b"--b", content_type="multipart/form-data")
    assert answer.status_code == 404


@pytest.mark.parametrize("word", ["nan", "F1", "sign-out", "."])
def test_a_next_that_is_a_mere_word_breaks_nothing(browser, word):
    """It is an address beside the one that was asked for, and no name of a page of ours."""
    assert browser.post(reverse("language"), {"language": "en", "next": word}).url == word


@pytest.mark.parametrize(
    "away",
    [
        "https://evil.test/",
        "//evil.test",
        "/\\evil.test",
        "javascript:alert(1)",
        "https:evil.test",
        "\x00//evil.test",
    ],
)
def test_next_leads_nowhere_else(client, browser, cook, away):
    signed = client.post(reverse("sign-in"), {"username": cook.sign_in, "password": PASSWORD, "next": away})
    assert signed.url == reverse("kitchens")
    assert browser.post(reverse("language"), {"language": "en", "next": away}).url == reverse("kitchens")
    already = browser.get(reverse("sign-in"), {"next": away})
    assert already.url == reverse("kitchens")


def test_a_foreign_host_gets_nothing(browser, ids):
    for address in FOUND:
        answer = browser.get(address.at(ids), headers={"host": "evil.test"})
        assert answer.status_code == 400, address.name
        assert "evil.test" not in answer.content.decode()


def test_a_planted_session_key_does_not_outlive_signing_in(client, cook):
    client.get(reverse("sign-in"))
    client.cookies["sessionid"] = "planted0planted0planted0planted0"
    client.post(reverse("sign-in"), {"username": cook.sign_in, "password": PASSWORD})
    assert client.session.session_key != "planted0planted0planted0planted0"
    assert "_auth_user_id" in client.session


def every_page(browser, ids):
    """Yield every page there is, the error pages too."""
    for address in FOUND:
        if address.name != "sign-out":
            yield address.name, browser.get(address.at(ids))
    yield "sign-in", Client().get(reverse("sign-in"))
    yield "no such page", browser.get("/nothing/here/")
    yield "a foreign host", browser.get("/", headers={"host": "evil.test"})
    yield "no key", Client(enforce_csrf_checks=True).post(reverse("language"))
    yield (
        "too much",
        browser.post(reverse("language"), b"x=" + b"x" * 200_000, "application/x-www-form-urlencoded"),
    )


def test_every_page_carries_the_headers_that_protect_it(browser, ids):
    for name, page in every_page(browser, ids):
        policy = page["Content-Security-Policy"]
        assert "default-src 'none'" in policy, name
        assert "script-src 'self'" in policy, name
        assert "unsafe" not in policy, name
        assert page["X-Content-Type-Options"] == "nosniff", name
        assert page["X-Frame-Options"] == "DENY", name
        assert page["Referrer-Policy"] == "same-origin", name
        assert page["Cross-Origin-Opener-Policy"] == "same-origin", name
        assert page["Permissions-Policy"].startswith("camera=()"), name
        if page["Content-Type"].startswith(("text/html", "application/pdf")):
            assert "no-store" in page["Cache-Control"], name
            assert page["Content-Type"] in ("text/html; charset=utf-8", "application/pdf"), name


def in_html(pages):
    """Yield the pages that a browser draws itself: not the sheets to be printed."""
    return ((name, page) for name, page in pages if page["Content-Type"] != "application/pdf")


def test_no_page_holds_a_script_or_a_style_of_its_own(browser, ids):
    for name, page in in_html(every_page(browser, ids)):
        for tag, attributes in Page(page.content.decode()).elements:
            assert tag != "style", name
            assert tag != "script" or "src" in attributes, name
            for attribute, value in attributes.items():
                assert attribute != "style", (name, tag)
                assert not attribute.startswith("on"), (name, tag, attribute)
                if attribute in {"src", "href", "action"} and value:
                    assert value.startswith(HERE), (name, value)


def test_no_secret_goes_into_an_address(browser, ids):
    asking = set()
    for name, page in in_html(every_page(browser, ids)):
        for form in Page(page.content.decode()).forms:
            if any(attributes.get("type") == "password" for _tag, attributes in form.fields):
                assert form.writes, name
                asking.add(name)
    assert {"sign-in", "own", "person", "person-new"} <= asking


def test_a_fault_of_the_program_says_so_calmly_and_tells_nothing(browser, monkeypatch):
    monkeypatch.setattr("kettlewell.web.account.views.seats_of", lambda *_: 1 / 0)
    page = browser.get("/")
    assert page.status_code == 500
    assert "Something went wrong here" in page.content.decode()
    assert "ZeroDivisionError" not in page.content.decode()
    assert "default-src 'none'" in page["Content-Security-Policy"]


@pytest.mark.parametrize("error", [OperationalError("disk is full"), OperationalError("is locked")])
def test_a_disk_that_cannot_be_written_is_no_fault_of_the_program(browser, monkeypatch, error):
    def fail(*_):
        raise error

    monkeypatch.setattr("kettlewell.web.account.views.seats_of", fail)
    page = browser.get("/")
    assert page.status_code == 503
    assert "its disk may be full" in page.content.decode()
    assert "default-src 'none'" in page["Content-Security-Policy"]


def test_the_served_configuration_passes_the_checks_for_deployment(tmp_path):
    """Django's own, with HTTPS on; any warning fails it."""
    home = {"KETTLEWELL_HTTPS": "yes", "KETTLEWELL_HOME": str(tmp_path)}
    told = subprocess.run(
        [sys.executable, "-W", "error", "-m", "django", "check", "--deploy", "--fail-level", "WARNING"],
        env={**os.environ, **home, "DJANGO_SETTINGS_MODULE": "kettlewell.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.returncode == 0, told.stderr
    assert "no issues" in told.stdout


@pytest.mark.parametrize("method", ["put", "delete", "patch", "options", "trace"])
def test_no_page_answers_another_method(browser, ids, method):
    for address in FOUND:
        assert getattr(browser, method)(address.at(ids)).status_code == 405, address.name


def test_no_other_site_loads_a_page_and_signing_out_clears_those_kept(browser, marrowby):
    assert browser.get("/", follow=True).headers["Cross-Origin-Resource-Policy"] == "same-origin"
    assert browser.post(reverse("sign-out")).headers["Clear-Site-Data"] == '"cache"'
