"""What is printed: a sheet as a PDF that names its kitchen and up to where its day book is."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils import translation
from django.utils.translation import get_language

from kettlewell.pages.blocks import Block, Sheet
from kettlewell.pages.typesetting import typeset
from kettlewell.records.settings import kitchen_name, settings_of
from kettlewell.web.common import Visit, reader_of
from kettlewell.web.entry.codes import noted


@contextmanager
def in_its_language(visit: Visit) -> Iterator[Visit]:
    """Have what is printed meanwhile told in the kitchen's own language, where it has one of its own.

    Whoever reads it keeps the region, and with it how numbers are written.
    """
    language = settings_of(visit.kitchen).get("kitchen", {}).get("", {}).get("language", "")
    if not language or visit.reader.locale.language == language:
        yield visit
        return
    with translation.override(language):
        yield replace(visit, reader=reader_of(visit.reader.zone.key, visit.now))


INKED = (
    'xmlns="http://www.w3.org/2000/svg" fill="none" stroke="#000" stroke-width="2.5" '
    'stroke-linecap="round" stroke-linejoin="round"'
)


def drawn(picture: str) -> str:
    """Return a picture of the screens as a drawing that stands by itself, for paper."""
    return render_to_string(f"web/pictures/{picture}.svg").replace('class="picture"', INKED)


def as_pdf(sheet: Sheet, about: str, visit: Visit) -> HttpResponse:
    """Return a sheet, to be shown in the browser, and by what name to keep it."""
    answer = HttpResponse(typeset(sheet), content_type="application/pdf")
    answer["Cache-Control"] = "private, no-store"
    answer["Content-Disposition"] = f'inline; filename="kettlewell-{visit.kitchen.slug}-{about}.pdf"'
    return answer


def sheet_of(visit: Visit, title: str, blocks: Sequence[Block], **more: Any) -> Sheet:  # noqa: ANN401
    """Return a sheet of these blocks that names the kitchen and where its day book stands."""
    kitchen = visit.kitchen
    return Sheet(
        title=title,
        language=(get_language() or "en").partition("-")[0],
        dated=visit.reader.today,
        head=kitchen_name(kitchen),
        foot=noted(kitchen),
        blocks=blocks,
        **more,
    )
