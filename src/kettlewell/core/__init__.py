"""The pure core: from a kitchen and its day book to what to do with every bath.

No clock, no random state of its own, no files but packaged data.
"""

from kettlewell.core.belief.history import Course, PastTpc, course, history
from kettlewell.core.belief.replay import carried_over, checkpoint
from kettlewell.core.belief.walk import Checkpoint
from kettlewell.core.outlook.assess import assess

__all__ = [
    "Checkpoint",
    "Course",
    "PastTpc",
    "assess",
    "carried_over",
    "checkpoint",
    "course",
    "history",
]
