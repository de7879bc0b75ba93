"""The forms of the acts at a fryer, as a cook fills them in: the payloads of the day book, on a screen."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from itertools import chain
from typing import Any, TypedDict, Unpack, cast
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Draining, find
from kettlewell.book import kinds as kinds_told
from kettlewell.book.setup import Setup
from kettlewell.bridge.amounts import food_units, oil_units
from kettlewell.bridge.door import UNLIKELY
from kettlewell.records import kinds
from kettlewell.web.entry.times import ClockField
from kettlewell.web.refusals import refuse

Choices = list[tuple[str, Any]]
CONDITIONS = tuple(condition.name for condition in kinds_told.CONDITIONS)
NUMBER = "number"
UNKNOWN = ("unknown", _("I don't know"))
PICTURES = (
    ("no_food", _("No food")),
    ("no_bubbles", _("No bubbles")),
    ("probe_clear", _("Probe clear")),
    ("steady", _("Steady")),
)
OF_THE_OTHERS = (
    ("yes", _("All four are OK")),
    ("no", _("The others are not")),
    ("unknown", _("The others: I don't know")),
)


class Place(TypedDict, total=False):
    """Where on a page with several forms one stands: what goes before its names, and into its ids."""

    prefix: str
    auto_id: str


class FromPaper(forms.CheckboxInput):
    """A tick that says that something stood on a sheet of paper first."""

    said = "paper"

    def __init__(self) -> None:
        """Be ticked where that was said before."""
        super().__init__(check_test=lambda value: value == self.said)

    def value_from_datadict(self, data: Mapping[str, Any], _files: object, name: str) -> str:  # type: ignore[override]  # a word, not a truth
        """Return what the tick says."""
        return self.said if data.get(name) else ""


class OnScreen(kinds.Payload):
    """A payload as it is asked for at a fryer: the fryer is known, a note can be left, the time is now.

    ``unasked`` fields are filled in by the program, ``given`` ones taken from ``initial``; fields
    ``aside`` are no part of the payload; ``pictured`` ones have a picture for each choice.
    """

    unasked: tuple[str, ...] = ("fryer", "mass_kg")
    given: tuple[str, ...] = ()
    aside: tuple[str, ...] = ("note", "at", "sure")
    pictured: tuple[str, ...] = ()

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
        setup: Setup,
        fryer: str,
        people: Iterable[tuple[str, str]] = (),
        **place: Unpack[Place],
    ) -> None:
        """Offer what this kitchen has; read of the data what the form asks for, and no more.

        ``people`` are those who may be named, by id and name. ``place`` tells it apart from other forms on
        its page.
        """
        self.setup, self.key, self.people = setup, fryer, list(people)
        super().__init__(initial={**(initial or {})}, **place)
        for name in (*self.unasked, *self.given):
            self.drop(name)
        self.offer()
        self.fields["note"] = forms.CharField(
            required=False,
            max_length=500,
            label=_("Note"),
            widget=forms.TextInput(attrs={"autocomplete": "off"}),
        )
        if "source" in self.fields:
            choices = kinds.SOURCES
            self.fields["source"] = forms.ChoiceField(
                choices=choices, required=False, label=choices[0][1], widget=FromPaper
            )
        zone, told = ZoneInfo(setup.kitchen.timezone), self.initial.get("at")
        self.fields["at"] = ClockField(zone, told=told, required=False, label=_("When, if it was earlier"))
        self.is_bound = data is not None
        if data and self.add_prefix("sure") in data:
            self.ask_if_sure()
        self.data = self.known(data or {})

    def offer(self) -> None:
        """Give the fields the choices of this kitchen."""

    def drop(self, name: str) -> None:
        """Do not ask for something."""
        self.fields.pop(name, None)

    def choose(self, name: str, choices: Choices) -> None:
        """Ask for something by choices that all lie open."""
        was, told = self.fields[name], self.initial.get(name)
        if told and told not in dict(choices):
            choices = [*choices, (told, told)]  # what is corrected may name what the kitchen no longer has
        self.fields[name] = forms.ChoiceField(
            choices=choices, required=was.required, label=was.label, widget=forms.RadioSelect
        )

    def known(self, data: Mapping[str, Any]) -> QueryDict:
        """Return of the data what the form has a field for."""
        found = QueryDict(mutable=True)
        for name in map(self.add_prefix, self.fields):
            values = (
                data.getlist(name) if isinstance(data, QueryDict) else [data[name]] if name in data else []
            )
            found.setlist(name, values)
        return found

    @property
    def at(self) -> datetime | None:
        """When it happened; None says now."""
        return cast("datetime | None", self.cleaned_data.get("at"))

    @property
    def note(self) -> str:
        """What was noted."""
        return str(self.cleaned_data.get("note", ""))

    @property
    def photo(self) -> bytes:
        """The photo that was sent with it."""
        sent = self.cleaned_data.get("photo")
        return sent.read() if sent else b""

    @property
    def has_numbers(self) -> bool:
        """Whether a number is asked for that is typed large."""
        return any(field.widget.attrs.get("class") == NUMBER for field in self.fields.values())

    @property
    def is_sure(self) -> bool:
        """Whether somebody said that it is right though it is unlikely."""
        return bool(self.cleaned_data.get("sure"))

    def ask_if_sure(self) -> None:
        """Ask whether what is unlikely is right."""
        self.fields["sure"] = forms.BooleanField(required=False, label=_("Yes, it is right as it stands"))

    def refuse(self, error: ValidationError) -> None:
        """Show what the day book does not take, at its field where there is one."""
        if UNLIKELY in {each.code for each in errors_in(error)}:
            self.ask_if_sure()
        refuse(self, error, called={"happened_at": "at"})

    def payload(self) -> dict[str, Any]:
        """Return what is written down, with the fryer where there is one."""
        asked = {name: value for name, value in self.cleaned_data.items() if name not in self.aside}
        kept = {name: kinds.plain(value) for name, value in asked.items() if kinds.said(value)}
        given = {name: str(self.initial[name]) for name in self.given}
        here = {"fryer": self.key} if self.key else {}
        return {**here, **given, **kept}


def errors_in(error: ValidationError) -> Iterator[ValidationError]:
    """Yield each error of those by field, or in a list."""
    listed = error.error_dict.values() if hasattr(error, "error_dict") else [error.error_list]
    yield from chain.from_iterable(listed)


def big(form: OnScreen, *names: str) -> None:
    """Have numbers typed large."""
    for name in names:
        form.fields[name].widget.attrs["class"] = NUMBER


def answered(form: OnScreen, name: str) -> None:
    """Show what was told before as the answer it was."""
    if name in form.initial:
        form.initial[name] = "yes" if form.initial[name] in (True, "yes") else "no"


def named(things: Iterable[Any]) -> Choices:
    """Return things as choices, by key and name."""
    return [(thing.key, thing.name) for thing in things]


@kinds.fields_of("reading")
class ReadingForm(OnScreen):
    """A reading: a picture that is lit says that its condition is met, one tap that all four are.

    Where they were told before, each is asked for on its own, as a correction may change any of them.
    """

    aside = ("note", "at", "sure", "so", "all_so")

    def offer(self) -> None:
        """Ask for the four conditions by pictures, unless they were told before."""
        big(self, "tpc_pct", "oil_temp_c")
        if self.initial.keys() & set(CONDITIONS):
            for name in CONDITIONS:
                self.choose(name, list(kinds.ANSWERS))
        else:
            self.offer_pictures()
        meters = named(self.setup.kitchen.meters)
        self.choose("meter", [*meters, UNKNOWN])
        self.fields["meter"].required = len(meters) > 1
        if len(meters) < 2:
            self.fields["meter"].widget = forms.HiddenInput()
            self.initial.setdefault("meter", meters[0][0] if meters else "")

    def offer_pictures(self) -> None:
        """Have the conditions lit by a tap each, and ask once about those that are not lit."""
        for name in CONDITIONS:
            self.drop(name)
        self.fields["so"] = forms.MultipleChoiceField(
            choices=PICTURES,
            required=False,
            label=_("Before you read: tap what is so"),
            widget=forms.CheckboxSelectMultiple,
        )
        self.fields["all_so"] = forms.ChoiceField(
            choices=OF_THE_OTHERS, required=False, label=_("All four, or not"), widget=forms.RadioSelect
        )
        self.order_fields(["so", "all_so", "meter", "oil_temp_c", "tpc_pct"])

    def clean(self) -> dict[str, Any]:
        """Take a picture that is lit for yes, and the others for what was said of them."""
        cleaned = super().clean()
        if cleaned.get("meter") == "unknown":
            cleaned["meter"] = ""
        if "so" not in self.fields:
            return cleaned
        lit, others = set(cleaned.get("so", ())), cleaned.get("all_so")
        all_lit = lit == set(CONDITIONS)
        if all_lit and others in ("no", "unknown"):
            self.add_error("all_so", _("You lit all four, and said that others are not so. Which is it?"))
        elif not all_lit and not others and "all_so" not in self.errors:
            asked = _("And those that are not lit?") if lit else _("Are all four OK? Tap one.")
            self.add_error("all_so", asked)
        return cleaned | {name: "yes" if name in lit else others or "yes" for name in CONDITIONS}


@kinds.fields_of("laboratory")
class LaboratoryForm(OnScreen):
    """A laboratory's result."""

    def offer(self) -> None:
        """Have the result typed large."""
        big(self, "tpc_pct")
        self.fields["u_pct"].help_text = _(
            "Reports mostly give twice this (k = 2): halve it. Leave it empty if there is none."
        )


