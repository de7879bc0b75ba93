"""The pictures of the README: of Marrowby, on the evening on which its log ends."""

import json
import os
import re
import subprocess
import sys
from contextlib import contextmanager
from datetime import UTC, datetime
from html import escape
from pathlib import Path

from moments import without_settings
from ports import free_port
from processes import serving

from kettlewell.bridge.meter_pictures import meter_chart
from kettlewell.bridge.pictures import caption, life_of
from kettlewell.core import answer
from kettlewell.core.outlook.meters import meter_reports
from kettlewell.folder import MARROWBY, read_folder
from kettlewell.marks.lifeline import Labels, draw_life_line
from kettlewell.marks.theme import printed
from kettlewell.telling import reader

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"
TOLD = PICTURES / "told.json"
CODE = re.compile(r"check code( [0-9a-f]{4}){4}")  # another each time: ids are drawn
AT = datetime(2026, 11, 15, 21, 30, tzinfo=UTC)
FLAGS = ["--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--font-render-hinting=none"]
SHOWN = {"width": 1100, "height": 900}
FRYER = "F5"
SEED = """
import json
import os
from kettlewell import clock
from kettlewell.cli import server
server.start()
from kettlewell.bridge.demo import demo_kitchen
_kitchen, people = demo_kitchen(clock.now())
print(json.dumps([people[0].sign_in, people[0].password]))
"""
MARGIN, ABOVE, AROUND = 24, 70, 12
CALLS = (
    "From fresh oil on the left to the limit, a wall, on the right.",
    "The hump: where the oil probably stands today.",
    "A tick: where a coming service is expected to leave it,",
    "thinner where it is less sure to be still inside the limit.",
)


def drawings():
    """Return the pictures that need no browser, by the names of their files."""
    folder = read_folder(MARROWBY)
    kitchen, entries = folder.setup.kitchen, folder.log.entries
    words = reader(kitchen.timezone, AT, locale="en-gb")
    (bath,) = (each for each in answer(kitchen, entries, now=AT).assessments if each.fryer == FRYER)
    (report, *_) = meter_reports(kitchen, entries, now=AT, lately=entries)
    meter = meter_chart(report, report.checks[-1], kitchen, words, theme=printed)
    return {"life-line.svg": labelled(bath, words), "meter.svg": on_paper(meter)}


def labelled(bath, words):
    """Return the life line of a bath with words that say what it shows."""
    labels = Labels(fresh="fresh", now="today", limit="the limit")
    line = draw_life_line(life_of(bath), labels, caption(bath, words, "life-line"), theme=printed)
    calls = "".join(
        f'<text x="{MARGIN + 8}" y="{MARGIN + 8 + 17 * row}" font-size="12">{escape(said)}</text>'
        for row, said in enumerate(CALLS)
    )
    return on_paper(line, above=ABOVE, more=calls)


def on_paper(drawn, *, above=0, more=""):
    """Return a picture in black on a white sheet, whatever lies under it."""
    _, _, width, height = map(float, drawn.split('viewBox="')[1].split('"')[0].split())
    size = f"{width + 2 * MARGIN:g} {height + 2 * MARGIN + above:g}"
    across, down = size.split()
    inner = drawn.replace(
        "<svg ", f'<svg x="{MARGIN}" y="{MARGIN + above}" width="{width:g}" height="{height:g}" ', 1
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size}" '
        f'font-family="Atkinson Hyperlegible, Verdana, sans-serif">'
        f'<rect width="{across}" height="{down}" fill="#fff"/>{more}{inner}</svg>\n'
    )


@contextmanager
def demo_at(home, now=AT):
    """Serve the demo with a clock that stands still; yield its address and who signs in how."""
    clock = {"KETTLEWELL_NOW": now.isoformat()}
    env = {**without_settings(os.environ), **clock, "KETTLEWELL_HOME": str(home)}
    seeded = subprocess.run([sys.executable, "-c", SEED], env=env, capture_output=True, text=True, check=True)
    port = free_port()
    with serving(home, port, **clock):
        yield f"http://127.0.0.1:{port}", json.loads(seeded.stdout)


def look(browser, home, taken=None):
    """Return what the screens of the pictures say; ``taken`` is given each with the name of its file."""
    told = {}
    with demo_at(home) as (address, (sign_in, password)):
        page = browser.new_context(viewport=SHOWN, locale="en-GB", color_scheme="light").new_page()
        page.clock.set_fixed_time(AT)
        page.goto(f"{address}/sign-in/")
        page.locator("input[name=username]").fill(sign_in)
        page.locator("input[name=password]").fill(password)
        page.locator("main form button").first.click()
        page.wait_for_url("**/k/**")
        for name, screen, part in (("line.png", "", ".line"), ("wall-card.png", "card/", ".sheet")):
            page.goto(f"{address}/k/marrowby/{screen}")
            shown = page.locator(part).first
            told[name] = CODE.sub("check code …", shown.inner_text())
            if taken:
                taken(shown, name)
    return told
