"""The forms of the day book: what to show, and why something is undone."""

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.records.kinds import KINDS
from kettlewell.web.book.names import Names

KIND_NAMES = {
    "reading": _("Readings"),
    "laboratory": _("Laboratory results"),
    "senses": _("Smell and looks"),
    "top_up": _("Top-ups"),
    "care": _("Skimming, filtering, boiling out"),
    "change": _("Changes"),
    "move": _("Moves"),
    "store": _("Oil taken out and kept"),
    "return": _("Oil put back"),
    "load": _("Food fried"),
    "hot_hours": _("Hot hours"),
    "order": _("In and out of use"),
    "call": _("Calls for the chef"),
    "answer": _("Answers to calls"),
    "settled": _("What was done with oil and food"),
    "setting": _("Settings"),
    "verdict": _("Verdicts"),
    "undone": _("Undone entries"),
    "erased": _("Erased names and notes"),
}


class FilterForm(forms.Form):
    """Which entries to show."""

    fryer = forms.ChoiceField(required=False, label=_("Fryer"))
    kind = forms.ChoiceField(required=False, label=_("What"))

    def __init__(self, data: object, *, names: Names) -> None:
        """Offer every fryer there is or was, and every kind."""
        super().__init__(data)  # type: ignore[arg-type]  # the query of a request
        self.fields["fryer"].choices = [("", _("All fryers")), *names.fryers()]  # type: ignore[attr-defined]
        kinds = [(kind, KIND_NAMES[kind]) for kind in KINDS]
        self.fields["kind"].choices = [("", _("Everything")), *kinds]  # type: ignore[attr-defined]


class ReasonForm(forms.Form):
    """Why an entry is corrected or undone."""

    reason = forms.CharField(
        max_length=500,
        label=_("Why?"),
        help_text=_("Both entries stay in the day book, with this reason."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
