"""A kitchen with what only its own measures need."""

from dataclasses import dataclass

from kettlewell.book.kitchen import Kitchen

USUAL_RECORDS_MONTHS = 24.0  # what most published periods stay under; no figure holds everywhere


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How long a kitchen keeps what is in its day book, and where its check code goes.

    ``records_months`` is how long all of it is kept at least. After the others notes, photos and the names
    of people who left are erased, but never before that; None: they are kept.
    """

    records_months: float | None = None
    notes_months: float | None = None
    photos_months: float | None = None
    names_months: float | None = None
    check_code_to: str | None = None

    @property
    def least_months(self) -> float:
        """How long everything is kept at least."""
        return USUAL_RECORDS_MONTHS if self.records_months is None else self.records_months

    def erased_after_months(self, what: str) -> float | None:
        """Return after how long notes, photos or names go: not before records may; None: never."""
        months: float | None = getattr(self, what)
        return None if months is None else max(months, self.least_months)


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a kitchen is set up as: itself, the litres in its own jug (None: it has none), what it keeps."""

    kitchen: Kitchen
    jug_l: float | None = None
    keeping: Keeping = Keeping()
