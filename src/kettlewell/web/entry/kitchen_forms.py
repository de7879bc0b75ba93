"""The forms of what is written of the whole kitchen."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from kettlewell.records import kinds
from kettlewell.records.checks import TOO_LARGE
from kettlewell.records.photos import MOST_BYTES
from kettlewell.web.entry.forms import OnScreen


class ReceiptField(forms.FileField):
    """A picture of a receipt, or none; what it is the day book tells by its first bytes."""

    def __init__(self) -> None:
        """Ask a phone for what is taken."""
        super().__init__(
            required=False,
            label=_("Receipt"),
            help_text=_("A photo or a PDF, up to 3 MB."),
            widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,application/pdf"}),
        )

    def to_python(self, data: Any) -> Any:  # noqa: ANN401 - Django's
        """Return the file that was sent; raises ValidationError for one that is too large."""
        if data and data.size > MOST_BYTES:
            raise ValidationError(TOO_LARGE)
        return super().to_python(data)


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


@kinds.fields_of("collected")
class CollectedForm(OnScreen):
    """Old oil was handed over."""

    unasked = ()
    aside = (*OnScreen.aside, "photo")

    def offer(self) -> None:
        """Ask for the receipt, but not once more where it is corrected."""
        self.fields["waste_code"].help_text = _(
            "20 01 25 is edible oil and fat in the list of the EU. Elsewhere the local code."
        )
        self.fields["paid"].help_text = _("With a minus where the kitchen paid.")
        if "note" not in self.initial:
            self.fields["photo"] = ReceiptField()

    def clean(self) -> dict[str, Any]:
        """Take a currency in small letters too."""
        cleaned = super().clean()
        if cleaned.get("currency"):
            cleaned["currency"] = cleaned["currency"].upper()
        return cleaned
