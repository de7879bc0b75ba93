"""A real server, as ``kettlewell serve`` runs it, and a real Chromium before it."""

import datetime as dt
import json
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import product
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from moments import without_settings
from playwright.sync_api import sync_playwright
from ports import free_port

from kettlewell import clock

CHROMIUM = shutil.which("chromium")
AROUND_A_PAGE = ("WebUIOmniboxPopup", "WebUIOmniboxAimPopup")  # would start a process for each page, unseen
AS_PLAYWRIGHT_HAS_IT = (  # our list takes the place of its own
    "AimEnabled",
    "AvoidCorsURLLoaderRestartOnRedirect",
    "AvoidUnnecessaryBeforeUnloadCheckSync",
    "DestroyProfileOnBrowserClose",
    "HttpsFirstBalancedModeAutoEnable",
    "HttpsUpgrades",
    "LensOverlay",
    "MediaRouter",
    "NetworkTimeServiceQuerying",
    "OptimizationHints",
    "PaintHolding",
    "PreconnectToSearch",
    "ThirdPartyStoragePartitioning",
)
FLAGS = [
    f"--disable-features={','.join((*AROUND_A_PAGE, *AS_PLAYWRIGHT_HAS_IT))}",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
# Here the clock goes on from its moment: what somebody does next on a page has to come after what they did.
GOING_ON = f"{(clock.now() - clock.running()).total_seconds():+.3f}"
SIZES = {"phone": {"width": 390, "height": 844}, "desktop": {"width": 1280, "height": 900}}
SUPPORT = Path(__file__).parents[1] / "support"
MAIN = "from kettlewell.cli import main; main()"
SEED = """
import dataclasses, json
from kettlewell.cli import server
server.start()
from kettlewell import clock
from kettlewell.bridge.demo import demo_kitchen
kitchen, people = demo_kitchen(clock.now())
told = {"people": {one.sign_in: dataclasses.asdict(one) for one in people}}
"""
SEEDED = """
import json
from kettlewell.cli import server
server.start()
from kettlewell import clock
from kettlewell.records.models import Kitchen
kitchen, now, told = Kitchen.objects.get(), clock.now(), {}
"""
TELL = "print(json.dumps(told, default=str))"
# something at every address: a call, a verdict to change, a tablet, a second kitchen for the area manager
FILL = """
from addresses import ids_of, second_kitchen
from kettlewell.bridge.verdicts import record
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.records.models import Entry, Person
from kettlewell.records.settings import settings_of
hand = Hand(person=Person.objects.get(sign_in="owner"), now=now)
told["ids"] = ids_of(kitchen, Person.objects.get(sign_in="cook"), hand)
spoiled = Told(id=uuid7(now), kind="senses", happened_at=now, payload={"fryer": "F1", "spoiled": True})
told["ids"]["verdict"] = record(kitchen, spoiled, hand).verdict.pk
told["ids"]["setting"] = Entry.objects.filter(kind="setting").first().pk
things = {thing: keys for thing, keys in settings_of(kitchen).items() if thing not in ("people", "tablets")}
told["ids"]["things"] = {thing: next(iter(keys)) or "own" for thing, keys in things.items()}
second_kitchen(kitchen, Person.objects.get(sign_in="area"), now)
"""
ALL_AT_WORK = """
from kettlewell.records.ledger import Hand, setting_add
from kettlewell.records.models import Person
hand = Hand(person=Person.objects.get(sign_in="owner"), now=now)
for name, begins, ends in (("Lunch", "11:30", "14:30"), ("Dinner", "17:30", "20:30")):
    values = {"name": name, "days": "mon-sun", "from": begins, "to": ends}
    setting_add(kitchen, "services", name.lower(), values, hand=hand)
"""
WRITTEN = """
import json
from collections import Counter
from datetime import timedelta
from kettlewell.cli import server
server.start()
from kettlewell import clock
from kettlewell.records.models import Entry
later = Entry.objects.filter(received_at__gt=clock.now() + timedelta(hours=3))
told = {"written": Counter(later.values_list("kind", flat=True))}
"""
ZONE = ZoneInfo("Europe/London")


@dataclass(frozen=True)
class Server:
    """Where the program is, who can sign in, and what a browser kept of each who did."""

    address: str
    people: dict = field(default_factory=dict)
    kept: dict = field(default_factory=dict)
    ids: dict = field(default_factory=dict)
    code: str = ""
    going: str = GOING_ON


@pytest.fixture(scope="module")
def chromium():
    """Return a browser, closed with its module: its event loop would outlive it, and Django refuses one."""
    if CHROMIUM is None:
        pytest.fail("Chromium is not installed: make test installs it where it can")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def marrowby_home(tmp_path_factory):
    """Return a way to have the invented canteen in a home, and more in it, with what is told of it."""
    seeded = tmp_path_factory.mktemp("seeded")
    told = run(seeded, SEED + TELL)

    def home_of(home, more=""):
        shutil.copytree(seeded, home, dirs_exist_ok=True)
        return told | (run(home, SEEDED + more + TELL) if more else {})

    return home_of


@pytest.fixture(scope="session")
def marrowby_server(tmp_path_factory, marrowby_home):
    """The invented canteen, served."""
    home = tmp_path_factory.mktemp("marrowby")
    yield from served(home, marrowby_home(home))


@pytest.fixture(scope="session")
def untouched_server(tmp_path_factory, marrowby_home):
    """The invented canteen on its bad day, in which no test writes anything."""
    home = tmp_path_factory.mktemp("untouched")
    yield from served(home, marrowby_home(home))


@pytest.fixture(scope="session")
def filled_server(tmp_path_factory, marrowby_home):
    """The invented canteen with something to see at every address."""
    home = tmp_path_factory.mktemp("filled")
    yield from served(home, marrowby_home(home, FILL))


@pytest.fixture(scope="session")
def after_lunch_server(tmp_path_factory, marrowby_home):
    """The invented canteen after lunch of the day after: nothing is read that day, nothing written down."""
    home = tmp_path_factory.mktemp("after-lunch")
    yield from served(home, marrowby_home(home, ALL_AT_WORK), going=next_day_at(14, 45))


@pytest.fixture
def next_day(tmp_path, marrowby_home):
    """Return the invented canteen on the day after, as a server at each time of it that is asked for.

    All its fryers work at lunch and at dinner.
    """
    told = marrowby_home(tmp_path, ALL_AT_WORK)

    @contextmanager
    def at(hour, minute):
        with contextmanager(served)(tmp_path, told, going=next_day_at(hour, minute)) as server:
            yield server

    return at


@pytest.fixture
def written_next_day(tmp_path):
    """Return how many entries of each kind stand that were written after the moment of the tests."""
    return lambda: run(tmp_path, WRITTEN + TELL)["written"]


@pytest.fixture
def empty_server(tmp_path):
    """A server that nobody has set up yet."""
    yield from served(tmp_path)


@pytest.fixture(params=list(product(SIZES, ("light", "dark"))), ids="-".join)
def view(request):
    """Each size of screen in each scheme of colours, as ``browse`` takes it."""
    size, scheme = request.param
    return {"size": size, "scheme": scheme}


@pytest.fixture
def browse(chromium, request):
    """Return a page before which somebody sits, signed in or not; nothing it asks for may be elsewhere."""
    contexts, asked, errors = [], [], []

    def page_of(sign_in="", *, at=None, size="phone", scheme="light", language="en-GB"):
        at = at or request.getfixturevalue("marrowby_server")
        context = chromium.new_context(
            storage_state=at.kept.get(sign_in),
            base_url=at.address,
            viewport=SIZES[size],
            color_scheme=scheme,
            locale=language,
            has_touch=size == "phone",
            reduced_motion="reduce",  # a colour on its way to another is neither
        )
        contexts.append(context)
        context.clock.install(time=clock.running() + clock.shift(at.going))
        page = context.new_page()
        page.on("request", lambda sent: asked.append((sent.url, at.address)))
        page.on("console", lambda said: errors.append(said) if said.type == "error" else None)
        if sign_in:
            at.kept[sign_in] = signed_in(page, at.people[sign_in])
        return page

    yield page_of
    for context in contexts:
        context.close()
    assert [url for url, home in asked if not url.startswith(home)] == []
    assert [said.text for said in errors if not of_a_page(said)] == []


def of_a_page(said):
    """Tell whether an error is the status of a page: a test that wants another status looks itself."""
    return "server responded with a status" in said.text and "/static/" not in said.location["url"]


def signed_in(page, person):
    """Come in as somebody, with name and password the first time; return what the browser keeps of it."""
    page.goto("/")
    if "/sign-in/" in page.url:
        enter(page, person)
    return page.context.storage_state()


def enter(page, person):
    """Sign in with name and password."""
    page.locator("input[name=username]").fill(person["sign_in"])
    page.locator("input[name=password]").fill(person["password"])
    page.locator("main form button").first.click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)


