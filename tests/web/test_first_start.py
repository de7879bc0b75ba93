"""From nothing to the first verdict, step by step."""

from datetime import datetime, time, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import late_entries
from kettlewell.records.first_start import set_up_code
from kettlewell.records.models import Entry, Kitchen, Person
from kettlewell.records.people import person_add
from kettlewell.records.settings import settings_of, zone_of
from kettlewell.web.setup.first import founded

PLACE = {"name": "Quay Café", "jurisdiction": "GB", "timezone": "Europe/London", "house_limit_pct": "24"}
NORA = {"name": "Nora Quay", "sign_in": "Nora", "password": "batter and vinegar", "code": set_up_code()}
YOU = {f"you-{field}": typed for field, typed in NORA.items()}
EVERY_DAY = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
STEPS = {
    "oil": {
        "oils-name": "Rapeseed oil",
        "oils-kind": "rapeseed",
        "products-name": "Cod in batter",
        "products-kind": "battered-fish",
        "products-allergens": ["fish", "gluten"],
    },
    "fryer": {
        "fryers-key": "F1",
        "fryers-name": "Left",
        "fryers-oil": "rapeseed-oil",
        "fryers-oil_mass_kg": "20",
        "fryers-unit": "l",
        "fryers-minimum_mass_kg": "17,5",
        "fryers-set_temp_c": "172",
        "fryers-draining": "hand",
        "fryers-fries": ["cod-in-batter"],
    },
    "meter": {"skip": "yes"},
    "services": {
        "lunch-wanted": "on",
        "lunch-name": "Lunch",
        "lunch-days": EVERY_DAY,
        "lunch-from": "11:30",
        "lunch-to": "14:30",
    },
    "age": {"F1-age": "yesterday"},
}
READING = {"all_so": "yes", "tpc_pct": "12", "oil_temp_c": "170"}


def at(name, kitchen, *args):
    return reverse(name, args=[kitchen.slug, *args])


def values_of(kitchen, thing, key):
    return settings_of(kitchen)[thing][key]


@pytest.mark.django_db
def test_from_nothing_to_the_first_verdict():
    browser = Client()
    assert browser.get("/").url == reverse("set-up")
    answer = browser.post(reverse("set-up"), {**PLACE, **YOU})
    for step, sent in STEPS.items():
        assert answer.status_code == 302, answer.content.decode()
        assert answer.url.endswith(f"step={step}")
        assert browser.get(answer.url).status_code == 200
        # a phone that slept, and opens the program anew
        resumed = browser.get(reverse("set-up"))
        assert step in ("services", "age") or resumed.url == answer.url
        answer = browser.post(answer.url, sent)
    kitchen = Kitchen.objects.get()
    assert kitchen.slug == "quay-cafe"
    fryer = values_of(kitchen, "fryers", "F1")
    assert (fryer["oil_mass_kg"], fryer["minimum_mass_kg"]) == ("18.4", "16.1")
    assert values_of(kitchen, "products", "cod-in-batter")["allergens"] == ["fish", "gluten"]
    assert Person.objects.get().sign_in == "nora"
    page = browser.get(answer.url).content.decode()
    without = at("reading-at", kitchen, "F1") + "?without"  # no meter, so the senses
    assert without in page
    assert at("act", kitchen, "F1", "senses") in browser.get(without).content.decode()
    sent = {**READING, "entry_id": "", "phone_now": ""}
    told = browser.post(at("reading-at", kitchen, "F1"), sent, follow=True)
    assert told.status_code == 200
    kinds = [entry.kind for entry in Entry.objects.exclude(kind="setting").order_by("seq")]
    assert kinds[-4:] == ["change", "verdict", "reading", "verdict"], told.content.decode()


def at_minute(monkeypatch, began, minute):
    monkeypatch.setenv(clock.SETTING, (began + timedelta(minutes=minute)).isoformat())


def set_up(browser, before=lambda _number: None, **steps):
    """Send every step, some of them otherwise, and return the kitchen and the page it ends with."""
    answer = browser.post(reverse("set-up"), {**PLACE, **YOU})
    for number, (step, sent) in enumerate({**STEPS, **steps}.items()):
        before(number)
        assert answer.url.endswith(f"step={step}"), answer.content.decode()
        answer = browser.post(answer.url, sent)
    assert answer.status_code == 302, answer.content.decode()
    return Kitchen.objects.get(), browser.get(answer.url).content.decode()


