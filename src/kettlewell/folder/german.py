"""The words of the log as a German kitchen writes them, for each English one."""

from collections.abc import Iterator, Mapping
from typing import TypeVar

T = TypeVar("T")

COLUMNS = {
    "when": ("wann", "Zeitpunkt"),
    "fryer": ("Fritteuse",),
    "what": ("was", "Vorgang"),
    "amount": ("Menge",),
    "unit": ("Einheit",),
    "product": ("Lebensmittel",),
    "oil": ("Öl",),
    "into": ("nach",),
    "oil_temp": ("Öltemperatur",),
    "meter": ("Messgerät",),
    "lot": ("Charge",),
    "sound": ("einwandfrei",),
    "uncertainty": ("Unsicherheit",),
    "against": ("gegen",),
    "begins": ("ab",),
    "certificate": ("Zertifikat",),
    "polymers": ("Polymere",),
    "until": ("bis",),
    "who": ("wer",),
    "note": ("Notiz",),
}
WHATS = {
    "reading": ("Messung",),
    "lab": ("Labor",),
    "smell": ("Geruch",),
    "top-up": ("Auffüllen", "aufgefüllt"),
    "skim": ("Abschöpfen", "abgeschöpft"),
    "filter": ("Filtern", "gefiltert"),
    "shared-filter": ("Filtern gemeinsam",),
    "adsorbent": ("Adsorbens",),
    "boil-out": ("Auskochen", "ausgekocht"),
    "change": ("Ölwechsel", "Wechsel"),
    "move": ("Umpumpen", "umgepumpt"),
    "store": ("Aufbewahren", "aufbewahrt"),
    "return": ("Zurückfüllen", "zurückgefüllt"),
    "load": ("frittiert",),
    "hot-hours": ("Betriebsstunden",),
    "out-of-order": ("außer Betrieb",),
    "back-in-order": ("wieder in Betrieb",),
    "closed": ("geschlossen",),
    "recall": ("Rückruf",),
    "meter-check": ("Geräteprüfung",),
    "adjusted": ("justiert",),
    "meter-out": ("Messgerät außer Betrieb",),
    "meter-back": ("Messgerät wieder in Betrieb",),
    "comparison": ("Vergleich",),
}
UNITS = {
    "l": ("Liter",),
    "mark": ("Marke",),
    "jug": ("Krug", "Krüge"),
    "pack": ("Gebinde",),
    "portion": ("Portion", "Portionen"),
    "basket": ("Korb", "Körbe"),
    "h": ("Stunde", "Stunden"),
}
ANSWERS = {"yes": ("ja",), "no": ("nein",)}
SENSES = {"spoiled": ("verdorben",), "fine": ("in Ordnung", "gut")}


def with_german(meanings: Mapping[str, T], german: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, T]]:
    """Yield each word with its meaning, the English ones first."""
    yield from meanings.items()
    for english, words in german.items():
        if english in meanings:
            yield from ((word, meanings[english]) for word in words)
