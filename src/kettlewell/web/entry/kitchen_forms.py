"""The forms of what is written of the whole kitchen."""

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.records import kinds
from kettlewell.web.entry.forms import OnScreen


@kinds.fields_of("review")
class ReviewForm(OnScreen):
    """The records of some days were looked through."""

    def offer(self) -> None:
        """Ask the phone for its calendar."""
        for name in ("first_day", "last_day"):
            self.fields[name].widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


@kinds.fields_of("recall")
class RecallForm(OnScreen):
    """A lot of oil was recalled."""

    def offer(self) -> None:
        """Have the lots that were named before suggested."""
        self.fields["delivery"].widget.attrs |= {"list": "lots", "autocomplete": "off"}
        self.fields["delivery"].help_text = _("As it stands on the pack or the delivery note.")


@kinds.fields_of("training")
class TrainingForm(OnScreen):
    """Somebody was trained."""

    def offer(self) -> None:
        """Name who works here."""
        self.choose("trained", self.people)
        self.fields["trained_in"].widget = forms.CheckboxSelectMultiple(choices=kinds.TRAINED_IN)