@kinds.fields_of("senses")
class SensesForm(OnScreen):
    """What smells, smokes, foams: and whether the oil is spoiled."""

    pictured = ("signs",)

    def offer(self) -> None:
        """Show every sign as a picture, and ask outright."""
        self.fields["signs"].widget = forms.CheckboxSelectMultiple(choices=kinds.SIGNS)
        self.fields["spoiled"] = forms.TypedChoiceField(
            choices=(("no", _("No, it is fine")), ("yes", _("Yes, it is spoiled"))),
            coerce=lambda value: value == "yes",
            label=_("Is the oil spoiled?"),
            widget=forms.RadioSelect,
        )
        answered(self, "spoiled")
        self.order_fields(["signs", "spoiled"])


@kinds.fields_of("top_up")
class TopUpForm(OnScreen):
    """Fresh oil, in the measures this kitchen has."""

    def offer(self) -> None:
        """Offer the units that come to a mass here."""
        units = oil_units(self.setup, self.key)
        self.choose("unit", [unit for unit in kinds.OIL_UNITS if unit[0] in units])
        big(self, "amount")
        self.fields["amount"].help_text = _("Leave it empty for “to the mark”.")

    def clean(self) -> dict[str, Any]:
        """Take no amount beside "to the mark"."""
        cleaned = super().clean()
        if cleaned.get("unit") == "mark":
            cleaned["amount"] = None
        return cleaned


