"""The clocks of a kitchen's phones, by which that of the server can be found wrong."""

from datetime import datetime, timedelta

from django.utils.crypto import salted_hmac

from kettlewell.records.checks import AHEAD_AT_MOST
from kettlewell.records.models import Kitchen, PhoneClock

KEPT = timedelta(days=1)
HEARD_LAST = 5  # three of them are more than the others, however many phones there are
AGREE_WITHIN_S = 120
APART_S = AHEAD_AT_MOST.total_seconds()
SAME_WITHIN_S = 30
SAME_FOR = timedelta(hours=1)


def phone_heard(kitchen: Kitchen, phone: str, fast: timedelta, now: datetime) -> None:
    """Keep by how much the clock of a phone is fast of the server's, where that is news."""
    digest = salted_hmac("kettlewell.records.phones", phone, algorithm="sha256").hexdigest()
    fast_s = fast.total_seconds()
    same = (fast_s - SAME_WITHIN_S, fast_s + SAME_WITHIN_S)
    heard = PhoneClock.objects.filter(kitchen=kitchen, phone=digest)
    if heard.filter(fast_s__range=same, heard_at__range=(now - SAME_FOR, now)).exists():
        return
    PhoneClock.objects.bulk_create(
        [PhoneClock(kitchen=kitchen, phone=digest, fast_s=fast_s, heard_at=now)],
        update_conflicts=True,
        unique_fields=("kitchen", "phone"),
        update_fields=("fast_s", "heard_at"),
    )


def server_slow(kitchen: Kitchen, now: datetime) -> timedelta:
    """Return by how much the server's clock is slow, by three phones that agree; nothing where none do."""
    heard = PhoneClock.objects.filter(kitchen=kitchen, heard_at__range=(now - KEPT, now))
    fast_s = sorted(heard.order_by("-heard_at").values_list("fast_s", flat=True)[:HEARD_LAST])
    threes = zip(fast_s, fast_s[1:], fast_s[2:], strict=False)
    agreed = [
        middle
        for least, middle, most in threes
        if most - least <= AGREE_WITHIN_S and (least > APART_S or most < -APART_S)
    ]
    return timedelta(seconds=agreed[0]) if agreed else timedelta()


def phones_forget(now: datetime) -> None:
    """Forget the phones that were heard too long ago to count, or by a clock that was ahead."""
    PhoneClock.objects.exclude(heard_at__range=(now - KEPT, now)).delete()
