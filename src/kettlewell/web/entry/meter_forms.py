"""The forms of what is written about meters: a check, out of use or back, a verdict looked at again."""

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.formats import number_format
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from kettlewell import clock
from kettlewell.records import kinds
from kettlewell.records.numbers import NumberField
from kettlewell.telling import N_
from kettlewell.web.common import reader_of
from kettlewell.web.entry.forms import OnScreen, big, named

READINGS = (
    ("reading_1", _("Reading 1")),
    ("reading_2", _("Reading 2")),
    ("reading_3", _("Reading 3")),
)
BOTTLE = N_("{name}, {tpc_pct} %")
DATED_BOTTLE = N_("{name}, {tpc_pct} %, best before {best_before}")


@kinds.fields_of("meter_check")
class CheckForm(OnScreen):
    """A meter read in a reference oil, up to three times; ``adjusted`` is known before it is asked."""

    unasked = ("readings", "adjusted")

    def offer(self) -> None:
        """Ask for the meter where there is more than one, for the bottle, and for each reading on its own."""
        self.offer_meters()
        self.offer_bottles()
        for n, (name, label) in enumerate(READINGS):
            self.fields[name] = NumberField(
                min_value=0, decimal_places=2, required=n == 0, label=label, validators=[below_100]
            )
            if n < len(self.initial.get("readings", ())):
                self.initial.setdefault(name, self.initial["readings"][n])
        self.fields["temp_unknown"] = forms.BooleanField(required=False, label=_("I don't know"))
        self.initial.setdefault(
            "temp_unknown", "readings" in self.initial and "oil_temp_c" not in self.initial
        )
        big(self, "oil_temp_c", *(name for name, _label in READINGS))

    def offer_meters(self) -> None:
        """Ask which meter it is; the only one is not asked for."""
        meters = named(self.setup.kitchen.meters)
        self.choose("meter", meters)
        if len(meters) == 1:
            self.fields["meter"].widget = forms.HiddenInput()
            self.initial.setdefault("meter", meters[0][0])

    def offer_bottles(self) -> None:
        """Name every bottle with its value; beforehand choose one that is still good, if there is one."""
        kitchen, now = self.setup.kitchen, clock.now()
        reader = reader_of(kitchen.timezone, now)
        good, choices = [], []
        for lot in kitchen.reference_lots:
            text = DATED_BOTTLE if lot.best_before else BOTTLE
            said = reader.say(text, name=lot.name, tpc_pct=lot.tpc_pct, best_before=lot.best_before)
            choices.append((lot.key, said))
            if not lot.best_before or lot.best_before >= now.astimezone(reader.zone).date():
                good.append(lot.key)
        self.choose("lot", choices)
        if good and self.initial.get("lot") not in good and "readings" not in self.initial:
            self.initial["lot"] = good[0]

    def clean(self) -> dict[str, Any]:
        """Take "I don't know" for an answer, but not silence."""
        cleaned = super().clean()
        typed, unknown = cleaned.get("oil_temp_c") is not None, cleaned.get("temp_unknown")
        if typed and unknown:
            self.add_error(
                "oil_temp_c", _("You typed a temperature, and that you don't know it. Which is it?")
            )
        elif not typed and not unknown and "oil_temp_c" not in self.errors:
            self.add_error("oil_temp_c", _("Type the temperature, or tick “I don't know”."))
        return cleaned

    def payload(self) -> dict[str, Any]:
        """Return what is written down, the readings in one."""
        said = super().payload()
        said.pop("temp_unknown")
        readings = [said.pop(name) for name, _label in READINGS if name in said]
        return {**said, "readings": readings, "adjusted": bool(self.initial.get("adjusted"))}


def below_100(reading: Decimal) -> None:
    """Refuse what no meter shows, and ask whether the point was left out."""
    if reading >= 1000:
        raise ValidationError(gettext("At most %(limit_value)s.") % {"limit_value": 100})
    if reading >= 100:
        numbers = {"typed": number_format(reading), "meant": number_format(reading / 10)}
        raise ValidationError(gettext("%(typed)s? Did you mean %(meant)s?") % numbers)


@kinds.fields_of("meter_order")
class MeterOrderForm(OnScreen):
    """A meter taken out of use, or put back."""

    def offer(self) -> None:
        """Take one of this kitchen's meters, and one of two words."""
        self.choose("meter", named(self.setup.kitchen.meters))
        self.fields["back"] = forms.TypedChoiceField(
            choices=(("no", _("Out of use")), ("yes", _("Back in use"))), coerce=lambda value: value == "yes"
        )


@kinds.fields_of("relied")
class ReliedForm(OnScreen):
    """Whether a verdict stands; if not, what was done."""

    given = ("verdict", "check")

    def offer(self) -> None:
        """Lay all choices open."""
        self.choose("stands", list(kinds.STANDS))
        for name, choices in (("oil_done", kinds.OIL_DONE), ("food_done", kinds.FOOD_DONE)):
            self.choose(name, [*choices, ("", _("Nothing to say"))])
            self.fields[name].help_text = _("Only if the verdict was wrong.")
