"""The words that head the columns of a kitchen's tables, in English, German and French."""

from collections.abc import Iterator, Mapping
from functools import cache

from babel import Locale

from kettlewell.folder.words import squeezed
from kettlewell.tables.recipe import Role

LANGUAGES = ("en", "de", "fr")
SHORT = 3  # letters up to which a word has to stand alone: "par" is not in "Partikel"

# the first that fits wins: the temperature of a reading is no reading
TITLES: Mapping[Role, tuple[str, ...]] = {
    Role.CLOCK: ("time", "clock", "uhrzeit", "zeit", "uhr", "heure"),
    Role.DAY: ("date", "day", "datum", "tag", "jour", "when", "wann"),
    Role.OIL_TEMP: ("temp", "°c", "°f", "grad", "degrés"),
    Role.TOP_UP: (
        "top-up",
        "topped",
        "added",
        "refill",
        "nachgefüllt",
        "nachfüllen",
        "aufgefüllt",
        "auffüllen",
        "ajout",
        "appoint",
        "complément",
    ),
    Role.CHANGE: ("change", "wechsel", "gewechselt", "vidange", "changement", "changé", "new oil"),
    Role.READING: (
        "tpc",
        "tpm",
        "polar",
        "polaires",
        "reading",
        "messwert",
        "messung",
        "mesure",
        "result",
        "ergebnis",
    ),
    Role.FRYER: ("fryer", "fritteuse", "friteuse", "fritöse", "bath", "becken", "bac", "appliance"),
    Role.UNIT: ("unit", "einheit", "unité"),
    Role.AMOUNT: ("amount", "quantity", "menge", "quantité", "value", "wert", "valeur"),
    Role.WHAT: ("what", "vorgang", "was", "action", "opération"),
    Role.WHO: (
        "who",
        "by",
        "initials",
        "name",
        "signed",
        "wer",
        "kürzel",
        "visum",
        "unterschrift",
        "par",
        "qui",
        "initiales",
        "signature",
    ),
    Role.NOTE: ("note", "notes", "remark", "comment", "bemerkung", "notiz", "kommentar", "remarque"),
}
YES = ("yes", "y", "x", "✓", "✔", "ok", "1", "1.0", "ja", "j", "oui", "o", "changed", "gewechselt", "changé")
NO = ("no", "n", "0", "0.0", "nein", "non")
BLANK = frozenset({"-", "–", "—", "/", ".", "n/a", "na", "./."})
WHATS: Mapping[Role, tuple[str, ...]] = {
    Role.READING: ("reading", "messung", "messwert", "mesure"),
    Role.TOP_UP: ("top-up", "topped up", "auffüllen", "aufgefüllt", "nachgefüllt", "appoint", "ajout"),
    Role.CHANGE: ("change", "oil change", "ölwechsel", "wechsel", "changement", "vidange"),
}
UNITS: Mapping[str, tuple[str, ...]] = {
    "kg": ("kg", "kilo", "kilos"),
    "l": ("l", "ltr", "litre", "litres", "liter", "liters"),
    "jug": ("jug", "jugs", "krug", "krüge", "cruche", "cruches"),
    "pack": ("pack", "packs", "gebinde", "bidon", "bidons"),
    "mark": ("mark", "marke", "repère"),
}
HOTTER = ("°f", "fahrenheit")


def role_of(title: str) -> Role | None:
    """Return what a column means by its title; None where no word of it is known."""
    return next((role for role, words in TITLES.items() if any(has(title, word) for word in words)), None)


def has(title: str, word: str) -> bool:
    """Tell whether a word is in a title: a short one by itself, a longer one also within others."""
    folded = title.casefold()
    if len(word) > SHORT:
        return squeezed(word) in squeezed(title)
    return word in folded if not word.isalnum() else word in tokens(folded)


def tokens(text: str) -> list[str]:
    """Return the words of a text."""
    return "".join(sign if sign.isalnum() else " " for sign in text).split()


def unit_in(title: str) -> str:
    """Return in which unit of oil a title says that amounts are; "" where it does not."""
    told = [unit for unit, words in UNITS.items() if set(words) & set(tokens(title.casefold()))]
    return told[0] if len(told) == 1 else ""


@cache
def meanings(of: str) -> Mapping[str, str | bool | Role]:
    """Return what words in cells mean, squeezed: of ``units``, ``answers`` or ``whats``."""
    choices: dict[str, Iterator[tuple[str | bool | Role, tuple[str, ...]]]] = {
        "units": iter(UNITS.items()),
        "answers": iter(((True, YES), (False, NO))),
        "whats": iter(WHATS.items()),
    }
    return {squeezed(word): meaning for meaning, words in choices[of] for word in words}


@cache
def months() -> Mapping[str, int]:
    """Return the number of each month by its names in these languages, long and short."""
    return dict(_named("months"))


@cache
def weekdays() -> frozenset[str]:
    """Return the names of weekdays in these languages, long and short."""
    return frozenset(name for name, _ in _named("days"))


def _named(what: str) -> Iterator[tuple[str, int]]:
    for language in LANGUAGES:
        for widths in getattr(Locale.parse(language), what).values():
            for width in ("wide", "abbreviated", "short"):
                yield from ((squeezed(name), number) for number, name in widths.get(width, {}).items())
    if what == "months":  # as they are cut short by hand
        yield from ((name, number) for name, number in (("sept", 9), ("mär", 3), ("mrz", 3), ("jän", 1)))
