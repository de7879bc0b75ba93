"""Tell anew what the model says of the weeks that tests/core/test_figures.py holds it to.

python tools/figures.py    after a change of the model that is meant to move figures; raise MODEL_VERSION too
"""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests" / "support"))

from figures import KEPT_IN, written  # noqa: E402 - of the tests, which stand apart

KEPT_IN.write_text(written(), "utf-8")