def next_day_at(hour, minute):
    """Return how a clock goes that shows a time of the day after."""
    day = clock.now().astimezone(ZONE).date() + timedelta(days=1)
    moment = datetime.combine(day, dt.time(hour, minute), ZONE)
    return f"{(moment - clock.running()).total_seconds():+.3f}"


def environment(home, going=GOING_ON):
    kept = without_settings(os.environ) | {clock.SETTING: going}
    kept.pop("DJANGO_SETTINGS_MODULE", None)
    paths = [str(SUPPORT), *filter(None, [kept.get("PYTHONPATH")])]
    return {**kept, "KETTLEWELL_HOME": str(home), "PYTHONPATH": os.pathsep.join(paths)}


def run(home, script):
    """Return what a script tells, run in a home."""
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, env=environment(home), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def served(home, told=None, going=GOING_ON):
    """Yield a server whose clock goes on from a moment, with what is told of its kitchen."""
    port = free_port()
    command = [sys.executable, "-c", MAIN, "serve", "--port", str(port)]
    with (
        (home / "server.log").open("w") as log,
        subprocess.Popen(command, env=environment(home, going), stdout=log, stderr=log) as server,
    ):
        try:
            wait_for(f"http://127.0.0.1:{port}/sign-in/", server, home)
            code = re.search("this code: (.+)", (home / "server.log").read_text())
            yield Server(
                address=f"http://127.0.0.1:{port}", code=code[1] if code else "", going=going, **(told or {})
            )
        finally:
            server.terminate()


def wait_for(address, server, home):
    for _ in range(240):
        try:
            with urllib.request.urlopen(address, timeout=10):  # noqa: S310 - our own server
                return
        except urllib.error.HTTPError:
            break
        except OSError:
            assert server.poll() is None, (home / "server.log").read_text()
            time.sleep(0.25)
    pytest.fail((home / "server.log").read_text())
