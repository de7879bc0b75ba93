"""The forms of the day book: what to show, and why something is corrected or undone."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book.kinds import KINDS
from kettlewell.telling import Reader
from kettlewell.web.entry.names import Names
from kettlewell.web.entry.times import DayField

KIND_NAMES = {kind.key: _(kind.words) for kind in KINDS.values()}

MISTAKES = (
    ("fryer", _("Wrong fryer")),
    ("number", _("Wrong number")),
    ("slip", _("Tapped by mistake")),
)


class FilterForm(forms.Form):
    """Which entries to show."""

    fryer = forms.ChoiceField(required=False, label=_("Fryer"))
    kind = forms.ChoiceField(required=False, label=_("What"))
    since = DayField(label=_("From"))
    until = DayField(label=_("To"))

    def __init__(self, data: object, *, names: Names) -> None:
        """Offer every fryer there is or was, and every kind."""
        super().__init__(data)  # type: ignore[arg-type]  # the query of a request
        self.fields["fryer"].choices = [("", _("All fryers")), *names.fryers()]  # type: ignore[attr-defined]
        self.fields["kind"].choices = [("", _("Everything")), *KIND_NAMES.items()]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order."""
        cleaned = super().clean() or {}
        since, until = cleaned.get("since"), cleaned.get("until")
        if since and until and until < since:
            self.add_error("until", _("This day lies before the first."))
        return cleaned

    @property
    def asked(self) -> dict[str, Any]:
        """What is asked for, without what cannot be understood."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}

    def in_words(self, reader: Reader) -> list[tuple[str, str]]:
        """Return what is asked for, as a reader of paper is told."""
        asked = self.asked
        chosen = [(name, dict(self.fields[name].choices)) for name in ("fryer", "kind")]  # type: ignore[attr-defined]
        words = {name: str(texts[asked.get(name, "")]) for name, texts in chosen}
        days = {name: reader.written_day(asked[name]) for name in ("since", "until") if name in asked}
        return [(str(self.fields[name].label), text) for name, text in (words | days).items()]


class ReasonForm(forms.Form):
    """Why an entry is corrected or undone: one tap, or a few words."""

    why = forms.ChoiceField(
        required=False,
        label=_("Why?"),
        help_text=_("What was written stays in the day book, with this reason."),
        widget=forms.RadioSelect,
        choices=MISTAKES,
    )
    reason = forms.CharField(
        required=False,
        max_length=500,
        label=_("Something else"),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean(self) -> dict[str, Any]:
        """Take the words of what was tapped, and what was added."""
        cleaned = super().clean() or {}
        told = [str(dict(MISTAKES).get(cleaned.get("why", ""), "")), cleaned.get("reason", "")]
        cleaned["reason"] = "; ".join(text for text in told if text)
        if not cleaned["reason"] and not self.errors:
            self.add_error("why", _("Say why."))
        return cleaned
