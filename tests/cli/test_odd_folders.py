"""Whatever stands in a kitchen's folder, the commands answer or refuse in a sentence: a thousand of them."""

import json
import random
import resource

import pytest
from click.testing import CliRunner

from kettlewell.book.settings import TABLES, THINGS, Setting, SettingType
from kettlewell.cli import commands
from kettlewell.folder.acts import BUILDERS
from kettlewell.folder.meters import METER_BUILDERS
from kettlewell.folder.plainly import PLAIN_BUILDERS
from kettlewell.folder.words import COLUMNS

PARTS, FOLDERS = 10, 100
MOST_S, MOST_BYTES_MORE = 5, 500_000_000
NOW = "2026-09-14 10:00"
TEXTS = [
    "F1",
    "f 1",
    "Left\\u202e",
    "\\u001b[2J",
    "",
    " ",
    "x" * 600,
    "rapeseed 60",
    "é",
    "油",
    "=1+1",
    "../..",
    "F2",
]
NUMBERS = [
    "0",
    "-1",
    "1e-9",
    "1e-300",
    "1e308",
    "1e400",
    "nan",
    "inf",
    "true",
    "12.5",
    "3000",
    "0.01",
    "9" * 400,
]
WHEN = ["2026-09-13 11:00", "13.9.2026 18:00", "2026-02-30 10:00", "9999-12-31", "", "yesterday", "1.1.1 1:1"]
WHAT = [*BUILDERS, *METER_BUILDERS, *PLAIN_BUILDERS, "x" * 50, ""]
CELLS = [
    "12.5",
    "65",
    "-3",
    "1e9",
    "3000 kg",
    "to the mark",
    "F1",
    "F2",
    "yes",
    "nan",
    '"',
    "\x00",
    "\x1b[2J",
    "ÿ" * 99,
    "",
]
# what is bound by another setting, which refuses most of what would be drawn
OF_ANOTHER = {"minimum_mass_kg", "standby_temp_c", "min_oil_temp_c", "max_oil_temp_c"}
SOUND = {
    "oils": {"key": '"rapeseed"'},
    "fryers": {"oil": '"rapeseed"', "oil_mass_kg": "14"},
    "services": {"name": '"Lunch"', "days": '"mon-sun"', "from": '"11:30"', "to": '"14:00"'},
    "limits": {
        "quantity": '"total polar compounds"',
        "unfit_when": '">"',
        "value": "24",
        "unit": '"% m/m"',
    },
    "reference_lots": {"tpc_pct": "18", "expanded_u_pct": "0.6"},
}


ODD = ["[]", '["F1", "F1"]', "{a = 1}", "[[1]]", "2026-09-13", "11:30:00", '"' + "a." * 60 + '"']


def sound_value(rng, setting: Setting):
    """A value that a setting may have, often the least or the most; None where none is drawn."""
    if setting.name in OF_ANOTHER:
        return None
    if setting.name == "usual_load_kg":
        return f"{rng.choice([1e-6, 14, 420])}"
    if setting.type in {SettingType.NUMBER, SettingType.PRICE}:
        low, high = max(setting.low, 1e-9), min(setting.high, 1e9)
        between = low * (high / low) ** rng.random()
        return f"{rng.choice([between, rng.uniform(low, high), low, high]):.9g}"
    if setting.words:
        word = json.dumps(rng.choice(setting.words))
        return f"[{word}]" if setting.type is SettingType.WORDS else word
    return json.dumps(f"N {rng.random():.9f}") if setting.name == "name" else None


def odd_value(rng, setting: Setting):
    """A value that a setting hardly may have, as TOML writes it."""
    if rng.random() < 0.3:
        return rng.choice(ODD)
    numbers = setting.type in {SettingType.NUMBER, SettingType.PRICE}
    return rng.choice(NUMBERS) if numbers else json.dumps(rng.choice(TEXTS)).replace("\\\\u", "\\u")


