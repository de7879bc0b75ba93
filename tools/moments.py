"""Run tests at eight awkward moments: none may depend on the day, the hour or the zone it runs at.

python tools/moments.py [PYTEST'S ARGUMENTS]    those below unless given, two moments at once

At each the program's clock stands still, and the machine stands in another zone.
"""

import os
import subprocess
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
AT_ONCE = 2
MOMENTS = {
    "a Saturday evening": ("2026-11-28T18:52:00+00:00", "Europe/London"),
    "a month's end": ("2027-04-30T21:15:00+00:00", "Europe/Zurich"),
    "29 February": ("2028-02-29T10:00:00+00:00", "America/St_Johns"),
    "the night the clocks go forward": ("2027-03-28T00:59:30+00:00", "Europe/London"),
    "the night the clocks go back": ("2027-10-31T01:15:00+00:00", "Europe/London"),
    "New Year": ("2027-01-01T00:00:00+00:00", "Pacific/Auckland"),
    "just before midnight UTC": ("2026-12-02T23:59:58+00:00", "Pacific/Pago_Pago"),
    "just after midnight UTC": ("2026-12-03T00:00:02+00:00", "Asia/Kathmandu"),
}
# What is said of now, today and next: by the screens, the commands, the day book. All else is told the
# time, so that one moment is as good as another; "make quick" at any of them says more.
ASKING = [
    "tests/records/test_access.py",
    "tests/records/test_people.py",
    "tests/records/test_selectors.py",
    "tests/web/test_line.py",
    "tests/web/test_meters.py",
    "tests/web/test_reading.py",
    "tests/web/test_round.py",
]


def at_moment(name: str, arguments: Sequence[str]) -> tuple[str, subprocess.CompletedProcess[str]]:
    """Return the moment's name and how the tests ended in it."""
    now, zone = MOMENTS[name]
    env = {**os.environ, "KETTLEWELL_NOW": now, "TZ": zone}
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-p", "no:cacheprovider", *arguments]
    return name, subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, check=False)  # noqa: S603 - our own


def main(arguments: Sequence[str]) -> int:
    """Print how each moment ended; return 1 where a test failed in one."""
    chosen = arguments or ["-m", "not slow and not browser", *ASKING]
    failed = False
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for name, done in pool.map(lambda each: at_moment(each, chosen), MOMENTS):
            last = done.stdout.splitlines()[-1:] or [done.stderr]
            print(f"{name}: {last[0]}", flush=True)
            if done.returncode:
                failed = True
                print(done.stdout, done.stderr, flush=True)
    return int(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
