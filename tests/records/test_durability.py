"""What the day book said it has written is there after a kill, and after a power cut."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = Path(__file__).parents[1] / "support" / "killed_writers.py"
KILLS = 50


@pytest.mark.slow
@pytest.mark.sqlite
@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_no_acknowledged_entry_is_lost_however_its_writers_end(seed, tmp_path):
    """Two hundred kills in all; the loss a power cut may bring is played on the copies."""
    ran = subprocess.run(
        [sys.executable, PROGRAM, str(seed), str(KILLS)],
        env={**os.environ, "KETTLEWELL_HOME": str(tmp_path)},
        stdout=subprocess.PIPE,
        text=True,
        check=True,
        timeout=300,
    )
    outcome = json.loads(ran.stdout)
    assert outcome["faults"] == []
    assert outcome["kills"] == KILLS
    assert outcome["acknowledged"] > 0
    assert outcome["cuts"] > 0, "no cut cost anything: this test tries nothing"
    assert outcome["found_out"], "a cut too far went unseen: this test sees nothing"