@kinds.fields_of("load")
class LoadForm(OnScreen):
    """Food that was fried; how much may stay unknown."""

    def offer(self) -> None:
        """Offer what this fryer fries first, then the other products."""
        kitchen = self.setup.kitchen
        usual = find(kitchen.fryers, self.key).fries
        products = sorted(kitchen.products, key=lambda product: product.key not in usual)
        self.choose("product", named(products))
        units = {unit for product in products for unit in food_units(self.setup, product.key)}
        self.choose("unit", [unit for unit in kinds.FOOD_UNITS if unit[0] in units])
        big(self, "amount")
        self.fields["amount"].help_text = _("Leave it empty if you don't know.")
        if len(usual) == 1:
            self.initial.setdefault("product", usual[0])

    def clean(self) -> dict[str, Any]:
        """Take no unit where no amount is told."""
        cleaned = super().clean()
        if cleaned.get("amount") is None:
            cleaned["unit"] = ""
        return cleaned


def ask_drainer(form: OnScreen) -> None:
    """Ask who drained a bath, naming only people who are trained to; not of one with a pump."""
    if find(form.setup.kitchen.fryers, form.key).draining is not Draining.HAND:
        form.drop("drained_by")
        return
    form.choose("drained_by", [*form.people, ("", _("Nobody, or someone else"))])
    form.fields["drained_by"].help_text = _("Only people trained to drain are named here.")


