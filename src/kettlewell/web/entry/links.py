"""Ways from one screen to what can be done next."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """An act that can be done next; ``picture`` is its sign where there is no room for its words."""

    label: str
    url: str
    primary: bool = False
    picture: str = ""