@pytest.mark.django_db
def test_a_new_kitchen_is_never_first_told_to_throw_its_oil_away(client):
    """Nobody knows how old the oil is, nothing was read, and there is no meter."""
    kitchen, _page = set_up(client, age={"F1-age": "unknown"})
    assert not Entry.objects.filter(kind="change").exists()
    (told,) = standing(kitchen, clock.now()).assessments
    assert told.verdict.key == "measure_again"
    line = client.get(at("line", kitchen)).content.decode()
    assert "Smell it and look at it" in line
    assert "hange before frying" not in line
    assert "witch it off" not in line


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("age", "days_ago"),
    [({"F1-age": "today"}, 0), ({"F1-age": "yesterday"}, 1), ({"F1-age": "days", "F1-days": "4"}, 4)],
)
def test_how_old_the_oil_is_stands_in_the_day_book_before_it_fried_that_day(
    client, age, days_ago, started_at, monkeypatch
):
    """However long the steps before took: the oil fried as the services say, before they were said."""
    kitchen, _page = set_up(client, lambda n: at_minute(monkeypatch, started_at, n), age=age)
    filled = Entry.objects.get(kind="change")
    zone, now = zone_of(kitchen), clock.now()
    day = (now.astimezone(zone) - timedelta(days=days_ago)).date()
    opens = datetime.combine(day, time(11, 30), zone)
    assert filled.at == min(opens, now)
    (told,) = standing(kitchen, now).assessments
    assert told.verdict.reason.code != "unknown_fill"
    assert told.verdict.key == "fry_on" or days_ago > 1
    assert late_entries(kitchen) == {}  # of oil filled days ago too, the verdict is told


@pytest.mark.django_db
def test_of_some_days_it_is_asked_how_many(client):
    answer = client.post(reverse("set-up"), {**PLACE, **YOU})
    for sent in STEPS.values():
        last, answer = answer, client.post(answer.url, sent if "F1-age" not in sent else {"F1-age": "days"})
    assert "Say about how many days" in answer.content.decode()
    assert not Entry.objects.filter(kind="change").exists()
    assert client.post(last.url, STEPS["age"]).status_code == 302
    assert client.post(last.url, STEPS["age"]).status_code == 302  # twice is once
    assert Entry.objects.filter(kind="change").count() == 1


@pytest.mark.django_db
def test_the_set_up_ends_with_what_is_still_missing(client):
    kitchen, page = set_up(client, age={"F1-age": "unknown"})
    missing = ("F1 · Left is", "no meter", "Only one fryer", "Only one food", "the only one here")
    assert [each for each in missing if each not in page] == []
    assert "which allergens" not in page
    assert at("thing-new", kitchen, "fryers") + "?like=F1" in page


@pytest.mark.django_db
def test_of_two_first_set_ups_at_once_one_makes_the_owner(monkeypatch):
    def beaten(*forms):
        person_add(sign_in="quicker", name="Quinn Quicker", password="batter and vinegar")
        return founded(*forms)

    monkeypatch.setattr("kettlewell.web.setup.first.founded", beaten)
    answer = Client().post(reverse("set-up"), {**PLACE, **YOU})
    assert "Someone has set this up in the meantime" in answer.content.decode()
    assert [person.sign_in for person in Person.objects.all()] == ["quicker"]
    assert not Kitchen.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(("field", "typed"), [("password", "short"), ("code", "aaaa-aaaa-aaaa-aaaa")])
def test_wrong_input_is_kept_and_nothing_is_stored(field, typed):
    answer = Client().post(reverse("set-up"), {**PLACE, **YOU, f"you-{field}": typed})
    assert answer.context["you"].errors.keys() == {field}
    page = answer.content.decode()
    assert 'value="Quay Café"' in page
    assert 'value="Nora Quay"' in page
    assert not Person.objects.exists()
    assert not Kitchen.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(("place", "needed"), [("GB", True), ("", True), ("AT", True), ("FR", False)])
def test_a_limit_of_the_house_is_needed_where_nothing_verified_judges_the_oil(place, needed):
    sent = {**PLACE, **YOU, "jurisdiction": place, "house_limit_pct": ""}
    answer = Client().post(reverse("set-up"), sent)
    assert ("give a limit of your own" in answer.content.decode()) is needed
    assert Kitchen.objects.exists() is not needed


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("place", "says"),
    [
        ("FR", ["not above 25 %", "binding", "Decret 2008-184", "ecolex.org", "28 Feb 2008"]),
        ("GB", ["none found"]),
        ("AT", ["27", "unverified", "From memory"]),
    ],
)
@pytest.mark.parametrize("scripted", [True, False])
def test_limits_are_shown_with_source_force_and_date(place, says, scripted):
    browser = Client()
    if scripted:
        answer = browser.get(reverse("set-up"), {"jurisdiction": place}, headers={"HX-Request": "true"})
    else:
        answer = browser.post(reverse("set-up"), {**PLACE, **YOU, "jurisdiction": place, "show": "yes"})
    page = answer.content.decode()
    assert [one for one in says if one not in page] == []
    assert ("<html" in page) is not scripted
    assert not Kitchen.objects.exists()


def test_an_owner_sets_up_a_further_kitchen(signed_in, marrowby, owner):
    browser = signed_in(owner)
    page = browser.get(reverse("set-up")).content.decode()
    assert "you-password" not in page
    assert browser.post(reverse("set-up"), PLACE).url.endswith("step=oil")
    assert owner.seats.count() == 2