@kinds.fields_of("care")
class CareForm(OnScreen):
    """Skimmed, filtered, boiled out."""

    pictured = ("care",)

    def offer(self) -> None:
        """Show every kind of care as a picture."""
        self.choose("care", list(kinds.CARE))


@kinds.fields_of("change")
class ChangeForm(OnScreen):
    """A bath filled fresh."""

    def offer(self) -> None:
        """Ask for the oil where there is more than one."""
        ask_drainer(self)
        oils = named(self.setup.kitchen.oils)
        self.initial.setdefault("oil", find(self.setup.kitchen.fryers, self.key).oil)
        if len(oils) > 1:
            self.choose("oil", oils)
        else:
            self.drop("oil")


@kinds.fields_of("move")
class MoveForm(OnScreen):
    """Oil pumped into another fryer."""

    unasked = ("fryer",)

    def offer(self) -> None:
        """Offer the other fryers, and ask for the mass."""
        self.choose("into", named(bath for bath in self.setup.kitchen.fryers if bath.key != self.key))
        self.fields["mass_kg"].help_text = _("Leave it empty if all that fits went over.")
        big(self, "mass_kg")


@kinds.fields_of("hot_hours")
class HotHoursForm(OnScreen):
    """How long the bath was hot."""

    def offer(self) -> None:
        """Have the hours typed large."""
        big(self, "hot_h", "oil_temp_c")


@kinds.fields_of("order")
class OrderForm(OnScreen):
    """Out of use, or back in use."""

    def offer(self) -> None:
        """Ask which of the two."""
        self.fields["back"] = forms.TypedChoiceField(
            choices=(("no", _("Out of use")), ("yes", _("Back in use"))),
            coerce=lambda value: value == "yes",
            label=_("The fryer is"),
            widget=forms.RadioSelect,
        )
        answered(self, "back")


@kinds.fields_of("closed")
class ClosedForm(OnScreen):
    """No frying from now, or from when it began, until a time."""

    def offer(self) -> None:
        """Ask until when, by the kitchen's clocks, and whether it is this fryer or all of them."""
        told = self.initial.get("until")
        until = datetime.fromisoformat(told) if isinstance(told, str) else None
        zone, label = ZoneInfo(self.setup.kitchen.timezone), self.fields["until"].label
        self.initial["until"] = until
        self.fields["until"] = ClockField(zone, told=until, label=label)
        told = self.initial.get("begins")
        self.initial["begins"] = begins = datetime.fromisoformat(told) if isinstance(told, str) else None
        label = self.fields["begins"].label
        self.fields["begins"] = ClockField(zone, told=begins, label=label, required=False)
        self.fields["whole"] = forms.ChoiceField(
            choices=(("no", _("This fryer")), ("yes", _("The whole kitchen"))),
            initial="yes" if until and not self.key else "no",
            label=_("Closed"),
            widget=forms.RadioSelect,
        )

    def payload(self) -> dict[str, Any]:
        """Return what is written down; the whole kitchen is no fryer."""
        said = super().payload()
        if said.pop("whole") == "yes":
            said.pop("fryer", None)
        return said


@kinds.fields_of("store")
class StoreForm(OnScreen):
    """Oil taken out and kept."""

    def offer(self) -> None:
        """Ask who drained it."""
        ask_drainer(self)


@kinds.fields_of("return")
class ReturnForm(OnScreen):
    """Kept oil put back: there is nothing more to say."""


@kinds.fields_of("call")
class CallForm(OnScreen):
    """The chef is called."""


@kinds.fields_of("answer")
class AnswerForm(OnScreen):
    """A call is answered."""

    given = ("call",)


FORMS: dict[str, type[OnScreen]] = {
    "reading": ReadingForm,
    "laboratory": LaboratoryForm,
    "senses": SensesForm,
    "top_up": TopUpForm,
    "care": CareForm,
    "change": ChangeForm,
    "move": MoveForm,
    "store": StoreForm,
    "return": ReturnForm,
    "load": LoadForm,
    "hot_hours": HotHoursForm,
    "order": OrderForm,
    "closed": ClosedForm,
    "call": CallForm,
    "answer": AnswerForm,
}
