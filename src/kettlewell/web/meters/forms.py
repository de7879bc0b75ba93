"""Which two instruments are shown side by side."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book.setup import Setup
from kettlewell.web.entry.forms import named

LABORATORY = "laboratory"


class CompareForm(forms.Form):
    """Which meter, beside what, in which oil."""

    meter = forms.ChoiceField(label=_("Meter"))
    against = forms.ChoiceField(label=_("Beside"))
    oil = forms.ChoiceField(label=_("In"))

    def __init__(self, data: Any = None, *, setup: Setup) -> None:  # noqa: ANN401 - as Django's forms
        """Offer what this kitchen has: what is not chosen is the first of each."""
        kitchen = setup.kitchen
        choices = {
            "meter": named(kitchen.meters),
            "against": [(LABORATORY, _("The laboratory")), *named(kitchen.meters)],
            "oil": named(
                oil for oil in kitchen.oils if any(fryer.oil == oil.key for fryer in kitchen.fryers)
            ),
        }
        firsts = {name: offered[0][0] for name, offered in choices.items() if offered}
        super().__init__({name: (data or {}).get(name, first) for name, first in firsts.items()})
        for name, offered in choices.items():
            self.fields[name].choices = offered  # type: ignore[attr-defined]  # a ChoiceField, as above

    def clean(self) -> dict[str, Any]:
        """Refuse a meter beside itself."""
        cleaned = self.cleaned_data
        if cleaned.get("meter") and cleaned.get("meter") == cleaned.get("against"):
            self.add_error("against", _("Choose another: this is the same meter."))
        return cleaned

    @property
    def asked(self) -> dict[str, Any]:
        """What is compared, as the bridge takes it: the laboratory is None."""
        against = self.cleaned_data["against"]
        return {**self.cleaned_data, "against": None if against == LABORATORY else against}
