"""What a printed page is made of. Every text is told already; how it looks stands in sheet.typ."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """A heading of level 1 to 3; one of level 1 begins a page, unless it ``follows`` what is before."""

    text: str
    level: int = 1
    follows: bool = False
    block: Literal["heading"] = "heading"


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A paragraph: plain, strong, small, or in a frame as something to act on."""

    text: str
    weight: Literal["plain", "strong", "small", "framed"] = "plain"
    block: Literal["text"] = "text"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """Names with what is said of each."""

    rows: Sequence[tuple[str, str]]
    block: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Rows under columns; ``widths`` are shares of the page, ``amounts`` the columns of numbers.

    ``empty`` stands in place of a table without a row. One ``to_fill`` has room in its rows for a pen.
    """

    columns: Sequence[str]
    rows: Sequence[Sequence[str]]
    widths: Sequence[float]
    empty: str
    amounts: Sequence[int] = ()
    to_fill: bool = False
    block: Literal["table"] = "table"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A drawing in SVG, with the sentence that says the same."""

    svg: str
    alt: str
    block: Literal["picture"] = "picture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A label: a drawing in SVG, a name, and a line below it."""

    svg: str
    name: str
    below: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Labels:
    """Labels to cut out."""

    labels: Sequence[Label]
    block: Literal["labels"] = "labels"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A drawing in SVG, what it shows, and what to do."""

    svg: str
    alt: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Steps in so many columns, row by row; ``numbered`` where their order counts."""

    steps: Sequence[Step]
    columns: int
    numbered: bool = False
    block: Literal["steps"] = "steps"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pocket:
    """Cards of A6 to cut out and fold; each is made of pieces that no fold parts.

    ``cut`` and ``fold`` are the words beside the lines to cut and to fold along.
    """

    cards: Sequence[Sequence[Sequence[Heading | Text | Facts]]]
    cut: str
    fold: str
    block: Literal["pocket"] = "pocket"


Block = Heading | Text | Facts | Table | Picture | Labels | Steps | Pocket


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Pages of one thing: their title, language, the lines above and below each, and what stands on them.

    ``contents`` is the heading of a list of its parts on the first page; without one there is none.
    """

    title: str
    language: str
    dated: date
    head: str
    foot: str
    blocks: Sequence[Block]
    contents: str = ""
    landscape: bool = False
    pages: str = field(default="{page} / {pages}")
