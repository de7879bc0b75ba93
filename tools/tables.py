"""Write the tables of the documentation that follow from the book: ``python tools/tables.py``."""

import math
from collections.abc import Iterator
from pathlib import Path

from kettlewell.book.fields import Field
from kettlewell.book.kinds import KINDS, EntryKind
from kettlewell.book.settings import THINGS, Setting, Thing

REFERENCE = Path(__file__).resolve().parents[1] / "docs" / "reference"
BEGINS = "<!-- {}: python tools/tables.py writes this table -->\n"
ENDS = "<!-- end of {} -->"


def table_of_kinds() -> Iterator[str]:
    """Yield every kind of entry as a row: what it is of, what it says, what it answers, who writes it."""
    yield "| kind | of a | says | answers | written by |\n|---|---|---|---|---|\n"
    yield from map(row_of, KINDS.values())


def row_of(kind: EntryKind) -> str:
    """Return one kind; fields that may be left out stand in brackets."""
    told = [f"`{field.name}`" if field.required else f"(`{field.name}`)" for field in kind.fields]
    answers = f"`{kind.about}`" if kind.about else "–"
    return row(f"`{kind.key}`", kind.concerns.value, ", ".join(told) or "–", answers, kind.writer.value)


def table_of_fields() -> Iterator[str]:
    """Yield what each field of an entry may hold, and in which kinds."""
    yield "| field | holds | of |\n|---|---|---|\n"
    fields: dict[tuple[str, str], list[str]] = {}
    for kind in KINDS.values():
        for field in kind.fields:
            fields.setdefault((field.name, held(field)), []).append(f"`{kind.key}`")
    for (name, may), kinds in fields.items():
        yield row(f"`{name}`", may, ", ".join(kinds))


def held(field: Field) -> str:
    """Return what a field may hold: its type, bounds, decimals, length and choices."""
    parts = [field.type.value]
    if field.low is not None or field.high is not None:
        parts.append(f"{field.low} to {field.high}")
    if field.decimals is not None:
        parts.append(f"{field.decimals} decimal{'s' * (field.decimals != 1)}")
    if field.most is not None:
        parts.append(f"at most {field.most}")
    if field.things:
        parts.append(f"key of one of the {field.things.replace('_', ' ')}")
    if field.choices:
        parts.append(" ".join(f"`{word}`" for word, _ in field.choices))
    return ", ".join(parts)


def table_of_settings() -> Iterator[str]:
    """Yield every setting: what it may be, and whether ageing, or what is learnt of it, depends on it."""
    yield "| of a | setting | may be | ageing depends on it |\n|---|---|---|---|\n"
    for thing in THINGS.values():
        yield from (setting_row(thing, setting) for setting in thing.settings)


def setting_row(thing: Thing, setting: Setting) -> str:
    """Return one setting; those that may be left out stand in brackets."""
    name = f"`{setting.name}`" if setting.required else f"(`{setting.name}`)"
    return row(
        f"{thing.title} (at most {thing.most})", name, bounds(setting), "yes" if setting.ages else "no"
    )


def bounds(setting: Setting) -> str:
    """Return what a setting may be: its type, bounds and words."""
    parts = [setting.type.value]
    if setting.type.value in {"number", "price"}:
        least = f"above {setting.low:g}" if setting.above else f"from {setting.low:g}"
        parts.append(least if math.isinf(setting.high) else f"{least} to {setting.high:g}")
    return ", ".join([*parts, " ".join(f"`{word}`" for word in setting.words)]).removesuffix(", ")


def row(*cells: str) -> str:
    """Return one row of a table."""
    return f"| {' | '.join(cells)} |\n"


PAGES = {
    REFERENCE / "day-book.md": {"kinds": table_of_kinds, "fields": table_of_fields},
    REFERENCE / "kitchen-folder.md": {"settings": table_of_settings},
}


def told_anew(page: Path) -> str:
    """Return a page with its tables as the book has them."""
    text = page.read_text(encoding="utf-8")
    for name, table in PAGES[page].items():
        before, rest = text.split(BEGINS.format(name))
        after = rest.split(ENDS.format(name))[1]
        text = f"{before}{BEGINS.format(name)}\n{''.join(table())}\n{ENDS.format(name)}{after}"
    return text


if __name__ == "__main__":
    for page in PAGES:
        page.write_text(told_anew(page), encoding="utf-8")
