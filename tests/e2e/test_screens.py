"""Every screen, phone and desktop, light and dark: no finding of axe, nothing sideways, and print."""

from itertools import groupby

import pytest
from addresses import addresses
from axe_playwright_python.sync_playwright import Axe
from django.template.loader import render_to_string
from playwright.sync_api import expect
from pyotp import TOTP
from screens import (
    AFTER_PASSWORD,
    ASKING,
    FORMS_ALONE,
    LEADS_ON,
    NO_SCREEN,
    NOBODY,
    ON_A_TABLET,
    OWNER,
    screens,
)

pytestmark = [pytest.mark.browser, pytest.mark.slow]
AXE = Axe()
RUN = """options => axe.run(document, {
    resultTypes: ['violations'], rules: {'color-contrast-enhanced': {enabled: true}}, ...options,
}).then(told => told.violations)"""  # text stands out 7:1, and large text 4.5:1
OF_COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast-enhanced", "link-in-text-block"]}}
OPEN_ALL = "document.querySelectorAll('details').forEach(one => { one.open = true })"
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
SEND_EMPTY = """
    const form = document.querySelector("main form:is([method=post]:not([action]), [action$='/settle/'])");
    form.noValidate = true;
    form.querySelectorAll("input[type=text]").forEach(one => { one.value = "" });
    form.requestSubmit(form.querySelector("button.primary"));
"""
SEND_TOO_MUCH = "document.forms[0].next.value = 'x'.repeat(200000); document.forms[0].requestSubmit()"
LARGEST_KB = 150
TRIES = 5
# the longer words where there is less room; light and dark are looked at in both
VARIANTS = (("phone", "de-DE"), ("desktop", "en-GB"))
# whose PIN is tried out; another's in each variant, as one wrong too often is locked
GUESSED = dict(zip(VARIANTS, ("Ada Brook", "Cleo Dunn"), strict=True))


@pytest.fixture(params=VARIANTS, ids="-".join)
def variant(request):
    return request.param


@pytest.fixture
def look(variant, browse, filled_server):
    """Return a page before which somebody sits, in a size and a language."""
    size, language = variant

    def page_of(who=NOBODY):
        return browse(who, at=filled_server, size=size, language=language)

    return page_of


def test_axe_finds_nothing_at_any_address_and_nothing_runs_out_sideways(look, filled_server):
    faces = sorted(screens(filled_server.ids), key=lambda screen: screen.who)
    seen, found = {ON_A_TABLET, AFTER_PASSWORD}, {}  # these have tests of their own
    for who, of_one in groupby(faces, key=lambda screen: screen.who):
        page = look(who)
        for screen in of_one:
            answer = page.goto(screen.path)
            assert (answer.status, answer.request.redirected_from) == (screen.status, None), screen
            found[screen.path] = findings(page)
            seen.add(screen.name)
    assert wrong(found) == {}
    assert seen == {address.name for address in addresses()} - FORMS_ALONE - LEADS_ON - NO_SCREEN


def test_axe_finds_nothing_in_a_row_of_the_round_that_asks(look):
    page = look(OWNER)
    page.goto("/k/marrowby/round/readings/")
    row = page.locator("[data-row]:has(> .of-row > form)").last
    row.locator("input[name=tpc_pct]").fill("65")
    row.locator("button.primary").click()
    expect(row.locator("[role=alert]")).to_be_visible()
    assert findings(page) == []
    page.goto("/k/marrowby/round/service/")
    row = page.locator("#row0")
    row.locator(".again > summary").click()
    row.locator("input.number").last.fill("9999")
    row.locator("button.primary").click()
    expect(row.locator("[role=alert]")).to_be_visible()
    assert findings(page) == []


def test_what_has_no_page_takes_forms_alone(browse, filled_server):
    page = browse(OWNER, at=filled_server)
    for address in addresses():
        if address.name in FORMS_ALONE:
            assert page.request.get(address.at(filled_server.ids)).status == 405, address.name


def test_axe_finds_nothing_on_a_form_with_errors(look, filled_server):
    page, found = look(OWNER), {}
    for screen in first_of_each(filled_server.ids, ASKING):
        page.goto(screen.path)
        with page.expect_navigation():
            page.evaluate(SEND_EMPTY)
        expect(page.locator("main [role=alert]").first).to_be_visible()
        found[screen.name] = findings(page)
    assert wrong(found) == {}


def test_axe_finds_nothing_where_someone_signs_in_wrong_too_often(look, variant):
    page = look()
    page.goto("/sign-in/")
    name = "-".join(("mallory", *variant))
    assert wrong(guessed(page, {"username": name, "password": "guessed"})) == {}


