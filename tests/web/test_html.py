"""HTML in every text field: it is written as it was typed, and every page shows it as text."""

import json
import re

import pytest
from addresses import addresses, ids_of, undone
from cast import SETTINGS, slow_hash
from django.test import Client
from django.urls import resolve, reverse
from forms import Page

from kettlewell.book.kinds import CORRECTABLE
from kettlewell.records.first_start import set_up_code
from kettlewell.records.models import Device, Entry, Person, Private
from kettlewell.web.entry.asking import FORMS as ACTS
from kettlewell.web.setup.facts import KITCHEN_KEY
from kettlewell.web.setup.forms import FORMS as THINGS
from kettlewell.web.setup.views import ADDED

pytestmark = pytest.mark.sqlite
HTML = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>"
RAW = ("<script>alert(1)", "<img src=x")
AS_TEXT = "&lt;script&gt;alert(1)"
FOUND = addresses()
SHOW_IT = ("line", "reading", "fryer", "acts", "book", "kitchen", "people", "told", "settle")
AT_METERS = ("meters", "meter-check", "meter-found", "look-back", "relied", "compare")
OF_METERS = {"meter_check", "meter_order", "relied", "setting"}

# Every address that takes a form stands in one of these.
ACTS_AT = {
    "reading": "reading-at",
    "settled": "settle",
    "reviewed": "look-over",
    "review": "review",
    "recall": "recall",
    "collected": "collected",
    "training": "training",
    "answer": "answer-call",
    "meter_check": "meter-check",
    "relied": "relied",
}
CHANGED_BY = {"correct", "undo"}
SET_BY = {"thing-new", "thing", "set-up"}
ASIDE = {  # the page on which its form stands, and what sort of row it writes
    "meter-order": ("meters", "meter_order"),
    "person-new": ("person-new", "person"),
    "person": ("person", "person"),
    "person-remove": ("person", "setting"),
    "tablet": ("people", "tablet"),
    "tablet-retire": ("people", "tablet"),
    "language": ("line", "person"),
    "round-reading": ("round-readings", "reading"),
    "round-acts": ("round-service", "care"),
}
NOTHING_TYPED = {"round-acts", "meter-order", "person-remove", "tablet-retire", "language"}
# nothing typed there is shown again; too few pairs to take over; tests/web/test_tables.py sends files,
# tests/web/test_backlog.py numbers
WRITE_NOTHING = {
    "late",
    "backlog",
    "erase",
    "calendar",
    "sign-in",
    "code",
    "sign",
    "sign-out",
    "own",
    "own-code",
    "adopt",
    "tables",
    "table",
}


@pytest.fixture
def ids(marrowby, cook, hand):
    return ids_of(marrowby, cook, hand)


@pytest.fixture
def fresh(signed_in, owner):
    """Give a browser in which the owner is signed in and nothing else has happened.

    The owner's password is what is typed into every field, so into the one that asks for it too.
    """
    owner.password = slow_hash(HTML)
    owner.save()

    def browser():
        client = signed_in(owner)
        client.raise_request_exception = False
        return client

    return browser


def test_every_address_that_takes_a_form_is_tried(fresh, ids):
    taking = set()
    for address in FOUND:
        with undone():
            if fresh().post(address.at(ids)).status_code != 405:
                taking.add(address.name)
    assert taking == {"act", *ACTS_AT.values(), *CHANGED_BY, *SET_BY, *ASIDE, *WRITE_NOTHING}


@pytest.mark.parametrize("kind", sorted(ACTS))
def test_html_in_an_act_its_correction_and_its_undoing(fresh, ids, kind):
    if kind == "return":
        written(fresh(), path_of("act", ids, kind="store"))
    done = written(fresh(), path_of(ACTS_AT.get(kind, "act"), ids, kind=kind))
    check_kept(fresh(), ids, done, kind)
    if kind in CORRECTABLE:
        done = written(fresh(), path_of("correct", ids, entry=one_of(done, kind)))
        check_kept(fresh(), ids, done, kind)
        done = written(fresh(), path_of("undo", ids, entry=one_of(done, kind)))
        check_kept(fresh(), ids, done, "undone")


def test_every_tile_of_one_tap_writes_its_act(fresh, ids):
    page = path_of("acts", ids)
    tiles = [(action, form) for action, form in forms_at(fresh(), page) if resolve(action).url_name == "act"]
    assert tiles
    for action, form in tiles:
        assert resolve(action).kwargs["kind"] in sorts(sent(fresh(), action, form))


@pytest.mark.parametrize("thing", sorted(THINGS))
def test_html_in_the_settings_of_a_thing_there_is(fresh, ids, thing):
    key = next(key for of, key in (*SETTINGS, ("reference_lots", "bottle")) if of == thing) or KITCHEN_KEY
    check_kept(fresh(), ids, written(fresh(), path_of("thing", ids, thing=thing, key=key)), "setting")


