"""Why a fryer has no answer, in a sentence."""

from collections.abc import Iterator

from kettlewell.book import Kitchen, find
from kettlewell.core.limits import judge_limits
from kettlewell.core.outlook.values import Lack, Unanswered
from kettlewell.telling.limits import NOTHING_JUDGED, limit_messages
from kettlewell.telling.message import N_, Message
from kettlewell.telling.words import Reader

NO_ANSWER = N_("No answer yet: call the chef")
LACKS = {
    Lack.SERVICE: N_("No service of the week names this fryer: say when it fries."),
    Lack.LIMIT: NOTHING_JUDGED,
}


def lack_message(unanswered: Unanswered) -> Message:
    """Return what a fryer lacks that has no answer."""
    return Message(text=LACKS[unanswered.lacks])


def lacking(unanswered: Unanswered, kitchen: Kitchen, reader: Reader) -> Iterator[str]:
    """Yield what a fryer lacks, and what was made of each limit where none judges its oil."""
    yield reader.tell(lack_message(unanswered))
    if unanswered.lacks is Lack.LIMIT:
        limits = judge_limits(kitchen, find(kitchen.fryers, unanswered.fryer))
        yield from map(reader.tell, limit_messages(limits))
