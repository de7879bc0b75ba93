"""Signing in and out: who gets in, who is stopped, and what is never written down."""

import logging
from datetime import UTC, datetime, time, timedelta
from html import unescape

import pytest
from addresses import READING, second_kitchen
from cast import PASSWORD, PIN, tablet_in
from django.conf import settings
from django.core import signing
from django.db import connection
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Told, setting_add
from kettlewell.records.models import Kitchen, Person, Role, Seat
from kettlewell.records.people import SeatTerms, seat_set
from kettlewell.records.roster import tablets_of
from kettlewell.web.common import DEVICE_COOKIE

TOO_MANY = 429
WRONG = "not my secret"
WRONG_PIN = "8306"


def sign_in(client, name, password=PASSWORD, **more):
    return client.post(reverse("sign-in"), {"username": name, "password": password, **more})


def sign(client, person, pin=PIN, **more):
    return client.post(reverse("sign"), {"person": str(person.pk), "pin": pin, **more})


def made_tablet(kitchen, name="By the fryers"):
    """Return a browser that is a shared tablet of a kitchen, and the tablet."""
    device = tablet_in(kitchen, name)
    client = Client()
    client.cookies[DEVICE_COOKIE] = signing.get_cookie_signer(salt=DEVICE_COOKIE * 2).sign(str(device.pk))
    return client, device


@pytest.fixture
def tablet(marrowby):
    return made_tablet(marrowby)[0]


def test_at_the_very_first_start_the_door_leads_to_set_up(client, db):
    assert client.get("/").url == reverse("set-up")


def test_name_and_password_lead_to_the_line_of_the_one_kitchen(client, marrowby, cook):
    assert client.get("/").url == reverse("sign-in")
    assert sign_in(client, "  Cook@Marrowby.test ").url == reverse("kitchens")
    assert client.get("/").url == reverse("line", args=[marrowby.slug])


def test_who_has_no_kitchen_is_told_so(signed_in, stranger):
    page = signed_in(stranger).get("/")
    assert "No kitchen is open to you today" in page.content.decode()


@pytest.mark.usefixtures("after_dinner")
def test_who_has_several_kitchens_chooses(signed_in, marrowby, area_manager, hand):
    begun = Kitchen.objects.create(slug="begun")
    setting_add(begun, "kitchen", "", {"name": "Not set up yet", "timezone": "UTC"}, hand=hand)
    for kitchen in (begun, second_kitchen(marrowby, hand.person, hand.now)):
        seat_set(kitchen, area_manager, SeatTerms(role=Role.AREA_MANAGER), hand=hand)
    told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload={**READING, "fryer": "F2"})
    record(marrowby, told, hand)
    page = signed_in(area_manager).get("/").content.decode()
    assert "Marrowby test canteen" in page
    assert "Do not fry, switch it off: Fish (F2)" in page  # the worst there is
    assert [reverse("line", args=[slug]) in page for slug in ("second", "begun")] == [True, True]


@pytest.mark.usefixtures("after_dinner")
def test_a_kitchen_that_cannot_be_answered_leaves_the_others_in_the_list(
    signed_in, marrowby, owner, hand, caplog
):
    broken = second_kitchen(marrowby, owner, hand.now)
    for kitchen in (marrowby, broken):
        payload = {**READING, "meter": "hand"}
        told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=payload)
        record(kitchen, told, hand)
    setting_add(broken, "meters", "hand", None, hand=hand)
    page = signed_in(owner).get("/").content.decode()
    assert [reverse("line", args=[slug]) in page for slug in (marrowby.slug, "second")] == [True, True]
    assert page.count("Do not fry, switch it off") == 1
    (logged,) = [record for record in caplog.records if record.exc_info]
    assert "second" in logged.getMessage()


def test_a_wrong_password_signs_nobody_in_and_says_what_to_do(client, cook):
    page = sign_in(client, cook.sign_in, WRONG)
    assert page.status_code == 200
    assert "do not belong together" in page.content.decode()
    assert "Ask an owner of your kitchen" in page.content.decode()
    assert "sign on the kitchen's shared tablet" in unescape(page.content.decode())
    assert "_auth_user_id" not in client.session


def test_a_closed_account_does_not_open(client, cook):
    Person.objects.filter(pk=cook.pk).update(is_active=False)
    sign_in(client, cook.sign_in)
    assert "_auth_user_id" not in client.session


def test_who_has_a_pin_alone_is_answered_as_one_who_has_no_account_is(client, cook):
    """The answer speaks of PINs to both, so that it tells a stranger nothing."""
    cook.set_unusable_password()
    cook.save()
    answers = [sign_in(client, name, WRONG).context["form"] for name in (cook.sign_in, "nobody")]
    first, second = ([*form.errors.items(), *form.non_field_errors()] for form in answers)
    assert first == second != []