@pytest.mark.parametrize("thing", sorted(ADDED))
def test_html_in_the_settings_of_a_new_thing(fresh, ids, thing):
    check_kept(fresh(), ids, written(fresh(), path_of("thing-new", ids, thing=thing)), "setting")


@pytest.mark.parametrize("name", sorted(ASIDE))
def test_html_in_what_is_said_of_people_tablets_and_meters(fresh, ids, name):
    stands, sort = ASIDE[name]
    done = written(fresh(), path_of(stands, ids), path_of(name, ids))
    check_kept(fresh(), ids, done, sort, typed=name not in NOTHING_TYPED)


def test_html_in_every_step_of_the_first_set_up(db):
    browser, before = Client(), rows()
    page = browser.get("/", follow=True)
    steps = []
    while "step=" in (path := page.redirect_chain[-1][0]) or not steps:
        steps.append(path)
        form = next(form for action, form in forms_in(page, path) if action == path)
        code = {"you-code": set_up_code()} if len(steps) == 1 else {}
        page = browser.post(path, form.filled(HTML) | code, follow=True)
        check_text(page, path)
        assert page.redirect_chain, (path, form.filled(HTML), complaints(page))
    done = rows() - before
    assert len(steps) == 6
    assert {"person", "setting"} <= sorts(done)
    kitchen = Entry.objects.first().kitchen.slug
    shown = [browser.get(reverse(name, args=(kitchen,))) for name in ("line", "book", "kitchen", "people")]
    for name, page in zip(("line", "book", "kitchen", "people"), shown, strict=True):
        check_text(page, name)
        assert AS_TEXT in page.content.decode(), name


def test_html_in_the_hidden_values_too_is_refused_and_comes_back_as_text(fresh, ids):
    for address in FOUND:
        page = fresh().get(address.at(ids))
        for action, form in forms_in(page, address.at(ids)):
            browser = fresh()
            with undone():
                method = browser.post if form.writes else browser.get
                check_text(method(action, form.everywhere(HTML), follow=True), action)


def path_of(name, ids, **more):
    """Return the path of an address by its name, with the ids of a kitchen and others."""
    address = next(one for one in FOUND if one.name == name)
    known = {**ids, "entry": ids[address.entry_kind], **more}
    return reverse(name, kwargs={field: known[field] for field in address.fields})


def forms_in(page, path):
    """Return the forms of a page that was answered, each with the address it is sent to; a PDF has none."""
    assert page.status_code < 500, path
    if page.get("Content-Type") == "application/pdf":
        return []
    return [(form.attributes.get("action") or path, form) for form in Page(page.content.decode()).forms]


def forms_at(browser, path):
    page = browser.get(path)
    assert page.status_code == 200, path
    return forms_in(page, path)


def written(browser, path, action=None):
    """Send the form of a page, its first one to ``action``; return the rows that this wrote."""
    form = next(form for to, form in forms_at(browser, path) if to == (action or path) and form.writes)
    return sent(browser, action or path, form)


def sent(browser, action, form):
    before = rows()
    page = browser.post(action, form.filled(HTML), follow=True)
    check_text(page, action)
    done = rows() - before
    assert done, (action, form.filled(HTML), complaints(page))
    return done


def complaints(page):
    """Return what a page finds wrong with a form."""
    return re.findall(r"<li>.*</li>", page.content.decode())


def rows():
    """Return all that a form can write: of what sort it is, what it says, its id."""
    return {
        *((entry.kind, json.dumps(entry.payload), entry.pk) for entry in Entry.objects.all()),
        *(("private", bytes(one.content or b"").decode(), one.entry_id) for one in Private.objects.all()),
        *(("person", f"{one.name}; {one.language}", one.pk) for one in Person.objects.all()),
        *(("tablet", f"{one.name}; {one.retired_at}", one.pk) for one in Device.objects.all()),
    }


def sorts(done):
    return {sort for sort, _said, _pk in done}


def one_of(done, sort):
    return next(pk for one, _said, pk in done if one == sort)


def check_kept(browser, ids, done, sort, *, typed=True):
    """Check that a row of this sort was written, HTML and all, and that every page shows it as text."""
    assert sort in sorts(done)
    assert typed == any(RAW[0] in said for _sort, said, _pk in done)
    names = (*SHOW_IT, *AT_METERS) if sort in OF_METERS else SHOW_IT
    paths = [path_of(name, ids) for name in names]
    paths += [path_of("entry", ids, entry=pk) for one, _said, pk in done if one in {sort, "verdict"}]
    paths += [reverse("told", args=(ids["slug"], pk)) for one, _said, pk in done if one == "verdict"]
    pages = [browser.get(path) for path in paths]
    for path, page in zip(paths, pages, strict=True):
        check_text(page, path)
    if typed:
        assert any(AS_TEXT in page.content.decode() for page in pages)


def check_text(answer, where):
    assert answer.status_code < 500, where
    for mark in RAW:
        assert mark.encode() not in answer.content, where  # of a sheet to be printed too
