"""Write the tables of the documentation that follow from the book: ``python tools/tables.py``."""

from pathlib import Path

from kettlewell.book.kinds import KINDS, EntryKind

DAY_BOOK = Path(__file__).resolve().parents[1] / "docs" / "reference" / "day-book.md"
BEGINS, ENDS = "<!-- kinds: python tools/tables.py writes this table -->\n", "<!-- end of kinds -->"


def table_of_kinds() -> str:
    """Return every kind of entry as a table: what it is of, what it says, what it answers, who writes it."""
    head = "| kind | of a | says | answers | written by |\n|---|---|---|---|---|\n"
    return head + "".join(row_of(kind) for kind in KINDS.values())


def row_of(kind: EntryKind) -> str:
    """Return one kind; fields that may be left out stand in brackets."""
    told = [f"`{field.name}`" if field.required else f"(`{field.name}`)" for field in kind.fields]
    answers = f"`{kind.about}`" if kind.about else "–"
    cells = (f"`{kind.key}`", kind.concerns.value, ", ".join(told) or "–", answers, kind.writer.value)
    return f"| {' | '.join(cells)} |\n"


def told_anew(text: str) -> str:
    """Return a page with its table as the book has it."""
    before, rest = text.split(BEGINS)
    return f"{before}{BEGINS}\n{table_of_kinds()}\n{ENDS}{rest.split(ENDS)[1]}"


if __name__ == "__main__":
    DAY_BOOK.write_text(told_anew(DAY_BOOK.read_text(encoding="utf-8")), encoding="utf-8")
