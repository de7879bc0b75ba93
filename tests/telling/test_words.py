"""Sentences, numbers and times as the reader writes them."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from kettlewell.telling import Message, words

NOW = datetime(2026, 11, 15, tzinfo=UTC)


def test_a_time_is_told_as_weekday_and_time_in_the_kitchens_zone(reader):
    summer = replace(reader, now=datetime(2026, 7, 1, tzinfo=UTC))
    assert summer.moment(datetime(2026, 7, 2, 10, 30, tzinfo=UTC)) == "Thu 11:30"


def test_a_time_more_than_six_days_off_has_its_date(reader):
    assert reader.moment(datetime(2026, 11, 23, 11, 30, tzinfo=UTC)) == "Mon 23 Nov 11:30"


def test_numbers_follow_the_readers_locale(reader):
    message = Message(text="{tpc_pct} % in {n} services", values={"tpc_pct": 18.46, "n": 3})
    assert reader.tell(message) == "18.5 % in 3 services"
    assert replace(reader, locale=Locale.parse("de")).tell(message) == "18,5 % in 3 services"


def test_what_is_not_known_says_so(reader):
    assert reader.tell(Message(text="Filled {at}.", values={"at": None})) == "Filled unknown."


@pytest.mark.parametrize(
    ("probability", "told"),
    [
        (0.0, "0 %"),
        (0.004, "under 1 %"),
        (0.05, "5 %"),
        (0.0501, "5.1 %"),
        (0.123, "12 %"),
        (0.996, "over 99 %"),
        (1.0, "100 %"),
    ],
)
def test_only_what_is_certain_reads_as_certain(reader, probability, told):
    assert reader.percent(probability) == told


def test_one_is_counted_as_one(reader):
    assert reader.count(1, "{number} row", "{number} rows") == "1 row"
    assert reader.count(2, "{number} row", "{number} rows") == "2 rows"


@pytest.mark.parametrize("language", ["C", "C.UTF-8", "POSIX", "nonsense", ""])
def test_a_machine_without_a_language_speaks_english(monkeypatch, language):
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.setenv(name, language)
    found = words.reader("Europe/London", datetime(2026, 11, 15, tzinfo=UTC))
    assert found.number(1.5) == "1.5"
    assert found.moment(datetime(2026, 11, 15, 9, 5, tzinfo=UTC)) == "Sun 09:05"


def test_a_catalogue_replaces_the_sentences_and_sets_the_language_of_dates(monkeypatch, tmp_path):
    catalogue = Catalog(locale="de")
    catalogue.add("limit {number}", "Grenze {number}")
    (tmp_path / "locale" / "de" / "LC_MESSAGES").mkdir(parents=True)
    with (tmp_path / "locale" / "de" / "LC_MESSAGES" / "django.mo").open("wb") as file:
        write_mo(file, catalogue)
    monkeypatch.setattr(words, "files", lambda _: tmp_path)
    monkeypatch.setenv("LANGUAGE", "de_AT")
    german = words.reader("Europe/Vienna", datetime(2026, 11, 15, tzinfo=UTC))
    assert german.say("limit {number}", number=24.0) == "Grenze 24"
    assert german.moment(datetime(2026, 11, 16, 11, 30, tzinfo=UTC)) == "Mo. 12:30"


def test_a_language_may_be_asked_for(monkeypatch):
    monkeypatch.setenv("LANGUAGE", "fr")
    for name, told in (("de", "12,5"), ("de-at", "12,5"), ("en", "12.5"), ("en_GB", "12.5")):
        assert words.reader("Europe/London", NOW, locale=name).number(12.5) == told


def test_a_language_that_there_is_not_is_refused():
    with pytest.raises(ValueError, match="no locale 'xx-yy' is known"):
        words.reader("Europe/London", NOW, locale="xx-yy")


def test_an_axis_has_day_and_month(reader):
    assert reader.calendar_day(datetime(2026, 11, 23, 11, 30, tzinfo=UTC)) == "23 Nov"


def test_a_name_that_the_kitchen_chose_is_never_translated():
    german = words.reader("UTC", NOW, locale="de")
    assert german.say("{name}: {what}", name="Chicken", what="owner") == "Chicken: owner"
    assert german.say("{quantity}", quantity="total polar compounds") != "total polar compounds"


@pytest.mark.parametrize(("probability", "told"), [(0.0, "under 1 %"), (1.0, "over 99 %"), (0.25, "25 %")])
def test_a_chance_that_was_worked_out_is_never_certain(reader, probability, told):
    assert reader.chance(probability) == told
    assert reader.say("{passing}", passing=probability) == told
