"""The pure core: from a kitchen and its day book to what to do with every bath.

No clock, no random state of its own, no files but packaged data.
"""

from kettlewell.core.belief.history import PastTpc, history
from kettlewell.core.belief.replay import carried_over, checkpoint
from kettlewell.core.belief.walk import Checkpoint
from kettlewell.core.outlook.assess import assess

__all__ = ["Checkpoint", "PastTpc", "assess", "carried_over", "checkpoint", "history"]
