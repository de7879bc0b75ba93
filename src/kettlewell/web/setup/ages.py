"""How old the oil is that a kitchen begins with: asked last, when it is known when it fries."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from kettlewell.bridge.founded import fryers_unspoken_of
from kettlewell.records.models import Kitchen
from kettlewell.records.settings import Things
from kettlewell.web.setup.facts import name_of

DAYS_AGO = {"today": 0, "yesterday": 1}
AGES = [
    ("today", gettext_lazy("Today")),
    ("yesterday", gettext_lazy("Yesterday")),
    ("days", gettext_lazy("Some days ago")),
    ("unknown", gettext_lazy("I don't know")),
]
LONGEST_DAYS = 60  # no oil that is fried in lasts so long: chosen, no source


class AgeForm(forms.Form):
    """When the oil in a fryer was last changed."""

    age = forms.ChoiceField(
        choices=AGES, widget=forms.RadioSelect, label=gettext_lazy("When was its oil last changed?")
    )
    days = forms.IntegerField(
        required=False,
        min_value=2,
        max_value=LONGEST_DAYS,
        label=gettext_lazy("How many days ago, about?"),
        help_text=gettext_lazy("Only for “some days ago”."),
    )

    def clean(self) -> dict[str, Any]:
        """Ask for the number of days where it is some."""
        said: dict[str, Any] = super().clean() or self.cleaned_data
        if said.get("age") == "days" and said.get("days") is None and not self.has_error("days"):
            self.add_error("days", _("Say about how many days, or “I don't know”."))
        return said

    def days_ago(self) -> int | None:
        """Return how many days ago; None where nobody knows."""
        said = self.cleaned_data
        return None if said["age"] == "unknown" else DAYS_AGO.get(said["age"], said.get("days"))


def age_forms(kitchen: Kitchen, things: Things, asked: Any) -> dict[str, AgeForm]:  # noqa: ANN401
    """Return a form by fryer, of those of which the day book says nothing yet."""
    return {key: AgeForm(asked, prefix=key) for key in fryers_unspoken_of(kitchen) if key in things["fryers"]}


def titled(forms_by_fryer: dict[str, AgeForm], things: Things) -> list[dict[str, Any]]:
    """Return the forms with what their fryers are called."""
    return [
        {"form": form, "title": name_of("fryers", key, things["fryers"][key])}
        for key, form in forms_by_fryer.items()
    ]
