"""When a bath that is drained by hand may be cool enough to be drained."""

from datetime import datetime, timedelta

from kettlewell.book import Draining
from kettlewell.core.ageing.coefficients import Coefficients
from kettlewell.core.decision import VerdictKey
from kettlewell.core.outlook.outlook import Outlook
from kettlewell.core.outlook.values import Cooling


def cooling_of(outlook: Outlook, key: VerdictKey, off_since: datetime | None) -> Cooling | None:
    """Return when a bath may be drained by hand; None where none is to be, or it is pumped.

    It is to be drained where the verdict is to change before frying, and may be once it was taken
    out of use with that oil in it, ``off_since``.
    """
    fill, by_hand = outlook.fill, outlook.fryer.draining is Draining.HAND
    off_at = off_since if outlook.out_of_order else None
    stale = off_at is not None and (fill.filled_at is None or fill.filled_at <= off_at)
    if not by_hand or fill.empty or not (stale or (outlook.in_use and key is VerdictKey.CHANGE_BEFORE)):
        return None
    return cooled(off_at, outlook.known)


def cooled(off_at: datetime | None, known: Coefficients) -> Cooling:
    """Return how long a bath cools, and from when it may be drained if it is known when it was put out."""
    low_h, high_h = known.cooling_h.value - known.cooling_h.sd, known.cooling_h.value + known.cooling_h.sd
    return Cooling(
        off_at=off_at,
        low_h=low_h,
        high_h=high_h,
        drain_from=off_at + timedelta(hours=low_h) if off_at else None,
        drain_by=off_at + timedelta(hours=high_h) if off_at else None,
    )
