"""Between the two pages of the sign-in: whose password was right, and whose code is asked now."""

from django.http import HttpRequest
from django.utils.crypto import constant_time_compare

from kettlewell import clock
from kettlewell.records.models import Person
from kettlewell.records.roster import account

HALF = "half"
LONGEST_S = 10 * 60


def half_keep(request: HttpRequest, person: Person) -> None:
    """Remember whose password was right, in a session that nobody knew before."""
    request.session.cycle_key()
    request.session[HALF] = {
        "person": str(person.pk),
        "bound": person.get_session_auth_hash(),
        "at_s": int(clock.now().timestamp()),
    }


def half_signed_in(request: HttpRequest) -> Person | None:
    """Return whose code is asked; None where nobody's is, any more or with this password."""
    half = request.session.get(HALF)
    if half is None or int(clock.now().timestamp()) - half["at_s"] > LONGEST_S:
        return None
    person = account(half["person"])
    same = person is not None and constant_time_compare(half["bound"], person.get_session_auth_hash())
    return person if same else None


def half_forget(request: HttpRequest) -> None:
    """Forget it, once the code was right."""
    request.session.pop(HALF, None)
