"""The built wheel, in an environment with what it requires and nothing else."""

import http.client
import os
import re
import subprocess
import sys
import venv
from contextlib import closing
from importlib.metadata import distribution, distributions
from pathlib import Path

import pytest
from moments import without_settings
from packaging.requirements import Requirement
from ports import free_port
from processes import serving

from kettlewell import __version__

ROOT = Path(__file__).parents[2]
NOT_IMPORTED = {"..", "__pycache__"}  # programs, and what Python keeps for modules that stand alone
pytestmark = pytest.mark.slow


def required(there, extras=frozenset(), known=frozenset()):
    """Return the names of all distributions that one requires, and the extras of each, beside those known."""
    for line in there.requires or ():
        need = Requirement(line)
        asked = need.name.lower(), frozenset(need.extras)
        holds = need.marker is None or any(need.marker.evaluate({"extra": each}) for each in ("", *extras))
        if holds and asked not in known:
            known = required(distribution(need.name), asked[1], known | {asked})
    return known


@pytest.fixture(scope="module")
def bare(tmp_path_factory):
    """An environment into which the wheel was installed; return its folder of programs."""
    place = tmp_path_factory.mktemp("bare")
    hatch = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", place / "dist"]
    subprocess.run(hatch, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = (place / "dist").iterdir()
    venv.create(place / "env", with_pip=False)
    (packages,) = (place / "env").glob("lib/python*/site-packages")
    python = place / "env" / "bin" / "python"
    install = [sys.executable, "-m", "pip", "--python", python, "install", "--no-index", "--no-deps", wheel]
    subprocess.run(install, check=True, capture_output=True)
    (installed,) = distributions(name="kettlewell", path=[str(packages)])
    for name, _extras in required(installed):
        there = distribution(name)
        for top in {file.parts[0] for file in there.files} - NOT_IMPORTED:
            link = packages / top
            if not link.exists():
                link.symlink_to(there.locate_file(top))
    return place / "env" / "bin"


def said(program, *words, folder):
    env = {name: value for name, value in without_settings(os.environ).items() if name != "PYTHONPATH"}
    command = [str(program), *words]
    done = subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_environment_holds_what_is_required_and_no_tool_of_ours(bare, tmp_path):
    find = "import importlib.util as u; print([bool(u.find_spec(n)) for n in ('django', 'numpy', 'pytest')])"
    assert said(bare / "python", "-c", find, folder=tmp_path) == "[True, True, False]\n"
    where = said(bare / "python", "-c", "import kettlewell; print(kettlewell.__file__)", folder=tmp_path)
    assert where.startswith(str(bare.parent))


def test_commands_work_with_the_data_that_came_along(bare, tmp_path):
    assert said(bare / "kettlewell", "--version", folder=tmp_path) == f"Kettlewell {__version__}\n"
    place = "from kettlewell.folder import MARROWBY; print(MARROWBY)"
    marrowby = said(bare / "python", "-c", place, folder=tmp_path).strip()
    answer = said(bare / "kettlewell", "assess", marrowby, "--at", "15.11.2026 21:30", folder=tmp_path)
    assert answer.startswith("Marrowby ferry terminal, ")


def test_pages_come_with_their_style_and_in_german(bare, tmp_path):
    port = free_port()
    with serving(tmp_path / "home", port, python=str(bare / "python"), PYTHONPATH=""):

        def fetched(path):
            with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
                connection.request("GET", path, headers={"Accept-Language": "de"})
                return connection.getresponse().read().decode("utf-8")

        page = fetched("/set-up/")
        assert '<html lang="de">' in page
        assert "Küche" in page
        (style,) = re.findall(r'href="(/static/web/app\.[0-9a-f]+\.css)"', page)
        assert "font-face" in fetched(style)
        assert fetched("/health/") == "ok\n"
