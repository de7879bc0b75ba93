"""The German catalogue: complete, true to the texts, compiled, and what a German kitchen reads."""

import ast
import html
import re
import runpy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from string import Formatter

import pytest
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po
from click.testing import CliRunner
from django.urls import reverse

from kettlewell import clock
from kettlewell.bridge.verdicts import record
from kettlewell.cli import commands
from kettlewell.folder import MARROWBY
from kettlewell.records.ids import uuid7
from kettlewell.records.ledger import Hand, Told
from kettlewell.telling import reader
from kettlewell.telling.verdicts import VERDICTS, next_act, picture_in_words, services_left, verdict_words

ROOT = Path(__file__).parent.parent
GERMAN = ROOT / "src" / "kettlewell" / "locale" / "de" / "LC_MESSAGES" / "django.po"
NOW = datetime(2026, 11, 15, 21, 30, tzinfo=UTC)
SOUND = {"no_food": "yes", "no_bubbles": "yes", "probe_clear": "yes", "steady": "yes"}


@pytest.fixture(scope="module")
def texts():
    """Every text of the program, as the tool finds them."""
    return runpy.run_path(str(ROOT / "tools" / "catalogue.py"))["extracted"]()


@pytest.mark.parametrize("path", sorted((ROOT / "src").rglob("*.py")), ids=lambda path: path.stem)
def test_no_text_stands_within_another_where_it_is_not_found(path):
    """A text in braces of a formatted one is not taken up by what gathers the texts."""
    formatted = [node for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.JoinedStr)]
    calls = (each for node in formatted for each in ast.walk(node) if isinstance(each, ast.Call))
    assert [call.lineno for call in calls if getattr(call.func, "id", "") in {"N_", "_"}] == []


ON_A_COOKS_SCREENS = re.compile(r"kettlewell/(book|bridge|telling|web)/(?!.*(setup|account|inspection))")
MOST_WORDS = 25
RETIRED = {
    "en": (
        "by the book",
        "sound reading",
        "stands past",
        "book expects",
        "thrown away",
        "give or take",
        "another reading",
        "ead again",
    ),
    "de": (
        "Wandkarte",
        "Tagebuch",
        "Befund",
        "mehr oder weniger",
        "plus/minus",
        "Weggeworfen",
        "Essen",
        "ochmals messen",
    ),
}


def sentences(catalogue):
    """Yield language and sentence of every text on a cook's screens."""
    for message in catalogue:
        if not (message.id and any(ON_A_COOKS_SCREENS.match(path) for path, _ in message.locations)):
            continue
        for language, said in (("en", message.id), ("de", message.string)):
            for text in [said] if isinstance(said, str) else said:
                yield from ((language, sentence) for sentence in re.split(r"(?<=[.!?:;])\s", text))


def test_no_sentence_on_a_cooks_screens_is_longer_than_a_tired_cook_reads(catalogue):
    told = list(sentences(catalogue))
    assert len(told) > 1000
    assert [sentence for _, sentence in told if len(sentence.split()) > MOST_WORDS] == []


def test_no_retired_word_is_left(catalogue):
    told = list(sentences(catalogue))
    found = {(old, text) for language, text in told for old in RETIRED[language] if old in text}
    assert found == set()


@pytest.fixture(scope="module")
def catalogue():
    with GERMAN.open("rb") as file:
        return read_po(file, locale="de", abort_invalid=True)


@pytest.fixture
def german():
    return reader("Europe/London", NOW, locale="de")


def keyed(catalogue):
    return {(forms(message.id), context_of(message)): message for message in catalogue if message.id}


def context_of(message):
    """Return the context of a text; Babel reads it from a compiled catalogue as bytes."""
    return message.context.decode() if isinstance(message.context, bytes) else message.context


def forms(text):
    return (text,) if isinstance(text, str) else tuple(text)


def placeholders(text):
    """Return the {fields} and %(names)s of a text, and its doubled percent signs."""
    fields = {name for _, name, _, _ in Formatter().parse(text) if name is not None}
    return fields, set(re.findall(r"%\(\w+\)[sd]", text)), text.count("%%")


def test_the_catalogue_has_the_texts_of_today_and_no_others(texts, catalogue):
    """Else run python tools/catalogue.py and translate what it lists."""
    said, held = keyed(texts), keyed(catalogue)
    assert sorted(map(str, said.keys() - held.keys())) == []
    assert sorted(map(str, held.keys() - said.keys())) == []
    assert not catalogue.obsolete
    assert {key: one.locations for key, one in held.items()} == {
        key: [(place, None) for place in sorted({place for place, _ in one.locations})]
        for key, one in said.items()
    }