def test_the_session_key_changes_at_sign_in_and_ends_at_sign_out(client, cook):
    client.get(reverse("sign-in"))
    session = client.session
    session["planted"] = "by an attacker"
    session.save()
    planted = session.session_key
    client.cookies["sessionid"] = planted
    sign_in(client, cook.sign_in)
    signed = client.session.session_key
    assert signed != planted
    client.post(reverse("sign-out"))
    again = Client()
    again.cookies["sessionid"] = signed
    assert again.get("/").url == reverse("sign-in")


def test_signing_out_takes_a_post(signed_in, cook):
    browser = signed_in(cook)
    assert browser.get(reverse("sign-out")).status_code == 405
    assert "_auth_user_id" in browser.session


def test_a_session_ends_when_idle_for_a_day_and_a_half_and_at_last_after_thirty_days(
    signed_in, cook, monkeypatch
):
    """Used once a day it runs on, each time for the same while."""
    browser, begun = signed_in(cook), clock.now()
    for day in range(32):
        monkeypatch.setattr(clock, "now", lambda day=day: begun + timedelta(days=day))
        answer = browser.get("/")
        assert (answer.url == reverse("sign-in")) is (day > 30), day
        if day <= 30:
            assert answer.cookies[settings.SESSION_COOKIE_NAME]["max-age"] == 36 * 3600, day


# ---- the shared tablet


def test_the_sign_page_is_on_shared_tablets_alone(client, marrowby, cook):
    assert client.get(reverse("sign")).url == reverse("sign-in")
    assert sign(client, cook).url == reverse("sign-in")
    assert "_auth_user_id" not in client.session


def test_a_forged_cookie_makes_no_tablet(client, marrowby, cook):
    device = tablet_in(marrowby, "By the fryers")
    client.cookies[DEVICE_COOKIE] = str(device.pk)
    assert sign(client, cook).url == reverse("sign-in")
    client.cookies[DEVICE_COOKIE] = f"{device.pk}:forged:forged"
    assert sign(client, cook).url == reverse("sign-in")


def test_name_and_pin_sign_on_a_tablet_for_a_quarter_of_an_hour(tablet, marrowby, cook):
    assert tablet.get(reverse("sign-in")).url.startswith(reverse("sign"))
    assert "Cora Cook" in tablet.get(reverse("sign")).content.decode()
    assert sign(tablet, cook).url == reverse("kitchens")
    assert tablet.get("/").url == reverse("line", args=[marrowby.slug])
    assert tablet.session.get_expiry_age() == 15 * 60


def test_a_tablet_offers_only_those_who_have_a_pin_and_a_seat_today(
    tablet, marrowby, cook, inspector, stranger
):
    Seat.objects.filter(person=inspector).update(ends_on=clock.now().date() - timedelta(days=2))
    Person.objects.filter(pk=cook.pk).update(pin="")
    page = tablet.get(reverse("sign")).content.decode()
    assert "Olive Owner" in page
    for absent in ("Cora Cook", "Ines Inspector", "Sten Stranger"):
        assert absent not in page
    assert sign(tablet, stranger).status_code == 200
    assert "_auth_user_id" not in tablet.session


@pytest.fixture
def far_west(marrowby, hand):
    """The kitchen eleven hours behind UTC: at 5 o'clock UTC its yesterday is not over."""
    values = {"name": "Far west", "timezone": "Pacific/Pago_Pago"}
    setting_add(marrowby, "kitchen", "", values, hand=hand)
    return marrowby


@pytest.mark.parametrize(("hour", "here"), [(5, True), (12, False)])
def test_a_last_day_is_the_kitchens_own(far_west, inspector, signed_in, monkeypatch, hour, here):
    """Until midnight by its clocks a tablet and the list open the kitchen; then neither does."""
    today = clock.now().date()
    Seat.objects.filter(person=inspector).update(ends_on=today)
    tomorrow = datetime.combine(today + timedelta(days=1), time(hour), UTC)
    monkeypatch.setattr(clock, "now", lambda: tomorrow)
    tablet = made_tablet(far_west)[0]
    assert ("Ines Inspector" in tablet.get(reverse("sign")).content.decode()) is here
    assert (sign(tablet, inspector).status_code == 302) is here
    assert (signed_in(inspector).get("/").status_code == 302) is here


