"""How long the book for an inspection takes, and how much memory: eight fryers, two years of entries.

python bench/inspection_book.py [DAYS]    a minute

Asked: two years of Marrowby, which has five fryers, in at most 5 s and 500 MB. Beside it the line is asked
for, which computes what stands.
"""

import resource
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from load_server import seed

TWO_YEARS_DAYS = 731


def main(days: int = TWO_YEARS_DAYS) -> None:
    """Fill a day book, ask for the book of all its days, and print what it took."""
    with tempfile.TemporaryDirectory() as folder:
        seed(Path(folder, "home"), days, 1)
        from django.test import Client

        from kettlewell import clock
        from kettlewell.records.models import Entry, Person
        from kettlewell.web.inspection.views import PARTS

        browser = Client(headers={"host": "localhost"})
        browser.force_login(Person.objects.get(), backend="django.contrib.auth.backends.ModelBackend")
        since = clock.now().date() - timedelta(days=days + 1)
        asked = "&".join([f"since={since}", *(f"parts={key}" for key in PARTS)])
        before_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        for name, path in (("the line", "/k/bench/"), ("the book", f"/k/bench/inspection/book/?{asked}")):
            begun, worked = time.perf_counter(), time.process_time()
            answer = browser.get(path)
            took_s, worked_s = time.perf_counter() - begun, time.process_time() - worked
            size_kb = len(answer.content) / 1000
            print(
                f"{name}: {answer.status_code}, {took_s:.1f} s ({worked_s:.1f} s of work), {size_kb:.0f} kB"
            )
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        print(f"{Entry.objects.count()} entries; {peak_mb:.0f} MB at most, {before_mb:.0f} MB before")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
