"""A real server, as ``kettlewell serve`` runs it, and a real Chromium before it."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass

import pytest
from playwright.sync_api import sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
PHONE, DESKTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
MAIN = "from kettlewell.cli import main; main()"
SEED = """
import dataclasses, json
from kettlewell.cli import server
server.start()
from django.utils import timezone
from kettlewell.bridge import demo_kitchen
_, people = demo_kitchen(timezone.now())
print(json.dumps({one.sign_in: dataclasses.asdict(one) for one in people}))
"""


@dataclass(frozen=True)
class Server:
    """Where the program is, and who can sign in."""

    address: str
    people: dict


@pytest.fixture(scope="module")
def chromium():
    """Return a browser, closed with its module: an open one leaves an event loop that Django refuses to work in."""
    if CHROMIUM is None:
        pytest.fail("Chromium is not installed: make test installs it where it can")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def marrowby_server(tmp_path_factory):
    """The invented canteen, served."""
    home = tmp_path_factory.mktemp("marrowby")
    people = json.loads(run(home, SEED).splitlines()[-1])
    yield from served(home, people)


@pytest.fixture
def empty_server(tmp_path):
    """A server that nobody has set up yet."""
    yield from served(tmp_path, {})


@pytest.fixture
def browse(chromium, marrowby_server):
    """Return a page before which somebody sits, signed in or not; nothing it asks for may be elsewhere."""
    contexts, elsewhere = [], []

    def page_of(sign_in=None, *, at=marrowby_server, screen=PHONE, dark=False, language="en-GB"):
        scheme = "dark" if dark else "light"
        context = chromium.new_context(
            base_url=at.address,
            viewport=screen,
            color_scheme=scheme,
            locale=language,
            has_touch=screen is PHONE,
        )
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda asked: elsewhere.append(asked.url) if at.address not in asked.url else None)
        page.on("console", lambda said: elsewhere.append(said.text) if said.type == "error" else None)
        if sign_in:
            enter(page, at.people[sign_in])
        return page

    yield page_of
    for context in contexts:
        context.close()
    assert elsewhere == []


def enter(page, person):
    """Sign in with name and password."""
    page.goto("/sign-in/")
    page.locator("input[name=username]").fill(person["sign_in"])
    page.locator("input[name=password]").fill(person["password"])
    page.locator("main form button").first.click()
    page.wait_for_url("**/k/**")


def environment(home):
    kept = {name: value for name, value in os.environ.items() if not name.startswith("KETTLEWELL_")}
    kept.pop("DJANGO_SETTINGS_MODULE", None)
    return {**kept, "KETTLEWELL_HOME": str(home)}


def run(home, script):
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, env=environment(home), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def served(home, people):
    port = free_port()
    command = [sys.executable, "-c", MAIN, "serve", "--port", str(port)]
    log = (home / "server.log").open("w")
    with subprocess.Popen(command, env=environment(home), stdout=log, stderr=log) as server:
        try:
            wait_for(f"http://127.0.0.1:{port}/sign-in/", server, home)
            yield Server(address=f"http://127.0.0.1:{port}", people=people)
        finally:
            server.terminate()
    log.close()


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


def free_port():
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return found.getsockname()[1]