def test_a_pin_opens_no_other_kitchen_and_no_page_about_people(tablet, marrowby, owner, hand):
    second = Kitchen.objects.create(slug="second")
    seat_set(second, owner, SeatTerms(role=Role.OWNER), hand=hand)
    sign(tablet, owner)
    assert tablet.get(reverse("line", args=["second"])).status_code == 404
    assert tablet.get(reverse("people", args=[marrowby.slug])).status_code == 403
    del tablet.cookies[DEVICE_COOKIE]
    assert tablet.get("/").url == reverse("line", args=[marrowby.slug])


def test_retiring_a_tablet_signs_out_who_is_signed_in_on_it(marrowby, owner, cook, signed_in):
    tablet, device = made_tablet(marrowby)
    sign(tablet, cook)
    signed_in(owner).post(reverse("tablet-retire", args=[marrowby.slug, device.pk]))
    assert tablet.get("/").url == reverse("sign-in")
    assert sign(tablet, cook).url == reverse("sign-in")


def test_registering_a_tablet_signs_out_and_sets_a_cookie_scripts_cannot_read(
    marrowby, owner, signed_in, cook
):
    browser = signed_in(owner)
    answer = browser.post(reverse("tablet", args=[marrowby.slug]), {"tablet_name": "By the fryers"})
    cookie = answer.cookies[DEVICE_COOKIE]
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert "_auth_user_id" not in browser.session
    assert sign(browser, cook).status_code == 302


# ---- what is never written down


def test_no_pin_and_no_password_is_logged_or_kept_in_clear(tablet, client, cook, caplog):
    wrong_pin, wrong_password = "83061957", "a wrong secret at sea"
    caplog.set_level(logging.DEBUG)
    for _ in range(6):
        sign(tablet, cook, wrong_pin)
        sign_in(client, cook.sign_in, wrong_password)
    sign(tablet, cook)
    logged = "\n".join(
        f"{record.getMessage()} {record.args} {record.exc_text}"
        for record in caplog.records
        if not record.name.startswith("django.db")
    )
    assert "sign-in-failed" in logged
    assert "****" not in logged
    kept = "\n".join(rows_in_clear())
    assert cook.sign_in in kept
    for secret in (wrong_pin, wrong_password, PASSWORD):
        assert secret not in logged
        assert secret not in kept


def rows_in_clear():
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")
            yield from (repr(row) for row in cursor.fetchall())


# ---- language


def test_the_language_is_kept_by_the_browser_and_with_the_person(signed_in, cook, marrowby):
    browser = signed_in(cook)
    answer = browser.post(reverse("language"), {"language": "de", "next": "/sign-in/"})
    assert answer.url == "/sign-in/"
    cook.refresh_from_db()
    assert cook.language == "de"
    assert (
        '<html lang="de">'
        in Client().get("/sign-in/", headers={"cookie": "django_language=de"}).content.decode()
    )
    elsewhere = Client()
    sign_in(elsewhere, cook.sign_in)
    assert elsewhere.cookies["django_language"].value == "de"


@pytest.mark.parametrize("language", ["tlh", "", "<b>", "de-x-" + "x" * 500])
def test_a_language_there_is_not_changes_nothing(signed_in, cook, language):
    browser = signed_in(cook)
    browser.post(reverse("language"), {"language": language})
    cook.refresh_from_db()
    assert cook.language == ""
    assert "django_language" not in browser.cookies


def test_a_tablet_made_known_and_retired_is_told_in_the_day_book_by_whom(marrowby, owner, signed_in):
    browser = signed_in(owner)
    browser.post(reverse("tablet", args=[marrowby.slug]), {"tablet_name": "By the pass"})
    browser = signed_in(owner)
    (tablet,) = tablets_of(marrowby)
    browser.post(reverse("tablet-retire", args=[marrowby.slug, tablet.pk]))
    told = list(marrowby.entries.filter(payload__thing="tablets"))
    assert [entry.person for entry in told] == [owner, owner]
    page = browser.get(reverse("book", args=[marrowby.slug])).content.decode()
    assert "By the pass became a tablet of this kitchen: people sign on it with name and PIN." in page
    assert "By the pass is no longer a tablet of this kitchen." in page
    for entry in told:
        assert browser.get(reverse("entry", args=[marrowby.slug, entry.pk])).status_code == 200


def test_every_cookie_is_shut_to_scripts_and_to_other_sites(client, cook):
    client.get(reverse("sign-in"))
    client.post(reverse("sign-in"), {"username": cook.sign_in, "password": PASSWORD})
    client.post(reverse("language"), {"language": "de"})
    assert {"sessionid", "csrftoken", "known", "django_language"} <= set(client.cookies)
    for name, cookie in client.cookies.items():
        assert cookie["httponly"], name
        assert cookie["samesite"] == "Lax", name
