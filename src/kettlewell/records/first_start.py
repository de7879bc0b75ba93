"""The first start of a server: who sets it up has seen what it printed on its own machine."""

from base64 import b32encode

from django.core.exceptions import ValidationError
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.translation import gettext_lazy as _

CODE_BYTES = 10


class WrongCodeError(ValidationError):
    """A code that is not the one of the first start."""

    def __init__(self) -> None:
        """Say where the right one stands."""
        super().__init__({"code": _("This is not the code that the server printed where it was started.")})


def set_up_code() -> str:
    """Return the code of the first start, made from the server's secret; void once somebody is there."""
    digest = salted_hmac("kettlewell.records.first_start", "set-up", algorithm="sha256").digest()
    letters = b32encode(digest[:CODE_BYTES]).decode().casefold()
    return "-".join(letters[start : start + 4] for start in range(0, len(letters), 4))


def check_set_up_code(typed: str) -> None:
    """Raise WrongCodeError for another code than that of the first start; blanks and capitals matter not."""
    bare = "".join(typed.split()).casefold().replace("-", "")
    if not constant_time_compare(bare, set_up_code().replace("-", "")):
        raise WrongCodeError
