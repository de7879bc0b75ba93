"""Why a fryer has no answer, in a sentence."""

from kettlewell.core.outlook.values import Lack, Unanswered
from kettlewell.telling.limits import NOTHING_JUDGED
from kettlewell.telling.message import N_, Message

LACKS = {
    Lack.SERVICE: N_("{fryer}: no service of the week names it; say when it fries."),
    Lack.LIMIT: NOTHING_JUDGED,
}


def lack_message(unanswered: Unanswered) -> Message:
    """Return what a fryer lacks that has no answer."""
    return Message(text=LACKS[unanswered.lacks], values={"fryer": unanswered.name})
