"""The unit file for a small box that is always on."""

import re
import shutil
import subprocess
from configparser import RawConfigParser
from pathlib import Path

import pytest

from kettlewell.cli import commands

UNIT = Path(__file__).parents[2] / "contrib" / "kettlewell.service"
ANALYZE = shutil.which("systemd-analyze")
MOST_EXPOSED = 2.0  # of 10; without any hardening it is 9.6


@pytest.fixture
def service():
    """What the unit says of the service, the last of each key."""
    unit = RawConfigParser(strict=False)
    unit.optionxform = str
    unit.read(UNIT, "utf-8")
    return unit["Service"]


def test_it_starts_a_command_that_there_is(service):
    _program, name, *words = service["ExecStart"].split()
    serve = commands.app.commands[name]
    assert {word for word in words if word.startswith("--")} <= {
        opt for param in serve.params for opt in param.opts
    }


def test_the_home_is_the_folder_that_the_service_may_write_into(service):
    assert service["Environment"] == f"KETTLEWELL_HOME=/var/lib/{service['StateDirectory']}"
    assert service["ProtectSystem"] == "strict"


@pytest.mark.skipif(ANALYZE is None, reason="there is no systemd-analyze here")
def test_systemd_knows_every_line_and_finds_it_shut(tmp_path):
    here = tmp_path / UNIT.name
    here.write_text(re.sub("(?m)^ExecStart=.*", "ExecStart=/bin/true", UNIT.read_text("utf-8")), "utf-8")
    known = subprocess.run([ANALYZE, "verify", here], capture_output=True, text=True, check=False)
    assert UNIT.name not in known.stderr
    judged = subprocess.run(
        [ANALYZE, "security", "--offline=true", here], capture_output=True, text=True, check=False
    )
    (exposed,) = re.findall(r"Overall exposure level for .*: ([\d.]+)", judged.stdout)
    assert float(exposed) < MOST_EXPOSED
