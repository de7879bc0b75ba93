"""A day book that an earlier version wrote opens, is whole, is answered and is shown."""

import html
import os
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from addresses import READING
from django.urls import reverse
from ledgers import FILES, bring, read_ledger

from kettlewell import clock
from kettlewell.bridge.standing import standing
from kettlewell.bridge.verdicts import record, told_message
from kettlewell.records import triggers
from kettlewell.records.ids import uuid7
from kettlewell.records.kinds import KINDS
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry, Kitchen, Person, StoredBelief
from kettlewell.records.verify import kitchens, strays, verify

pytestmark = pytest.mark.django_db
SUPPORT = Path(__file__).parents[1] / "support"
FRYERS = {"pier": {"F1", "F2", "F3", "F4"}, "quay": {"A", "B"}}
OWNERS = {"pier": "olive", "quay": "ari"}
PAGES = ("line", "reading", "meters", "meter-check", "compare", "book", "kitchen", "people")
AT_A_FRYER = ("fryer", "fills", "what-if", "reading-at", "acts")
SENTENCE = re.compile(r"^[A-Z0-9].*[.?]$")


@pytest.fixture(params=FILES, ids=lambda file: file.stem)
def ledger(request, db, monkeypatch):
    """A day book as it lies in the tables once its server is brought up to date, on its last evening."""
    ledger = read_ledger(request.param)
    bring(ledger)
    monkeypatch.setenv(clock.SETTING, ledger.now.isoformat())
    return ledger


@pytest.fixture
def page(signed_in):
    """Return a page of a kitchen as its owner reads it."""

    def text(kitchen, name, *args):
        owner = Person.objects.get(sign_in=OWNERS[kitchen.slug])
        response = signed_in(owner).get(reverse(name, args=(kitchen.slug, *args)))
        assert response.status_code == 200, (name, args)
        return html.unescape(response.content.decode())

    return text


def answers(kitchen, at):
    stands = standing(kitchen, at)
    assert stands.problem is None
    return {one.fryer: one for one in stands.assessments}


def test_there_is_a_ledger():
    assert FILES


def test_every_kind_it_holds_is_one_still(ledger):
    kinds = set(Entry.objects.values_list("kind", flat=True))
    assert len(kinds) >= 23
    assert kinds <= set(KINDS)


def test_it_is_whole(ledger):
    assert [(kitchen.slug, verify(kitchen)) for kitchen in kitchens()] == [("pier", None), ("quay", None)]
    assert strays() == []
    assert triggers.missing() == set()


def test_every_fryer_is_answered(ledger):
    for kitchen in Kitchen.objects.all():
        assessments = answers(kitchen, ledger.now)
        assert set(assessments) == FRYERS[kitchen.slug]
        for one in assessments.values():
            assert 0 < one.tpc_mean_pct < 100
            assert one.verdict.reason.code


def test_the_answer_from_its_stored_beliefs_is_that_of_the_whole_book(ledger):
    """A belief stored by another version is understood rightly or not at all."""
    assert StoredBelief.objects.count() == Kitchen.objects.count()
    for kitchen in Kitchen.objects.all():
        stored = answers(kitchen, ledger.now)
        StoredBelief.objects.filter(kitchen=kitchen).delete()
        afresh = answers(kitchen, ledger.now + timedelta(minutes=1))
        for fryer, one in stored.items():
            assert one.tpc_mean_pct == pytest.approx(afresh[fryer].tpc_mean_pct, abs=0.01)
            assert one.verdict.key == afresh[fryer].verdict.key


def test_every_page_of_it_can_be_read(ledger, page):
    for kitchen in Kitchen.objects.all():
        for name in PAGES:
            page(kitchen, name)
        for fryer in FRYERS[kitchen.slug]:
            for name in AT_A_FRYER:
                page(kitchen, name, fryer)


def test_every_entry_of_it_can_be_read(ledger, page):
    for entry in Entry.objects.select_related("kitchen"):
        page(entry.kitchen, "entry", entry.pk)


def test_the_verdicts_it_holds_are_told_in_sentences(ledger, page, reader):
    verdicts = Entry.objects.filter(kind="verdict").select_related("kitchen")
    assert len(verdicts) > 50
    for verdict in verdicts:
        for part in ("reason", "changes_if"):
            said = told_message(verdict.payload[part])
            assert SENTENCE.match(reader.say(said.text, **said.values)), verdict.payload[part]
        page(verdict.kitchen, "told", verdict.pk)


def test_the_look_back_of_its_failed_check_is_told(ledger, page):
    failed = Entry.objects.filter(kind="relied").first().payload["check"]
    check = Entry.objects.select_related("kitchen").get(pk=failed)
    for name in ("meter-found", "look-back"):
        page(check.kitchen, name, check.pk)


def test_it_can_be_written_on(ledger):
    hand = Hand(person=Person.objects.get(sign_in="olive"), now=ledger.now)
    kitchen = Kitchen.objects.get(slug="pier")
    told = Told(id=uuid7(hand.now), kind="reading", happened_at=hand.now, payload=READING)
    recorded = record(kitchen, told, hand)
    assert recorded.verdict is not None
    assert verify(kitchen) is None


OPENED = """
import sys
from pathlib import Path
import django
django.setup()
from django.core.management import call_command
from ledgers import bring, read_ledger
ledger = read_ledger(Path(sys.argv[1]))
call_command("migrate", "records", ledger.migration, verbosity=0)
bring(ledger)
from kettlewell.cli import main, server
server.start()
sys.argv[1:] = ["verify"]
main()
"""


@pytest.mark.slow
@pytest.mark.sqlite
@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_server_brought_up_to_date_opens_it_and_finds_it_whole(file, tmp_path):
    """Through the migrations since, in a home of its own, as ``serve`` starts."""
    paths = os.pathsep.join([str(SUPPORT), *filter(None, [os.environ.get("PYTHONPATH")])])
    env = {
        **os.environ,
        "PYTHONPATH": paths,
        "KETTLEWELL_HOME": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "kettlewell.settings",
    }
    env.pop("KETTLEWELL_DATABASE", None)
    command = [sys.executable, "-c", OPENED, str(file)]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "Pier canteen: whole up to entry 210, written " in done.stdout
    assert "Quay: whole up to entry 44, written " in done.stdout
