"""What may be told of one fryer after a service: its row asks for it in the forms of the single acts."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Fryer, find
from kettlewell.book.setup import Setup
from kettlewell.bridge.amounts import food_units, oil_units, usual_load_in
from kettlewell.records import kinds
from kettlewell.records.ids import uuid7
from kettlewell.web.common import Visit
from kettlewell.web.entry.forms import CareForm, LoadForm, OnScreen, TopUpForm, named
from kettlewell.web.round.usual import MARK, in_steps, step_of

CARES = ("skim", "filter")
FOOD_UNITS_AS_OFFERED = ("basket", "portion", "kg")
STARTS_AT_NOTHING = "0"


class ToppedUpForm(TopUpForm):
    """A top-up to the mark by a tick, or by an amount in the measure that the page has."""

    def offer(self) -> None:
        """Say nothing below the amount: the tick stands beside it."""
        super().offer()
        self.fields["amount"].help_text = ""

    def clean(self) -> dict[str, Any]:
        """Refuse an amount beside the mark."""
        if self.cleaned_data.get("unit") == MARK and self.cleaned_data.get("amount"):
            self.add_error("amount", _("To the mark, or an amount? Take one of them away."))
        return super().clean()


class FriedForm(LoadForm):
    """A load of what this fryer usually fries; where that is not known, of what is chosen."""

    def offer(self) -> None:
        """Have product and unit lie behind the amount."""
        super().offer()
        self.fields["amount"].help_text = ""
        self.fields["unit"].widget = forms.HiddenInput()
        known = find(self.setup.kitchen.fryers, self.key).fries
        choices = named(self.setup.kitchen.products)
        self.fields["product"].widget = forms.HiddenInput() if known else forms.Select(choices=choices)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One entry that a row may tell, by its own form: its words, and how an amount is counted.

    Of oil, ``measure`` is the unit of an amount; "" where only the mark is offered.
    """

    kind: str
    prefix: str
    form: OnScreen
    entry_id: UUID
    label: str
    unit: str = ""
    step: Decimal = Decimal(1)
    measure: str = ""
    told: bool = False

    @property
    def entry_name(self) -> str:
        """By what name the id of its entry is sent."""
        return f"{self.prefix}-entry_id"

    @property
    def errors(self) -> Mapping[str, Any]:
        """What is wrong with it."""
        return self.form.errors if self.told else {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """In what oil and food are measured: oil in one unit, food by product, or all of it in one."""

    oil: str
    food: Mapping[str, str]
    all_food: str = ""

    def of_food(self, setup: Setup, product: str) -> str:
        """Return the unit of a product, one that this kitchen can weigh."""
        known = food_units(setup, product)
        wanted = (self.all_food, self.food.get(product, ""), *FOOD_UNITS_AS_OFFERED)
        return next(unit for unit in wanted if unit in known)


def parts_of(
    visit: Visit,
    setup: Setup,
    bath: Fryer,
    measures: Measures,
    *,
    worked: bool,
    sent: QueryDict | None,
) -> list[Part]:
    """Return what may be told of a fryer that ``worked`` in the service, as ``sent`` or to begin with."""
    number = [fryer.key for fryer in setup.kitchen.fryers].index(bath.key)

    def part(kind: str, form: type[OnScreen], prefix: str, initial: Mapping[str, Any], **about: Any) -> Part:  # noqa: ANN401 - what a part is about
        data = within(sent, prefix) if sent is not None else None
        told = data is not None and tells(data, prefix)
        if data is not None and "amount" in initial:
            initial = {**initial, "amount": STARTS_AT_NOTHING}
        return Part(
            kind=kind,
            prefix=prefix,
            form=form(
                data if told else None,
                initial=initial,
                setup=setup,
                fryer=bath.key,
                prefix=prefix,
                auto_id=f"r{number}_%s",
            ),
            entry_id=uuid7(visit.now),
            told=told,
            **about,
        )

    def all_parts() -> Iterator[Part]:
        measure = measures.oil if measures.oil in oil_units(setup, bath.key) else MARK
        yield part(
            "top_up",
            ToppedUpForm,
            "top_up",
            {},
            label=str(_("Oil")),
            unit=str(dict(kinds.OIL_UNITS)[measure]),
            step=step_of(measure, 0),
            measure="" if measure == MARK else measure,
        )
        for care in CARES:
            yield part("care", CareForm, care, {}, label=str(CARE_WORDS[care]))
        for n, product in enumerate(bath.fries or first_product(setup)):
            unit = measures.of_food(setup, product)
            usual = usual_load_in(setup, bath.key, product, unit)
            step = step_of(unit, usual)
            starts = in_steps(usual, step) if worked and bath.fries else STARTS_AT_NOTHING
            yield part(
                "load",
                FriedForm,
                f"load{n}",
                {"product": product, "unit": unit, "amount": starts},
                label=find(setup.kitchen.products, product).name,
                unit=str(dict(kinds.FOOD_UNITS)[unit]),
                step=step,
            )

    return list(all_parts())


CARE_WORDS = {"skim": _("Skimmed"), "filter": _("Filtered")}


def first_product(setup: Setup) -> list[str]:
    """Return the first product of a kitchen, as what is chosen to begin with; none where it has none."""
    return [product.key for product in setup.kitchen.products[:1]]


def within(sent: QueryDict, prefix: str) -> QueryDict:
    """Return what was sent of one part, a top-up with the unit in which its amount is measured."""
    data = QueryDict(mutable=True)
    for name in sent:
        if name.startswith(f"{prefix}-"):
            data.setlist(name, sent.getlist(name))
    if prefix == "top_up" and not data.get("top_up-unit") and is_some(data.get("top_up-amount", "")):
        data["top_up-unit"] = data.get("top_up-measure", "")
    return data


def tells(data: QueryDict, prefix: str) -> bool:
    """Tell whether a part says anything: something ticked, or an amount that is not nothing."""
    ticked = data.get("top_up-unit" if prefix == "top_up" else f"{prefix}-care")
    return bool(ticked) or is_some(data.get(f"{prefix}-amount", ""))


def is_some(typed: str) -> bool:
    """Tell whether an amount was typed that is not nothing; what is no number is to be asked about."""
    typed = typed.strip().replace(",", ".")
    try:
        return bool(typed) and Decimal(typed) != 0
    except InvalidOperation:
        return True