def test_axe_finds_nothing_on_a_shared_tablet(look, variant, filled_server):
    page = look(OWNER)
    page.goto("/k/marrowby/people/")
    page.locator("input[name=tablet_name]").fill("By the fryers")
    page.locator("form[action$='/tablet/'] button").click()
    page.wait_for_url("**/sign/")
    found = {"asked for a PIN": findings(page)}
    page.locator("label", has_text=GUESSED[variant]).click()
    found |= guessed(page, {"pin": "00000000"})
    page.goto("/sign/")
    page.locator("label", has_text="Ben Carr").click()
    page.locator("input[name=pin]").fill(filled_server.people["cook"]["pin"])
    page.locator("main form button.primary").click()
    page.wait_for_url("**/k/marrowby/")
    found["signed by PIN"] = findings(page)
    assert wrong(found) == {}


def test_axe_finds_nothing_where_a_code_is_turned_on_asked_and_turned_off(look, filled_server):
    page, porter = look("porter"), filled_server.people["porter"]
    page.goto("/own/code/")
    secret = page.locator(".secret").inner_text().replace(" ", "")
    now_s = page.evaluate("Date.now()") / 1000
    send(page, present=porter["password"], code=TOTP(secret).at(now_s))
    recovery = page.locator(".recovery li").all_inner_texts()
    found = {"recovery codes": findings(page)}
    page.goto("/own/code/")
    found["to turn it off"] = findings(page)
    page.context.clear_cookies(name="sessionid")
    page.goto("/sign-in/")
    send(page, username=porter["sign_in"], password=porter["password"])
    found["asked"] = findings(page)
    send(page, code="000000")
    found["wrong"] = findings(page)
    send(page, code=recovery[0])
    page.goto("/own/code/")
    send(page, present=porter["password"], code=recovery[1])
    page.wait_for_url("**/own/")
    assert wrong(found) == {}


def send(page, **typed):
    """Fill in the form of a page and send it."""
    for name, text in typed.items():
        page.locator(f"main input[name={name}]").fill(text)
    with page.expect_navigation():
        page.locator("main form button.primary").click()


def test_axe_finds_nothing_where_a_form_is_refused(look):
    page, found = look(), {}
    for send, status in ((SEND_TOO_MUCH, 400), ("document.forms[0].requestSubmit()", 403)):
        page.goto("/sign-in/?next=/")
        if status == 403:
            page.context.clear_cookies(name="csrftoken")
        with page.expect_navigation() as answered:
            page.evaluate("document.forms[0].noValidate = true;" + send)
        assert answered.value.status == status
        found[status] = findings(page)
    assert wrong(found) == {}


def test_axe_finds_nothing_where_the_program_is_at_fault(look):
    page = look()
    said = {"status": 500, "content_type": "text/html", "body": render_to_string("500.html")}
    page.route("**/fault/", lambda route: route.fulfill(**said))
    assert page.goto("/fault/").status == 500
    assert findings(page) == []


def test_no_page_weighs_more_than_150_kb_with_all_it_needs(browse, filled_server):
    page = browse(OWNER, at=filled_server)
    weights = []
    page.on("response", lambda answer: weights.append(weight(answer)))
    for screen in first_of_each(filled_server.ids):
        weights.clear()
        page.goto(screen.path)
        assert 0 < sum(weights) <= 1000 * LARGEST_KB, screen


def test_the_day_book_prints_without_what_only_a_screen_needs(browse):
    page = browse("inspector", size="desktop")
    page.goto("/k/marrowby/book/")
    page.emulate_media(media="print")
    expect(page.locator("nav.screens")).to_be_hidden()
    expect(page.locator(".entry").first).to_be_visible()
    expect(page.locator("header.top .place")).to_have_text("Marrowby ferry terminal")


def findings(page):
    """Return what axe finds on a page with all its parts open, in light and dark, and if it is too wide."""
    found = ["runs out sideways"] if page.evaluate(WIDER) > 0 else []
    page.evaluate(OPEN_ALL)
    page.evaluate(AXE.axe_script)
    for scheme, options in (("light", {}), ("dark", OF_COLOURS)):
        page.emulate_media(color_scheme=scheme)
        told = page.evaluate(RUN, options)
        found += [(scheme, one["id"], one["nodes"][0]["html"]) for one in told]
    page.emulate_media(color_scheme="light")
    return found


def wrong(found):
    """Return the pages on which there was something."""
    return {where: rows for where, rows in found.items() if rows}


def first_of_each(ids, names=None):
    """Return the first screen of an owner at each address, or at those named."""
    firsts = {}
    for screen in screens(ids):
        if screen.who == OWNER and screen.status == 200 and (names is None or screen.name in names):
            firsts.setdefault(screen.name, screen)
    return list(firsts.values())


def guessed(page, secrets):
    """Send wrong secrets until no more are taken; return what axe finds on the way, by status."""
    found = {}
    for _ in range(TRIES + 1):
        for name, secret in secrets.items():
            page.locator(f"input[name={name}]").fill(secret)
        with page.expect_navigation() as answered:
            page.locator("main form button.primary").first.click()
        status = answered.value.status
        if status not in found:
            found[status] = findings(page)
        if status == 429:
            assert 200 in found
            return found
    pytest.fail("nobody is ever locked out")


def weight(answer):
    length = answer.headers.get("content-length")
    return int(length) if length else len(answer.body())
