"""Erasing a name: no byte of the database, nor of the log beside it, holds it afterwards."""

import os
import subprocess
import sys

import pytest
from axes.models import AccessAttempt
from cast import PASSWORD
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from moments import without_settings

from kettlewell.records.people import person_erase

NAME, SIGN_IN = "Wilhelmina Zander", "w.zander@galley"
ERASED = """
import sys
from pathlib import Path
from kettlewell.cli import server
server.start()
from django.conf import settings
from django.test import Client
from kettlewell import clock
from kettlewell.bridge.demo import demo_kitchen
from kettlewell.bridge.people import Newcomer, person_admit
from kettlewell.records.ledger import Hand
from kettlewell.records.models import Person, Role
from kettlewell.records.people import SeatTerms
settings.ALLOWED_HOSTS = ["testserver"]
name, sign_in = sys.argv[1:]

def there():
    texts = {text.encode(): path.name for path in sorted(settings.HOME.rglob("kettlewell*"))
             for text in (name, sign_in) if text.encode() in path.read_bytes()}
    return sorted(text.decode() for text in texts)

kitchen, _people = demo_kitchen(clock.now())
owner = Person.objects.get(sign_in="owner")
hand = Hand(person=owner, now=clock.now())
newcomer = Newcomer(sign_in=sign_in, name=name, password="batter and vinegar")
someone = person_admit(kitchen, newcomer, SeatTerms(role=Role.COOK), hand=hand)
theirs = Client()
for password in ("not the password", "batter and vinegar"):
    Client().post("/sign-in/", {"username": sign_in, "password": "guessed"})
    theirs.post("/sign-in/", {"username": sign_in, "password": password})
    theirs.post("/sign-in/", {"username": name, "password": sign_in})
print(there())
browser = Client()
browser.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
address = f"/k/{kitchen.slug}/people/{someone.pk}/remove/"
print(browser.post(address, {"erase": "yes"}).status_code, there())
print((settings.HOME / "log" / "kettlewell.log").read_text().count(str(someone.pk)))
"""


@pytest.mark.sqlite
@pytest.mark.slow
def test_right_after_erasing_neither_name_is_in_the_database_or_a_log(tmp_path):
    """While the server runs on, and though the name was guessed at and signed in with."""
    kept = {**without_settings(os.environ), "KETTLEWELL_HOME": str(tmp_path / "home")}
    command = [sys.executable, "-c", ERASED, NAME, SIGN_IN]
    ran = subprocess.run(command, env=kept, capture_output=True, text=True, check=False)
    assert ran.stdout.splitlines() == [f"{[NAME, SIGN_IN]}", "302 []", "5"], ran.stderr


def test_erasing_ends_the_sessions_and_forgets_the_guesses_at_the_name(
    marrowby, owner, cook, hand, signed_in
):
    theirs, others = signed_in(cook), signed_in(owner)
    for name in (cook.sign_in, owner.sign_in):
        Client().post(reverse("sign-in"), {"username": name, "password": PASSWORD[:-1]})
    keys = set(AccessAttempt.objects.values_list("username", flat=True))
    person_erase(marrowby, cook, hand=hand)
    assert theirs.get("/").url == reverse("sign-in")
    assert not Session.objects.filter(pk=theirs.session.session_key).exists()
    assert others.get("/").url == reverse("line", args=[marrowby.slug])
    left = set(AccessAttempt.objects.values_list("username", flat=True))
    assert (len(keys), len(left)) == (2, 1)
