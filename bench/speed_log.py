"""How fast a log of a million rows is read, and in how much memory.

python bench/speed_log.py [ROWS]    about 20 seconds
"""

import io
import resource
import sys
import time

from kettlewell.folder import MARROWBY, read_kitchen, read_log


def log_of(rows: int) -> io.BytesIO:
    """Return the demo's log again and again, each row with a note of its own, to this length."""
    header, *written = (MARROWBY / "log.csv").read_text("utf-8").splitlines()
    repeated = (f"{written[n % len(written)]} {n}" for n in range(rows))
    return io.BytesIO("\n".join([header, *repeated]).encode())


def main(rows: int = 1_000_000) -> None:
    """Print the figures."""
    setup, stream = read_kitchen(MARROWBY / "kitchen.toml"), log_of(rows)
    begun = time.process_time()
    log = read_log(stream, setup)
    taken_s = time.process_time() - begun
    held_gb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{len(log.entries)} entries and {len(log.problems)} problems from {rows} rows")
    print(f"{taken_s:.1f} s of processor time, {held_gb:.2f} GB")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
