"""Which fryers were read today."""

from collections.abc import Iterable

from kettlewell.book import Fryer
from kettlewell.core.outlook.values import Assessment
from kettlewell.records.models import Entry
from kettlewell.records.selectors import written_since
from kettlewell.web.common import Visit


def readings_today(visit: Visit) -> dict[str, Entry]:
    """Return the last reading of today at each fryer that has one."""
    written = written_since(visit.kitchen, ["reading"], visit.reader.midnight)
    return {entry.fryer: entry for entry in written}


def still_to_do(fryers: Iterable[Fryer], told: Iterable[Assessment], done: Iterable[str]) -> list[Fryer]:
    """Return the fryers in use at which something is not done; ``told`` is what stands of them."""
    idle = {assessment.fryer for assessment in told if not assessment.in_use}
    return [fryer for fryer in fryers if fryer.key not in idle | set(done)]
