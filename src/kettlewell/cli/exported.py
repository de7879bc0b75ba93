"""Writing the server's day books out: for another program to verify, and for a spreadsheet."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from kettlewell.cli.screen import Line
from kettlewell.folder import KitchenError, read_folder, write_folder
from kettlewell.telling import N_, Reader

if TYPE_CHECKING:
    from kettlewell.records.models import Kitchen

NOT_EMPTY = N_("{folder} is not empty: name a folder that is new or empty.")
WRITTEN = N_("{kitchen}: {number} entries written to {folder}. Head: {head}")
NO_FOLDER = N_("{kitchen}: its settings make no kitchen yet that a folder could hold. {why}")
PRIVATE = N_("The files hold names and notes of people: keep them as you keep the day book.")


def exported(folder: Path, reader: Reader) -> Iterator[Line]:
    """Write each day book into a folder of its own within one, and yield what was written.

    Raises ValueError where there is something in it, OSError where it cannot be written.
    """
    from kettlewell.records.lines import SCHEMA, lines_of  # noqa: PLC0415 - needs the server's settings
    from kettlewell.records.models import Kitchen  # noqa: PLC0415
    from kettlewell.records.tables import tables_of, workbook  # noqa: PLC0415

    if folder.exists() and any(folder.iterdir()):
        raise ValueError(reader.say(NOT_EMPTY, folder=str(folder)))
    os.umask(0o077)  # they hold what people wrote
    folder.mkdir(parents=True, exist_ok=True)
    (folder / SCHEMA.name).write_bytes(SCHEMA.read_bytes())
    for kitchen in Kitchen.objects.order_by("slug"):
        place = folder / kitchen.slug
        place.mkdir()
        with (place / "day-book.jsonl").open("w", encoding="utf-8", newline="\n") as file:
            file.writelines(lines_of(kitchen))
        tables = tables_of(kitchen)
        for kind, table in tables.items():
            (place / f"{kind}.csv").write_text(table.csv, encoding="utf-8", newline="")
        workbook(tables).save(place / "day-book.xlsx")
        told = {"number": str(kitchen.head_seq), "folder": str(place), "head": kitchen.head_hash or "–"}
        yield Line(text=reader.say(WRITTEN, kitchen=kitchen.slug, **told))
        yield from as_folder(kitchen, place, reader)
    yield Line(text=reader.say(PRIVATE))


def as_folder(kitchen: "Kitchen", place: Path, reader: Reader) -> Iterator[Line]:
    """Write a day book as a kitchen's folder, read it back, and yield what of it a folder cannot say."""
    from kettlewell.bridge.folders import folder_of  # noqa: PLC0415

    try:
        folder = folder_of(kitchen)
        write_folder(place, folder.setup, folder.log.entries, earlier=folder.earlier, notes=folder.log.notes)
        for problem in read_folder(place).log.problems:
            yield Line(text=reader.tell(problem.message), picture=True)
    except KitchenError as error:
        yield Line(text=reader.say(NO_FOLDER, kitchen=kitchen.slug, why=error.message))
