"""A kitchen as files: kitchen.toml, what it said earlier, and log.csv in, values out, and back.

The format is described in docs/reference/kitchen-folder.md and in the JSON
Schemas beside this module.
"""

from pathlib import Path

from kettlewell.book.setup import Setup
from kettlewell.folder.kitchen import KITCHEN_NAME, NUMBERS, read_earlier, read_kitchen, setup_from
from kettlewell.folder.log import LOG_NAME, read_log
from kettlewell.folder.values import Earlier, Folder, KitchenError, Log, Problem
from kettlewell.folder.words import squeezed
from kettlewell.folder.writing import write_folder

MARROWBY = Path(__file__).parent / "marrowby"


def read_folder(path: Path) -> Folder:
    """Return the kitchen and the log in a folder; raise KitchenError where one cannot be used."""
    setup, earlier = read_kitchen(path / KITCHEN_NAME), read_earlier(path)
    return Folder(setup=setup, log=read_log(path / LOG_NAME, setup, earlier), earlier=earlier)


__all__ = [
    "MARROWBY",
    "NUMBERS",
    "Earlier",
    "Folder",
    "KitchenError",
    "Log",
    "Problem",
    "Setup",
    "read_folder",
    "read_kitchen",
    "read_log",
    "setup_from",
    "squeezed",
    "write_folder",
]
