"""Builds SVG: elements, places in short numbers, text that cannot break out of its place."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self
from xml.etree.ElementTree import Element, tostring

# what XML 1.0 has no way to write
UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
NO_NAME = re.compile(r"[^A-Za-z0-9-]")

Point = tuple[float, float]


class Svg(str):
    """A finished picture; templates that escape text take it as the markup it is."""

    __slots__ = ()

    def __html__(self) -> Self:
        """Return the picture itself, as template engines ask."""
        return self


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """What a picture says to those who do not see it: a title, and in ``desc`` the picture as a sentence.

    ``name`` keeps its ids apart from those of other pictures on the page, whatever signs it holds.
    """

    name: str
    title: str
    desc: str

    def identifier(self, part: str) -> str:
        """Return the id of a part of the picture."""
        return NO_NAME.sub(lambda sign: f"_{ord(sign[0]):x}_", self.name) + f"-{part}"


def node(
    tag: str, attributes: Mapping[str, str | float] | None = None, *children: Element, text: str = ""
) -> Element:
    """Return an element; numbers are written with one decimal at most."""
    made = Element(tag, {name: written(value) for name, value in (attributes or {}).items()})
    made.text = UNWRITABLE.sub("", text) or None
    made.extend(children)
    return made


def written(value: str | float) -> str:
    """Return an attribute's value as text."""
    if isinstance(value, str):
        return UNWRITABLE.sub("", value)
    return f"{round(value, 1) + 0.0:g}"  # plus 0 makes 0 of -0


def path(points: Iterable[Point], *, closed: bool = False) -> str:
    """Return the path through points, x to the right and y down."""
    return "M" + "L".join(f"{written(x)} {written(y)}" for x, y in points) + ("Z" if closed else "")


def picture(
    children: Iterable[Element], caption: Caption, *, size: Point, look: Mapping[str, str | float]
) -> Svg:
    """Return the whole picture with its title and the sentence that says the same."""
    title, desc = caption.identifier("title"), caption.identifier("desc")
    root = node(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {written(size[0])} {written(size[1])}",
            "role": "img",
            "aria-labelledby": title,
            "aria-describedby": desc,
            **look,
        },
        node("title", {"id": title}, text=caption.title),
        node("desc", {"id": desc}, text=caption.desc),
        *children,
    )
    return Svg(tostring(root, encoding="unicode"))
