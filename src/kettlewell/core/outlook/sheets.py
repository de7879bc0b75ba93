"""The sheets of a wall card: each holds for one service, the last for the first of the next day."""

from collections.abc import Collection, Iterable
from datetime import datetime
from zoneinfo import ZoneInfo

from kettlewell.book import Entry, history_of
from kettlewell.core.belief.walk import Origin, Settings
from kettlewell.core.outlook.assess import Answer, answer


def card_sheets(
    settings: Settings,
    entries: Iterable[Entry],
    *,
    now: datetime,
    since: Origin = None,
    of: Collection[str] | None = None,
) -> tuple[Answer, ...]:
    """Return the answers that a wall card made ``now`` is told from, one a sheet.

    A sheet holds until the first of its cards expires; the next is the answer of that moment, by
    the same entries: what a reading taken then leads to, the services up to then as usual. The last
    is the one of the next day's first service. Raises ValueError as ``answer`` does.
    """
    history, written = history_of(settings), [entry for entry in entries if entry.at <= now]
    zone = ZoneInfo(history.at(now).timezone)
    found = answer(settings, written, now=now, since=since, of=of)
    sheets = [found]
    while found.assessments:
        first = min(found.assessments, key=lambda told: told.card.expires_at)
        if first.forecast[0].begins_at.astimezone(zone).date() > now.astimezone(zone).date():
            break
        found = answer(settings, written, now=first.card.expires_at, since=since, of=of)
        sheets.append(found)
    return tuple(sheets)
