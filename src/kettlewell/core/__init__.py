"""The pure core: from a kitchen and its day book to what to do with every bath.

No clock, no random state of its own, no files but packaged data.
"""

from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.belief.smoother import PastTpc, Trace, history, trace
from kettlewell.core.belief.state import State
from kettlewell.core.belief.walk import Settings, checkpoint, fits
from kettlewell.core.outlook.assess import Answer, answer, assess
from kettlewell.core.outlook.sheets import card_sheets

__all__ = [
    "Answer",
    "Coefficients",
    "PastTpc",
    "Settings",
    "State",
    "Trace",
    "answer",
    "assess",
    "card_sheets",
    "checkpoint",
    "fits",
    "history",
    "trace",
]
