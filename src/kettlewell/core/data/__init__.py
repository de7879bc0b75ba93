"""Coefficients and limits as tables, each row with its source and grade."""

import csv
from importlib.resources import files


def packaged_rows(name: str) -> list[dict[str, str]]:
    """Return the rows of one of the tables, as written."""
    text = files(__name__).joinpath(name).read_text("utf-8")
    return list(csv.DictReader(text.splitlines()))
