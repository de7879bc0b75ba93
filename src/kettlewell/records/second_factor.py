"""The code asked after the password: one by RFC 6238 from an app, or a recovery code that works once."""

import secrets
from datetime import datetime
from hashlib import sha256
from hmac import compare_digest

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _
from pyotp import TOTP, random_base32

from kettlewell.records.lettered import bare, lettered
from kettlewell.records.models import Person, SecondFactor

ISSUER = "Kettlewell"
SKEW_STEPS = 1
RECOVERY_CODES = 10
RECOVERY_BYTES = 15


class WrongCodeError(ValidationError):
    """A code that is not the app's, or that was used."""

    def __init__(self) -> None:
        """Say what to do."""
        told = _(
            "This code is wrong, or was used before. Take the next one. "
            "If that is wrong too, look at the clock of the phone."
        )
        super().__init__({"code": ValidationError(told, code="wrong_code")})


def has_factor(person: Person) -> bool:
    """Tell whether somebody is asked for a code after the password."""
    return SecondFactor.objects.filter(person=person).exists()


def recovery_left(person: Person) -> int:
    """Return how many recovery codes somebody has left."""
    factor = SecondFactor.objects.filter(person=person).first()
    return len(factor.recovery) if factor else 0


def secret_new() -> str:
    """Return a secret to share with an app: 160 bits, in letters."""
    return random_base32()


def address_of(secret: str, person: Person) -> str:
    """Return the address by which an app takes a secret over."""
    return TOTP(secret).provisioning_uri(name=person.sign_in, issuer_name=ISSUER)


def step_of(secret: str, typed: str, now: datetime) -> int | None:
    """Return the step of time that a code is of, now or one to either side; None where it is of neither."""
    totp = TOTP(secret)
    present, code = totp.timecode(now), bare(typed).encode()
    near = range(present - SKEW_STEPS, present + SKEW_STEPS + 1)
    return next((step for step in near if compare_digest(totp.generate_otp(step).encode(), code)), None)


def factor_add(person: Person, secret: str, typed: str, now: datetime) -> list[str]:
    """Ask somebody for a code from now on; return the recovery codes, of which only digests are kept.

    Raises WrongCodeError where the code is not of this secret.
    """
    step = step_of(secret, typed, now)
    if step is None:
        raise WrongCodeError
    codes = [lettered(secrets.token_bytes(RECOVERY_BYTES)) for _code in range(RECOVERY_CODES)]
    digests = [digest_of(code) for code in codes]
    SecondFactor.objects.create(person=person, secret=secret, last_step=step, recovery=digests)
    return codes


def factor_drop(person: Person) -> bool:
    """Ask somebody for no code any more; tell whether one was asked."""
    return bool(SecondFactor.objects.filter(person=person).delete()[0])


def code_use(person: Person, typed: str, now: datetime) -> bool:
    """Tell whether a code is somebody's, and see to it that it is never taken again."""
    with transaction.atomic():
        factor = SecondFactor.objects.select_for_update().filter(person=person).first()
        if factor is None:
            return False
        step, digest = step_of(factor.secret, typed, now), digest_of(typed)
        if step is not None and step > factor.last_step:
            factor.last_step = step
        elif digest in factor.recovery:
            factor.recovery.remove(digest)
        else:
            return False
        factor.save()
    return True


def digest_of(typed: str) -> str:
    """Return what is kept of a recovery code; its 120 bits need no slow hash."""
    return sha256(bare(typed).encode()).hexdigest()