def things(rng, name, thing):
    """Tables of a sort of thing, each sound but for its numbers."""
    for number in range(1, rng.choice([2, 2, 2, 3, 12]) if name in SOUND else rng.choice([1, 2, 3])):
        told = {"key": f'"{name[0].upper()}{number}"'} if thing.keyed else {}
        told |= SOUND.get(name, {})
        if name == "oils":
            told["key"] = '"rapeseed"' if number == 1 else f'"oil{number}"'
        if name == "services" and number > 1:
            told |= {"name": f'"S{number}"', "from": f'"{12 + number}:30"', "to": f'"{12 + number}:45"'}
            told["from"], told["to"] = (told[end].replace("24", "0") for end in ("from", "to"))
        for setting in thing.settings:
            if rng.random() < 0.3 and (value := sound_value(rng, setting)) is not None:
                told.setdefault(setting.name, value)
        yield told


def odd_kitchen(rng):
    """A kitchen.toml with numbers from one end to the other, and now and then a value that cannot be."""
    top = {"name": '"Odd"', "timezone": '"Europe/London"', "jurisdiction": '"FR"'}
    for setting in THINGS["kitchen"].settings:
        if rng.random() < 0.3 and (value := sound_value(rng, setting)) is not None:
            top.setdefault(setting.name, value)
    tables = [(name, told) for name, thing in TABLES.items() for told in things(rng, name, thing)]
    for _ in range(rng.choice([0, 0, 0, 1, 2])):
        name, told = rng.choice([("kitchen", top), *tables])
        setting = rng.choice(THINGS[name].settings)
        told[setting.name] = odd_value(rng, setting)
    lines = [f"{key} = {value}" for key, value in top.items()]
    for name, told in tables:
        lines += [f"[[{name}]]", *(f"{key} = {value}" for key, value in told.items())]
    return "\n".join(lines)


def odd_log(rng):
    """A log.csv of rows at random, some sound."""
    rows = [",".join(COLUMNS)]
    for _ in range(rng.choice([0, 5, 60])):
        cells = dict.fromkeys(COLUMNS, "") | {
            "when": f"2026-09-{rng.randint(1, 13):02} {rng.randint(0, 23):02}:{rng.randint(0, 59):02}",
            "what": rng.choice(WHAT),
            "fryer": rng.choice(["F1", "F2", "F1"]),
        }
        cells |= {column: rng.choice(CELLS) for column in COLUMNS if rng.random() < 0.2}
        if rng.random() < 0.1:
            cells["when"] = rng.choice(WHEN)
        rows.append(rng.choice([",", ",", ",", ";"]).join(cells.values()))
    return rng.choice(["\n", "\r\n"]).join(rows)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_an_odd_folder_is_answered_or_refused(tmp_path, part):
    rng = random.Random(20261129 + part)  # noqa: S311 - no secret
    run, answered = CliRunner(), 0
    before = resource.getrusage(resource.RUSAGE_SELF)
    for number in range(FOLDERS):
        (tmp_path / "kitchen.toml").write_text(odd_kitchen(rng), "utf-8")
        (tmp_path / "log.csv").write_text(odd_log(rng), "utf-8")
        for words in (
            ["log", "check", tmp_path],
            ["assess", tmp_path, "--at", NOW, "--json"],
            ["assess", tmp_path, "--at", NOW],
        ):
            begun = resource.getrusage(resource.RUSAGE_SELF).ru_utime
            result = run.invoke(commands.app, [str(word) for word in words])
            took_s = resource.getrusage(resource.RUSAGE_SELF).ru_utime - begun
            told = f"folder {number}, {words[:1]}: {result.exception!r}"
            assert result.exception is None or isinstance(result.exception, SystemExit), told
            assert took_s < MOST_S, told
            assert not any(unseen in result.output for unseen in "\x1b\x07\u202e\x00"), told
        answered += result.exit_code == 0
    grown = 1024 * (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before.ru_maxrss)
    assert grown < MOST_BYTES_MORE
    assert answered > FOLDERS / 10, "the folders are so odd that hardly one is read"
