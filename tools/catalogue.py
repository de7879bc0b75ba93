"""Take the program's texts into the catalogues and compile them.

python tools/catalogue.py    after a text has changed; then translate what it lists

Places are named without line numbers and the dates stay, so that a catalogue changes only
where a text does. A text that is no longer said goes; a new one is never guessed at.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from pathlib import Path

from babel.messages import Catalog, Message
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po
from django.utils.translation.template import templatize

SOURCE = Path(__file__).resolve().parents[1] / "src"
PACKAGE = SOURCE / "kettlewell"
LOCALES = PACKAGE / "locale"
DATA = PACKAGE / "core" / "data"
# what a limit is on, how it binds, and what is remarked on a number, is told as the data have it
DATA_TEXTS = {
    "limits.csv": ("quantity", "force", "remark"),
    "oils.csv": ("source",),
    "foods.csv": ("source",),
}
# Which arguments of a call are texts: the context (c), the text, its plural.
KEYWORDS: dict[str, tuple[int | tuple[int, str], ...] | None] = {
    "N_": None,
    "NN_": (1, 2),
    "_": None,
    "gettext": None,
    "gettext_noop": None,
    "gettext_lazy": None,
    "ngettext": (1, 2),
    "ngettext_lazy": (1, 2),
    "pgettext": ((1, "c"), 2),
    "pgettext_lazy": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
    "count": (2, 3),
}
WIDTH = 100


def sources() -> Iterator[tuple[str, str]]:
    """Yield each place that says texts, from src on, and what it says as Python calls."""
    for path in sorted(PACKAGE.rglob("*.py")):
        yield path.relative_to(SOURCE).as_posix(), path.read_text("utf-8")
    for path in sorted(PACKAGE.rglob("*.html")):
        place = path.relative_to(SOURCE).as_posix()
        yield place, templatize(path.read_text("utf-8"), origin=place)
    for name, columns in DATA_TEXTS.items():
        path = DATA / name
        with path.open(encoding="utf-8", newline="") as file:
            texts = {row[column] for row in csv.DictReader(file) for column in columns} - {""}
        yield path.relative_to(SOURCE).as_posix(), "".join(f"N_({text!r})\n" for text in texts)


def extracted() -> Catalog:
    """Return every text that can be translated, with the places that say it."""
    found = Catalog(project="Kettlewell")
    for place, code in sources():
        calls = extract("python", io.BytesIO(code.encode()), KEYWORDS, options={"encoding": "utf-8"})
        for line, text, _, context in calls:
            found.add(text, locations=[(place, line)], context=context)
    return found


def read(path: Path) -> Catalog:
    """Return the catalogue of a .po file; a faulty line raises PoFileError."""
    with path.open("rb") as file:
        return read_po(file, locale=path.parts[-3], domain="django", abort_invalid=True)


def updated(catalogue: Catalog, texts: Catalog) -> Catalog:
    """Return the catalogue with the texts said today, and only those."""
    texts.creation_date = catalogue.creation_date
    catalogue.update(texts, no_fuzzy_matching=True, update_creation_date=False)
    catalogue.obsolete.clear()
    for message in catalogue:
        # "5 % of" only looks like a % format; a text has one kind of placeholder
        if "python-brace-format" in message.flags:
            message.flags.discard("python-format")
    return catalogue


def untranslated(catalogue: Catalog) -> Iterable[Message]:
    """Return the messages that lack a text, or one of its plural forms."""
    return [
        message
        for message in catalogue
        if message.id
        and not all(message.string if isinstance(message.string, (tuple, list)) else [message.string])
    ]


def main() -> None:
    """Update and compile every catalogue; print what is still to be translated."""
    texts = extracted()
    for path in sorted(LOCALES.glob("*/LC_MESSAGES/django.po")):
        catalogue = updated(read(path), texts)
        with path.open("wb") as file:
            write_po(file, catalogue, width=WIDTH, sort_output=True, include_lineno=False)
        with path.with_suffix(".mo").open("wb") as file:
            write_mo(file, catalogue)
        lacking = untranslated(catalogue)
        print(f"{path.relative_to(SOURCE)}: {len(catalogue)} texts, {len(lacking)} without translation")
        for message in lacking:
            print(f"  {message.id!r}")


if __name__ == "__main__":
    main()
