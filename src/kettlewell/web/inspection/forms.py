"""What an inspector's book is asked for: a period, and its parts."""

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.telling import Reader
from kettlewell.web.entry.names import Names
from kettlewell.web.entry.times import DayField

USUAL = timedelta(days=91)  # our own choice: a quarter
MONTHS = 24
LONGEST = timedelta(days=5 * 366)
PARTS = (
    ("kitchen", _("The kitchen and its limits")),
    ("procedure", _("How the oil is watched")),
    ("people", _("People")),
    ("readings", _("Readings and verdicts")),
    ("deviations", _("What was wrong, and what was done")),
    ("changes", _("Changes, top-ups and care")),
    ("meters", _("Meters")),
    ("old_oil", _("Old oil")),
    ("corrections", _("Corrected, undone, written down late")),
)


class InspectionForm(forms.Form):
    """Which days, and what of them. The first page and the check code are always there."""

    since = DayField(label=_("From"))
    until = DayField(label=_("To"))
    parts = forms.MultipleChoiceField(
        label=_("Parts"), choices=PARTS, widget=forms.CheckboxSelectMultiple, required=False
    )

    def __init__(self, data: object, *, today: date) -> None:
        """Offer the last quarter, whole."""
        initial = {"since": today - USUAL, "until": today, "parts": [key for key, _label in PARTS]}
        super().__init__(data, initial=initial)  # type: ignore[arg-type]  # the query of a request
        self.today = today

    def clean(self) -> dict[str, Any]:
        """Take today and a quarter before where no day is said; refuse days in the wrong order."""
        cleaned = super().clean() or {}
        if self.errors:
            return cleaned
        until = cleaned["until"] = cleaned.get("until") or self.today
        since = cleaned["since"] = cleaned.get("since") or until - USUAL
        if until < since:
            self.add_error("until", _("This day lies before the first."))
        elif until - since > LONGEST:
            self.add_error("since", _("Five years at most go into one book."))
        return cleaned


class MonthForm(forms.Form):
    """Which fryer and month; all fryers, a page each, where none is named."""

    fryer = forms.ChoiceField(required=False, label=_("Fryer"))
    month = forms.ChoiceField(required=False, label=_("Month"))

    def __init__(self, data: object, *, names: Names, reader: Reader) -> None:
        """Offer every fryer there is or was, and two years of months."""
        super().__init__(data)  # type: ignore[arg-type]  # the query of a request
        self.fields["fryer"].choices = [("", _("All fryers")), *names.fryers()]  # type: ignore[attr-defined]
        first = reader.today.replace(day=1)
        months = [first]
        while len(months) < MONTHS:
            months.append((months[-1] - timedelta(days=1)).replace(day=1))
        self.fields["month"].choices = [(f"{month:%Y-%m}", reader.month(month)) for month in months]  # type: ignore[attr-defined]

    @property
    def first_day(self) -> date:
        """The first day of the month; of this one where none is named."""
        months = self.fields["month"].choices  # type: ignore[attr-defined]
        return date.fromisoformat(f"{self.cleaned_data['month'] or months[0][0]}-01")
