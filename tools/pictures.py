"""Take the pictures of the README anew: ``python tools/pictures.py``, after a screen in them has changed.

They show Marrowby on the evening on which its log ends, whenever they are taken. Needs Chromium.
"""

import json
import os
import shutil
import sys
import tempfile
from pathlib import Path

import django
from playwright.sync_api import Locator, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "support"))
os.environ["DJANGO_SETTINGS_MODULE"] = "server_settings"
django.setup()

from pictured import AROUND, FLAGS, PICTURES, TOLD, drawings, look  # noqa: E402 - of the tests, which stand apart


def take(shown: Locator, name: str) -> None:
    """Keep a part of a page as it is shown, with a margin at its sides."""
    box = shown.bounding_box()
    if box is None:
        raise SystemExit(f"{name}: nothing is shown")
    whole = {
        "x": box["x"] - AROUND,
        "y": box["y"],
        "width": box["width"] + 2 * AROUND,
        "height": box["height"],
    }
    shown.page.screenshot(path=PICTURES / name, clip=whole, full_page=True, animations="disabled")


PICTURES.mkdir(exist_ok=True)
for file, drawn in drawings().items():
    (PICTURES / file).write_text(drawn, "utf-8")
with sync_playwright() as playwright, tempfile.TemporaryDirectory() as home:
    browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
    told = look(browser, Path(home) / "home", take)
    browser.close()
TOLD.write_text(json.dumps(told, indent=1, ensure_ascii=False) + "\n", "utf-8")
