"""The pictures that a browser takes for the README are of today's screens: else ``tools/pictures.py``."""

import json

import pytest
from pictured import TOLD, look

pytestmark = [pytest.mark.browser, pytest.mark.slow]


def test_the_screens_say_what_their_pictures_show(chromium, tmp_path):
    assert look(chromium, tmp_path / "home") == json.loads(TOLD.read_text("utf-8"))
