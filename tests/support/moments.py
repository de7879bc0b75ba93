"""The moment at which the tests take place: the program's clock stands still in them.

``make moments`` has the quick tests take place at eight others, each in another zone of the machine.
"""

import os

from kettlewell import clock

AFTER_DINNER = "2026-11-15T21:30:00+00:00"  # where the log of Marrowby ends, a Sunday
os.environ.setdefault(clock.SETTING, AFTER_DINNER)


def without_settings(environment):
    """Return an environment for a process of its own: none of the program's settings, but the same moment."""
    return {
        name: value
        for name, value in environment.items()
        if name == clock.SETTING or not name.startswith("KETTLEWELL_")
    }
