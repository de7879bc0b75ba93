"""What the forms of all things of a kitchen share."""

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.utils.translation import gettext_lazy as _

from kettlewell.book.allergens import Allergen, allergen
from kettlewell.book.units import DENSITY_KG_PER_L
from kettlewell.bridge.known import spans_of
from kettlewell.bridge.settings import SettingChange
from kettlewell.records.numbers import NumberField
from kettlewell.records.settings import Things
from kettlewell.web.setup.known import ALLERGENS, Choices

NO_ALLERGENS = _("none")
NONE = "none"


class WordsField(forms.CharField):
    """A few words, parted by commas."""

    def prepare_value(self, value: object) -> object:
        """Return the words as they are typed."""
        return ", ".join(value) if isinstance(value, list | tuple) else value

    def clean(self, value: object) -> list[str]:
        """Return the words."""
        typed = super().clean(value)
        return [word.strip() for word in typed.split(",") if word.strip()]


def number(label: object, help_text: object = "", *, required: bool = False) -> NumberField:
    """Return a field for a number; how far it may go is as in a kitchen's file."""
    return NumberField(label=label, help_text=help_text, required=required, max_digits=9)


class ThingForm(forms.Form):
    """One thing of a kitchen, of the sort ``thing``. ``more`` names the fields that few need."""

    thing: ClassVar[str]
    more: tuple[str, ...] = ()

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
        things: Things,
        prefix: str | None = None,
        key: str | None = None,
    ) -> None:
        """Offer what the kitchen has; ``key`` is that of a thing it has already."""
        super().__init__(data, initial={**(initial or {})}, prefix=prefix)
        self.things, self.kept_as = things, key
        for name, span in spans_of(self.thing).items():
            field = self.fields.get(name)
            if isinstance(field, NumberField):
                field.keep_within(span.low, span.high, above=span.above)
        self.offer()

    def offer(self) -> None:
        """Fill in the choices that depend on the kitchen."""

    def choose(self, field: str, choices: Choices) -> None:
        """Give a field its choices."""
        chosen = self.fields[field]
        assert isinstance(chosen, forms.ChoiceField)  # noqa: S101 - tells mypy
        chosen.choices = choices

    def values(self) -> dict[str, Any]:
        """Return what the setting holds: what was left empty is left out."""
        nothing: tuple[object, ...] = (None, "", [])
        return {name: value for name, value in self.cleaned_data.items() if value not in nothing}

    def change(self) -> SettingChange:
        """Return what the form says as a change of the kitchen's settings."""
        return SettingChange(
            thing=self.thing,
            key=self.mark if self.kept_as is None else self.kept_as,
            values=self.values(),
            new=self.kept_as is None,
        )

    @property
    def mark(self) -> str:
        """The key that was typed for a new thing; empty: it gets one from its name."""
        return str(self.cleaned_data.get("key", ""))

    def main_fields(self) -> list[forms.BoundField]:
        """Return the fields everybody fills in."""
        return [field for field in self if field.name not in self.more]

    def more_fields(self) -> list[forms.BoundField]:
        """Return the fields that few need."""
        return [field for field in self if field.name in self.more]


class AllergenForm(ThingForm):
    """A thing that may hold allergens: those of the law are ticked, others typed; none is one answer."""

    allergens = forms.MultipleChoiceField(
        required=False,
        choices=[*ALLERGENS, (NONE, _("None of these"))],
        widget=forms.CheckboxSelectMultiple,
        label=_("Allergens"),
        help_text=_("Nothing ticked: not known, and no other fryer is offered for it."),
    )
    further = WordsField(
        required=False,
        max_length=200,
        label=_("What else it holds"),
        help_text=_("Such as meat. Separate with commas."),
    )

    def offer(self) -> None:
        """Tick what is known, and show the kitchen's own words as they are."""
        self.order_fields(["name", "kind"])
        words = self.initial.get("allergens")
        if words is not None:
            known = [allergen(word) for word in words]
            self.initial["allergens"] = [word for word in known if word in set(Allergen)] if words else [NONE]
            self.initial["further"] = [word for word in words if allergen(word) not in set(Allergen)]

    def values(self) -> dict[str, Any]:
        """Return the setting: nothing ticked is not known, and what it holds outweighs a tick at none."""
        found = super().values()
        ticked, further = found.pop("allergens", []), found.pop("further", [])
        words = [*(word for word in ticked if word != NONE), *further]
        return {**found, "allergens": words} if ticked or words else found


def litre_kg_of(things: Things, oil: str) -> float:
    """Return what a litre of one of the kitchen's oils weighs."""
    return float(things.get("oils", {}).get(oil, {}).get("density_kg_per_l") or DENSITY_KG_PER_L)


def things_by_name(things: Things, thing: str) -> Choices:
    """Return the kitchen's things of a sort by name."""
    return [(key, values.get("name") or key) for key, values in things.get(thing, {}).items()]
