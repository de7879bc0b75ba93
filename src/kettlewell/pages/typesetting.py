"""Setting sheets as PDF/A-2a and PDF/UA-1: the same sheet gives the same bytes.

What is told goes in as data and is never read as part of the template; no font of the system is used.
"""

import json
from dataclasses import asdict
from functools import cache
from importlib.resources import as_file, files
from typing import Any

import typst

from kettlewell.pages.blocks import Sheet

NOT_PRINTABLE = "?"
SPACES = str.maketrans({"\N{NARROW NO-BREAK SPACE}": "\N{NO-BREAK SPACE}", "\t": " ", "\r": ""})
ALWAYS = {"\n", "\N{NO-BREAK SPACE}"}


def typeset(sheet: Sheet) -> bytes:
    """Return a sheet as PDF. A sign that no typeface here has stands as a question mark."""
    told = json.dumps(shown(asdict(sheet)), default=str)
    with as_file(files("kettlewell.pages")) as room:
        pdf = typst.compile(
            room / "sheet.typ",
            root=room,
            font_paths=[room / "fonts"],
            ignore_system_fonts=True,
            pdf_standards=["a-2a", "ua-1"],
            sys_inputs={"sheet": told},
        )
    return bytes(pdf)


def shown(told: Any) -> Any:  # noqa: ANN401 - texts in tables in lists
    """Return what is told with signs that can be printed alone; drawings stay as they are."""
    match told:
        case str():
            return "".join(sign if sign in printable() else NOT_PRINTABLE for sign in told.translate(SPACES))
        case dict():
            return {name: value if name == "svg" else shown(value) for name, value in told.items()}
        case list() | tuple():
            return [shown(each) for each in told]
    return told


@cache
def printable() -> frozenset[str]:
    """Return the signs that the fonts have: an archival PDF refuses all others."""
    signs = files("kettlewell.pages").joinpath("fonts", "printable.txt").read_text("utf-8")
    return frozenset({*ALWAYS, *signs})
