"""Puts lines on a terminal or into a pipe: weight where there is any, ASCII where there must be."""

import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from rich.console import Console
from rich.text import Text

from kettlewell.book.letters import escaped
from kettlewell.telling import unparted
from kettlewell.telling.words import NO_BREAK_SPACE

WIDEST, NARROWEST = 80, 48
LOOKALIKES = str.maketrans(
    {"—": "-", "–": "-", "…": "...", "·": ",", "±": "+/-", "≥": ">=", "≤": "<=", "━": "=", "─": "-", "°": ""}
)


class Weight(StrEnum):
    """How heavy a line stands; the words are styles of rich."""

    PLAIN = ""
    BOLD = "bold"
    REVERSED = "bold reverse"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One paragraph; a ``picture`` is never wrapped."""

    text: str
    weight: Weight = Weight.PLAIN
    indent: int = 0
    picture: bool = False


def table(rows: Sequence[Sequence[str]], *, indent: int) -> Iterator[Line]:
    """Yield rows of cells, each column as wide as its widest cell; the first row is the heads."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for n, row in enumerate(rows):
        cells = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        weight = Weight.PLAIN if n else Weight.BOLD
        yield Line(text=cells.rstrip(), weight=weight, indent=indent, picture=True)


def console() -> Console:
    """Return standard output, without colour."""
    return Console(highlight=False, markup=False, emoji=False, no_color=True, soft_wrap=True)


def width_of(screen: Console) -> int:
    """Return how many columns to use: at most 80, so that it reads the same when piped."""
    return max(min(screen.width, WIDEST), NARROWEST)


def draws_unicode(screen: Console) -> bool:
    """Tell whether the picture's signs can be written there."""
    return _writes("▁█║│╵·━", screen.encoding)


def show(lines: Iterable[Line], screen: Console) -> None:
    """Print lines wrapped to the screen's width."""
    for line in lines:
        for row in wrapped(line, width_of(screen)):
            text = Text(legible(row, screen.encoding))
            if line.weight:
                text.stylize(line.weight, start=line.indent)
            screen.print(text)


def wrapped(line: Line, width: int) -> list[str]:
    """Return the rows of a paragraph."""
    margin = " " * line.indent
    if line.picture or not line.text:
        return [(margin + line.text).rstrip()]
    rows = textwrap.wrap(unparted(line.text), width, initial_indent=margin, subsequent_indent=margin)
    return [row.replace(NO_BREAK_SPACE, " ") for row in rows]


def complain(text: str) -> None:
    """Print to standard error."""
    print(legible(text, sys.stderr.encoding or "ascii"), file=sys.stderr)  # noqa: T201 - that is its job


def legible(text: str, encoding: str) -> str:
    """Return the text with unseen letters written out, and replaced what ``encoding`` cannot write."""
    text = escaped(text)
    if _writes(text, encoding):
        return text
    plain = unicodedata.normalize("NFKD", text.translate(LOOKALIKES))
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return bare.encode("ascii", "replace").decode("ascii")


def _writes(text: str, encoding: str) -> bool:
    try:
        text.encode(encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True