def test_every_text_has_a_german_one_and_none_is_a_guess(catalogue):
    lacking = [message.id for message in catalogue if message.id and not all(forms(message.string))]
    assert lacking == []
    assert [message.id for message in catalogue if message.id and message.fuzzy] == []


def test_placeholders_are_those_of_the_english_text(catalogue):
    wrong = [
        message.id
        for message in catalogue
        if message.id
        for text, own in zip(forms(message.id), forms(message.string), strict=True)
        if placeholders(text) != placeholders(own)
    ]
    assert wrong == []


def test_german_has_one_form_for_one_and_another_for_more(catalogue, german):
    assert (catalogue.num_plurals, catalogue.plural_expr) == (2, "(n != 1)")
    texts = ("{number} row can be used.", "{number} rows can be used.")
    told = [german.count(number, *texts) for number in (0, 1, 2)]
    assert told == ["0 Zeilen sind brauchbar.", "1 Zeile ist brauchbar.", "2 Zeilen sind brauchbar."]


def test_what_is_compiled_is_what_is_written(catalogue):
    with GERMAN.with_suffix(".mo").open("rb") as file:
        compiled = read_mo(file)
    assert {key: forms(one.string) for key, one in keyed(compiled).items()} == {
        key: forms(one.string) for key, one in keyed(catalogue).items()
    }
    assert compiled.plural_expr == catalogue.plural_expr


def test_a_fryer_is_told_in_german(german, change_before, fry_on):
    assert verdict_words(change_before, german) == "Nicht frittieren, ausschalten"
    assert re.fullmatch(
        r"Reicht noch für etwa 4 Services\. Ölwechsel voraussichtlich vor \w+ am Fr\.",
        services_left(fry_on, german),
    )
    assert next_act(fry_on, german) == "Als Nächstes: bis Mi 11:30 messen."
    assert picture_in_words(fry_on, german) == (
        "Polare Anteile jetzt etwa 15,3 % (± 1,1). Der Grenzwert ist 24 %. "
        "Nach den nächsten 3 Services etwa 16,5; 17,7; 18,9."
    )


def test_times_stand_in_german_order(german):
    far = datetime(2026, 12, 3, 11, 30, tzinfo=UTC)
    assert german.moment(NOW + timedelta(days=1)) == "Mo 21:30"
    assert german.moment(far) == "Do 3. Dez 11:30"
    assert german.day(far) == "Do 3. Dez"
    assert german.date(far) == "Do 3. Dez 2026, 11:30"
    assert german.calendar_day(far) == "3. Dez"


def test_the_commands_speak_german_where_the_machine_does(monkeypatch):
    for name in ("LANGUAGE", "LC_MESSAGES", "LANG", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LC_ALL", "de_DE.UTF-8")
    result = CliRunner().invoke(commands.app, ["assess", str(MARROWBY), "--at", "2026-11-25T12:00:00Z"])
    assert result.exit_code == 0
    assert result.stderr.startswith("Alle Zeilen von log.csv bis auf 3 wurden verwendet.")
    assert re.search(r"Polare Anteile jetzt etwa \d+,\d % \(±", result.stdout)
    assert "Beurteilt: polare Anteile, Grenzwert 24 %." in result.stdout
    assert not [words for words in VERDICTS.values() if words in result.stdout]


def test_the_screens_speak_german_to_a_german_browser(marrowby, cook, signed_in):
    now = clock.now()
    for kind, hours, payload in (
        ("change", 72, {"fryer": "F1"}),
        ("reading", 2, {"fryer": "F1", "tpc_pct": "12.5", **SOUND}),
    ):
        told = Told(id=uuid7(now), kind=kind, happened_at=now - timedelta(hours=hours), payload=payload)
        record(marrowby, told, Hand(person=cook, now=now))
    browser = signed_in(cook)
    book, line = (
        html.unescape(
            browser.get(
                reverse(name, args=[marrowby.slug]), headers={"accept-language": "de"}
            ).content.decode()
        )
        for name in ("book", "line")
    )
    assert "<h1>Ölbuch</h1>" in book
    assert "gemessen: 12,5 %." in book
    assert "geleert und frisch gefüllt" in book
    assert "Reicht noch für" in line
    assert "Services left" not in line
