"""The forms of what is said and done about oil that may have gone too far."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Draining, find
from kettlewell.records import kinds
from kettlewell.web.entry.forms import OnScreen

REFILLED = "refilled"


@kinds.fields_of("settled")
class SettledForm(OnScreen):
    """What was done with the oil and with the food."""

    given = ("verdict",)
    refilled = False

    def offer(self) -> None:
        """Name only people who are trained to drain; the fresh fill may be told with it."""
        refilled = (REFILLED, _("Drained, and filled with fresh oil"))
        corrected = "oil_done" in self.initial
        self.choose("oil_done", [*([] if corrected else [refilled]), *kinds.OIL_DONE])
        self.choose("food_done", list(kinds.FOOD_DONE))
        self.choose("drained_by", [*self.people, ("", _("Nobody, or someone else"))])
        self.fields["drained_by"].help_text = _("Only people trained to drain are named here.")
        self.fields["cause"].widget = forms.CheckboxSelectMultiple(choices=kinds.CAUSES)
        self.fields["cause"].help_text = _("Tap all that may be so. Anything else goes into the note.")

    def clean(self) -> dict[str, Any]:
        """Name nobody where nothing was drained."""
        cleaned = super().clean()
        self.refilled = cleaned.get("oil_done") == REFILLED
        if self.refilled:
            cleaned["oil_done"] = "drained"
        if cleaned.get("oil_done") != "drained":
            cleaned["drained_by"] = ""
        return cleaned

    def fill(self) -> dict[str, Any]:
        """Return what is written down of the fresh fill, of the oil that the fryer is meant for."""
        bath = find(self.setup.kitchen.fryers, self.key)
        by = self.cleaned_data.get("drained_by") if bath.draining is Draining.HAND else ""
        return {"fryer": self.key, "oil": bath.oil, **({"drained_by": by} if by else {})}


@kinds.fields_of("reviewed")
class ReviewedForm(OnScreen):
    """What was done was looked over: there is nothing more to say than a note."""

    given = ("settled",)


@kinds.fields_of("complaint")
class ComplaintForm(OnScreen):
    """A guest complained."""

    def offer(self) -> None:
        """Lay open of what."""
        self.fields["complained_of"].widget = forms.CheckboxSelectMultiple(choices=kinds.COMPLAINTS)
