"""The forms of a table that is brought in: its file, and how it is to be read."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from kettlewell.bridge.tables import Opened
from kettlewell.records.kinds import OIL_UNITS
from kettlewell.tables.asking import CONDITIONS, DECIMALS, ORDERS, QUESTIONS, ROLES
from kettlewell.tables.recipe import ACTS, LEFT_OUT, Column, Conditions, Decimals, Order, Recipe, Role
from kettlewell.tables.sheets import MOST_BYTES
from kettlewell.telling import N_

TOO_LARGE = _("The file is larger than 10 MB. Take it apart, a year in each file.")
MOST_WORDS = 60  # of fryers: where there are more the column holds something else
OF_FRYERS = ACTS | {Role.OIL_TEMP}
WHICH = N_("Which fryer is “%(word)s”?")
UNTITLED = N_("Column %(number)s")
NO_CHOICE = ("", _("Choose"))


class TableForm(forms.Form):
    """The file of a table."""

    table = forms.FileField(
        label=_("The table"),
        help_text=_("CSV or a workbook (.xlsx), up to 10 MB."),
        widget=forms.FileInput(
            attrs={"accept": ".csv,.tsv,.txt,.xlsx", "data-most": MOST_BYTES, "data-too-large": TOO_LARGE}
        ),
    )

    def clean_table(self) -> Any:  # noqa: ANN401 - Django's
        """Refuse a file that is too large."""
        table = self.cleaned_data["table"]
        if table.size > MOST_BYTES:
            raise ValidationError(TOO_LARGE)
        return table


class RecipeForm(forms.Form):
    """How a table is read: a question for each column, each word for a fryer, and the rest once."""

    def __init__(self, opened: Opened, sent: Mapping[str, str] | None) -> None:
        """Ask with what is guessed as the answer."""
        super().__init__(sent)
        self.opened, self.recipe = opened, opened.guess.recipe
        self.words = list(self.recipe.fryers)[:MOST_WORDS]
        for place, column in enumerate(self.recipe.columns):
            self.fields[f"column_{place}"] = chosen(
                ((role.value, _now(words)) for role, words in ROLES.items()),
                label=column.title or _now(UNTITLED) % {"number": place + 1},
                initial=column.role.value,
            )
        self.ask_fryers()
        self.ask_the_rest()

    def ask_fryers(self) -> None:
        """Ask of each word which fryer is meant."""
        known = [
            NO_CHOICE,
            *self.opened.place.fryers.items(),
            (LEFT_OUT, _("None of these: leave its rows out")),
        ]
        for number, word in enumerate(self.words):
            named = _now(WHICH) % {"word": word} if word else _now(QUESTIONS["fryers"])
            self.fields[f"fryer_{number}"] = chosen(
                known, label=named, initial=self.recipe.fryers[word], required=False
            )

    def ask_the_rest(self) -> None:
        """Ask what is asked once for a table, of what is in it."""
        recipe, others = self.recipe, self.opened.sheet.others
        self.fields["order"] = once("order", ORDERS, recipe.order)
        self.fields["clock"] = forms.TimeField(
            label=_now(QUESTIONS["clock"]),
            initial=recipe.clock,
            widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
        )
        units = [NO_CHOICE, *OIL_UNITS]
        self.fields["unit"] = chosen(
            units, label=_now(QUESTIONS["unit"]), initial=recipe.unit, required=False
        )
        meters = [("", _("It is not known")), *self.opened.place.meters.items()]
        self.fields["meter"] = chosen(
            meters, label=_now(QUESTIONS["meter"]), initial=recipe.meter, required=False
        )
        self.fields["conditions"] = once("conditions", CONDITIONS, recipe.conditions)
        self.fields["decimals"] = once("decimals", DECIMALS, recipe.decimals)
        degrees = (("c", "°C"), ("f", "°F"))
        hot = "f" if recipe.fahrenheit else "c"
        self.fields["degrees"] = chosen(degrees, label=_("Temperatures are in"), initial=hot)
        of_above = (("", _("cannot be used")), ("yes", _("is of the day above it")))
        above = "yes" if recipe.repeats else ""
        self.fields["repeats"] = chosen(
            of_above, label=_("A row without a day"), initial=above, required=False
        )
        if others:
            here = self.opened.sheet.name
            sheets = ((name, name) for name in (here, *others))
            self.fields["sheet"] = chosen(sheets, label=_("Sheet of the workbook"), initial=here)

    def doubtful(self) -> list[str]:
        """Return the names of the fields that somebody should look at, in their order."""
        doubts = self.opened.guess.doubtful
        of_fryers = [
            f"fryer_{number}"
            for number, word in enumerate(self.words)
            if "fryers" in doubts
            and (word not in self.opened.place.fryers.values() or not self.recipe.fryers[word])
        ]
        return [*of_fryers, *(name for name in ("order", "unit", "clock", "meter") if name in doubts)]

    def told(self) -> Recipe:
        """Return the recipe as it was answered."""
        said = self.cleaned_data
        roles = [Role(said[f"column_{place}"]) for place in range(len(self.recipe.columns))]
        return replace(
            self.recipe,
            columns=tuple(columns_told(self.recipe.columns, roles)),
            order=Order(said["order"]),
            clock=f"{said['clock']:%H:%M}",
            unit=said["unit"],
            meter=said["meter"],
            conditions=Conditions(said["conditions"]),
            decimals=Decimals(said["decimals"]),
            fahrenheit=said["degrees"] == "f",
            repeats=bool(said["repeats"]),
            fryers={word: said[f"fryer_{number}"] for number, word in enumerate(self.words)},
        )


def chosen(choices: Iterable[tuple[str, Any]], **more: Any) -> forms.ChoiceField:  # noqa: ANN401 - Django's
    """Return a field that offers choices in a list."""
    return forms.ChoiceField(choices=list(choices), **more)


def once(name: str, words: Mapping[Any, str], now: str) -> forms.ChoiceField:
    """Return a field for an answer that is one of a few."""
    labels = {
        "order": QUESTIONS["order"],
        "conditions": _("Were the readings taken as they should be?"),
        "decimals": _("Before the decimals stands"),
    }
    choices = ((key.value, _now(text)) for key, text in words.items())
    return chosen(choices, label=_now(str(labels[name])), initial=now)


def columns_told(columns: tuple[Column, ...], roles: list[Role]) -> Iterable[Column]:
    """Yield columns with the roles that somebody chose, each of its fryer where no column names them.

    Of several columns of readings each is of one fryer, whose name then is its title.
    """
    by_row = Role.FRYER in roles
    several = sum(role is Role.READING for role in roles) > 1
    for column, role in zip(columns, roles, strict=True):
        named = column.fryer or (column.title if several and role is Role.READING else "")
        yield replace(column, role=role, fryer=named if role in OF_FRYERS and not by_row else "")
