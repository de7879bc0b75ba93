"""The forms of the kitchen itself: where it is, and who sets it up."""

from decimal import Decimal

from django import forms
from django.contrib.auth.forms import UsernameField
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from kettlewell.bridge.founding import FirstOwner, Founding
from kettlewell.records.numbers import NumberField
from kettlewell.web.account.fields import PasswordField
from kettlewell.web.setup.base_forms import ThingForm, number
from kettlewell.web.setup.known import LANGUAGES, POLYMERS, READINGS, places, zone_choices


class PlaceForm(ThingForm):
    """Where the kitchen is."""

    thing = "kitchen"
    name = forms.CharField(max_length=80, label=_("Name of the kitchen"))
    jurisdiction = forms.ChoiceField(
        required=False,
        label=_("Country whose limits apply"),
        help_text=_("The country the kitchen stands in."),
    )
    timezone = forms.ChoiceField(label=_("Time zone"), help_text=_("Time zone of the day book."))

    def offer(self) -> None:
        """Offer the places and zones there are."""
        self.choose("jurisdiction", places())
        self.fields["jurisdiction"].widget.attrs.update({"hx-get": reverse("set-up"), "hx-target": "#limits"})
        self.choose("timezone", zone_choices())

    def own_fields(self) -> list[forms.BoundField]:
        """Return the fields beside the place."""
        return [field for field in self if field.name not in PlaceForm.base_fields]


class KitchenForm(PlaceForm):
    """The kitchen's own settings."""

    risk = number(
        _("Accepted risk"),
        _(
            "How likely the oil may go over a limit before it is changed. Usual value: 0.05, one in twenty; "
            "that is the most for limits of the law."
        ),
    )
    permissible_pct = number(
        _("A meter may be off by, points"),
        _("In reference oil, either way, before it counts as wrong. Usual value: 1."),
    )
    laboratory_price = number(_("Price of a laboratory sample"), _("Empty: not known."))
    polymers = forms.ChoiceField(
        choices=POLYMERS, required=False, label=_("Where the law limits polymers, what decides?")
    )
    readings = forms.ChoiceField(
        choices=READINGS,
        required=False,
        label=_("How often is the oil read?"),
        help_text=_("A rule of the house: the next reading is never due later."),
    )
    language = forms.ChoiceField(
        choices=LANGUAGES,
        required=False,
        label=_("Language of printed cards and pages"),
        help_text=_("Screens are in the language of whoever reads them."),
    )
    jug_l = number(_("Your jug, litres"), _("To write top-ups in jugs. Empty: none."))
    records_months = number(
        _("Records are kept at least, months"),
        _("As long as the law where you are asks. Usual value: 24. Nothing is erased before."),
    )
    notes_months = number(_("Notes are erased after, months"), _("Empty: they are kept."))
    photos_months = number(_("Photos are erased after, months"), _("Empty: they are kept."))
    names_months = number(
        _("Names of people who left are erased after, months"), _("Empty: until somebody erases them.")
    )
    check_code_to = forms.EmailField(
        required=False,
        label=_("Send the check code each day to"),
        help_text=_("An e-mail address outside the kitchen: it proves later that nothing was changed."),
    )
    kept = ("records_months", "notes_months", "photos_months", "names_months", "check_code_to")

    def own_fields(self) -> list[forms.BoundField]:
        """Return the fields beside the place and beside what is kept."""
        return [field for field in super().own_fields() if field.name not in self.kept]

    def kept_fields(self) -> list[forms.BoundField]:
        """Return the fields on how long things are kept."""
        return [self[name] for name in self.kept]


class HousePlaceForm(PlaceForm):
    """The kitchen at its beginning: where it is, and its own limit."""

    house_limit_pct = NumberField(
        required=False,
        min_value=Decimal("0.1"),
        max_value=100,
        max_digits=5,
        label=_("Your own limit on polar compounds, %"),
        help_text=_("Needed where no verified limit is found. 24 and 25 are usual in the laws shown here."),
    )

    def founding(self) -> Founding:
        """Return the kitchen to be; its limit is a thing of its own."""
        values = {name: value for name, value in self.values().items() if name != "house_limit_pct"}
        return Founding(values=values, house_limit_pct=self.cleaned_data["house_limit_pct"])


class YouForm(forms.Form):
    """The first person: the owner, who can see what the server prints."""

    code = forms.CharField(
        max_length=40,
        label=_("Code of the first start"),
        help_text=_("The server printed it where it was started."),
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )

    name = forms.CharField(
        max_length=100, label=_("Your name"), widget=forms.TextInput(attrs={"autocomplete": "name"})
    )
    sign_in = UsernameField(
        max_length=150,
        label=_("Sign-in name"),
        help_text=_("Short and without spaces is easiest to type."),
    )
    password = PasswordField(use="new-password", label=_("Password"), help_text=_("At least 10 characters."))

    def owner(self) -> FirstOwner:
        """Return who is to be the first owner."""
        return FirstOwner(**self.cleaned_data)
