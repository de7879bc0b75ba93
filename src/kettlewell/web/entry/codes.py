"""The check code of a day book as people read and type it: in groups of four."""

from django.utils.translation import gettext as _

from kettlewell.records.models import Kitchen

GROUP = 4
TYPED = 4 * GROUP  # so many digits are enough to look for an entry by


def in_groups(head: str) -> str:
    """Return a check code in groups that can be read out and typed."""
    return " ".join(head[begin : begin + GROUP] for begin in range(0, len(head), GROUP))


def beginning(head: str) -> str:
    """Return what of a check code is typed to look for it."""
    return in_groups(head[:TYPED])


def noted(kitchen: Kitchen) -> str:
    """Return up to where a day book is, for a sheet of paper to keep."""
    told = {"number": kitchen.head_seq, "head": beginning(kitchen.head_hash)}
    return _("Day book up to entry %(number)s, check code %(head)s") % told
