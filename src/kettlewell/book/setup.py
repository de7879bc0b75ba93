"""A kitchen with what only its own measures need."""

from dataclasses import dataclass

from kettlewell.book.kitchen import Kitchen


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a kitchen is set up as: the kitchen, and the litres in its own jug (None: it has none)."""

    kitchen: Kitchen
    jug_l: float | None = None
