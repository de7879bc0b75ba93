"""What hangs in the kitchen: sheets to write on when everything is down, and labels that phones read."""

from collections.abc import Iterator
from urllib.parse import urlencode, urljoin

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from kettlewell.bridge.setups import setup_of
from kettlewell.marks.qr import qr_printed
from kettlewell.pages.blocks import Block, Heading, Label, Labels, Table, Text
from kettlewell.web.common import Visit
from kettlewell.web.setup.reached import phones_at

ROWS = 17  # fit on one sheet, counted on A4


def blank_sheet() -> Iterator[Block]:
    """Yield a sheet to write on by hand until the program runs again."""
    yield Heading(text=_("Written by hand"))
    yield Text(
        text=_("Hot oil burns: dry gloves, dry probe. Switch it off before you drain it."), weight="framed"
    )
    yield Text(text=_("Oil that smells, smokes or foams is changed, whatever the number."), weight="strong")
    yield Table(
        columns=[
            _("Day and time"),
            _("Fryer"),
            _("Read, %"),
            _("Oil, °C"),
            _("No food, no bubbles, probe clear, steady"),
            _("Topped up"),
            _("What was fried, how much"),
            _("What was done"),
            _("Who"),
        ],
        rows=[[""] * 9] * ROWS,
        widths=[1.3, 1, 0.7, 0.7, 1.5, 0.9, 1.7, 1.8, 0.9],
        empty="",
        to_fill=True,
    )
    yield Text(
        text=_(
            "Type it in when the program runs again, each with the time it happened, "
            "and tick “From a sheet of paper”. Keep this sheet."
        ),
        weight="small",
    )


def labels_of(request: HttpRequest, visit: Visit) -> list[Label]:
    """Return a label for each fryer and meter; none where phones have no address to reach the server by."""
    at, slug = phones_at(request), visit.kitchen.slug
    if not at:
        return []
    kitchen = setup_of(visit.kitchen).kitchen
    fryers = [
        Label(
            svg=str(qr_printed(urljoin(at, reverse("fryer", args=(slug, fryer.key))))),
            name=fryer.name if fryer.name == fryer.key else f"{fryer.name} ({fryer.key})",
            below=_("How the oil stands, and what to write down"),
        )
        for fryer in kitchen.fryers
    ]
    check = reverse("meter-check", args=(slug,))
    meters = [
        Label(
            svg=str(qr_printed(urljoin(at, f"{check}?{urlencode({'meter': meter.key})}"))),
            name=meter.name,
            below=_("Check this meter"),
        )
        for meter in kitchen.meters
    ]
    return [*fryers, *meters]


def label_sheet(labels: list[Label]) -> Iterator[Block]:
    """Yield labels to cut out."""
    yield Heading(text=_("Labels"))
    yield Text(text=_("Cut out, and stick where no hot oil reaches. A phone's camera opens the page."))
    yield Labels(labels=labels)
