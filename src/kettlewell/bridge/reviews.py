"""Who looks over what was done after a verdict to change, and what nobody has looked over yet."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from kettlewell.records.access import deciders
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import settled_unseen


def open_reviews(kitchen: Kitchen, now: datetime) -> list[Entry]:
    """Return what is still to be looked over by someone else than who wrote it, the oldest first."""
    may = deciders(kitchen, now)
    return [entry for entry in settled_unseen(kitchen) if may - {entry.person_id}]


def check_reviewed(kitchen: Kitchen, entry: Entry, now: datetime) -> None:
    """Raise ValidationError for a look at what was corrected since, or at one's own where others may."""
    if entry.kind != "reviewed" or entry.about is None:
        return
    if entry.replaces is None and Entry.objects.filter(replaces=entry.about).exists():
        raise ValidationError({"settled": _("This entry was corrected or undone.")})
    if entry.person_id == entry.about.person_id and deciders(kitchen, now) - {entry.person_id}:
        raise ValidationError({"settled": _("Someone else who sets the kitchen up has to look this over.")})
