"""The first start of a server: who sets it up has seen what it printed on its own machine."""

from django.core.exceptions import ValidationError
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.translation import gettext_lazy as _

from kettlewell.records.lettered import bare, lettered

CODE_BYTES = 10


class WrongCodeError(ValidationError):
    """A code that is not the one of the first start."""

    def __init__(self) -> None:
        """Say where the right one stands."""
        super().__init__({"code": _("This is not the code that the server printed where it was started.")})


def set_up_code() -> str:
    """Return the code of the first start, made from the server's secret; void once somebody is there."""
    digest = salted_hmac("kettlewell.records.first_start", "set-up", algorithm="sha256").digest()
    return lettered(digest[:CODE_BYTES])


def check_set_up_code(typed: str) -> None:
    """Raise WrongCodeError for another code than that of the first start; blanks and capitals matter not."""
    if not constant_time_compare(bare(typed), bare(set_up_code())):
        raise WrongCodeError
