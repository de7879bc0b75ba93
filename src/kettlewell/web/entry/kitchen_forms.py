"""The forms of what is written of the whole kitchen."""

from django import forms

from kettlewell.records import kinds
from kettlewell.web.entry.forms import OnScreen


@kinds.fields_of("review")
class ReviewForm(OnScreen):
    """The records of some days were looked through."""

    def offer(self) -> None:
        """Ask the phone for its calendar."""
        for name in ("first_day", "last_day"):
            self.fields[name].widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
