"""Old oil: what was drained by the day book, what was handed over, and what makes a hand-over true."""

from dataclasses import dataclass
from datetime import datetime

from babel.numbers import get_currency_precision, list_currencies
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from kettlewell.book import Change, Return, Store, in_order
from kettlewell.book.lots import poured
from kettlewell.book.units import oil_mass_kg
from kettlewell.bridge.accounts import MOVES_OIL, fryers_ever
from kettlewell.bridge.entries import core_entries
from kettlewell.bridge.setups import history_of
from kettlewell.records.models import Entry, Kitchen
from kettlewell.records.selectors import of_vessels, standing_of


@dataclass(frozen=True, slots=True, kw_only=True)
class OldOil:
    """What was drained, about, in so many drainings; what was handed over, the newest first.

    Of ``unknown`` hand-overs nobody knows how much it was: they are in no sum.
    """

    drained_kg: float
    drainings: int
    handed: tuple[Entry, ...]

    @property
    def handed_kg(self) -> float:
        """How much was handed over, as far as it is known."""
        return sum(kg for entry in self.handed if (kg := handed_kg(entry)) is not None)

    @property
    def unknown(self) -> int:
        """Of how many hand-overs nobody knows how much it was."""
        return sum(handed_kg(entry) is None for entry in self.handed)

    @property
    def there_kg(self) -> float:
        """How much stands in the yard, about; below 0 where more was handed over than drained."""
        return self.drained_kg - self.handed_kg


def old_oil(kitchen: Kitchen, now: datetime) -> OldOil:
    """Return the balance of old oil by the whole day book.

    The account of oil follows what was written. Food carries oil away unwritten, so that it is about so
    much; what a top-up or a move leaves no room for had gone that way.
    """
    history = history_of(kitchen)
    rows = of_vessels(kitchen, fryers_ever(history), MOVES_OIL | {"top_up"}).filter(at__lte=now)
    walked = list(poured(in_order(core_entries(rows)), history))
    drained = [
        sum(pour.kg for pour in each.pours if pour.into is None)
        for each in walked
        if isinstance(each.entry, Change | Store | Return)
    ]
    return OldOil(
        drained_kg=sum(drained),
        drainings=sum(kg > 0 for kg in drained),
        handed=tuple(standing_of(kitchen, "collected")),
    )


def handed_kg(entry: Entry) -> float | None:
    """Return how much was handed over; None where nobody knows."""
    said = entry.payload
    if "mass_kg" in said:
        return float(said["mass_kg"])
    if "containers" in said:
        return oil_mass_kg(float(said["containers"]) * float(said["container_l"]))
    return None


def check_collected(entry: Entry) -> None:
    """Raise ValidationError for half an amount, half a payment, and for a currency that there is not."""
    if entry.kind != "collected":
        return
    said = entry.payload
    for name, other in (("containers", "container_l"), ("paid", "currency")):
        if (name in said) is not (other in said):
            raise ValidationError({other if name in said else name: _("Give both, or neither.")})
    currency = said.get("currency", "")
    if currency and currency not in list_currencies():
        raise ValidationError({"currency": _("There is no such currency: three letters, as EUR (ISO 4217).")})
    if currency and len(said["paid"].partition(".")[2]) > get_currency_precision(currency):
        raise ValidationError({"paid": _("This currency has fewer decimals.")})
