"""Days and times as the kitchen's calendar and clocks show them."""

from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

LOCAL_TIME = "%Y-%m-%dT%H:%M"
SKIPPED = _("There was no such time: the clocks were put forward. Give another.")


class ClockField(forms.DateTimeField):
    """A time to the minute. Where the clocks show it twice it is that of ``told``, else the first."""

    def __init__(self, zone: ZoneInfo, *, told: datetime | None, **kwargs: Any) -> None:  # noqa: ANN401 - a field's
        """Take the zone of the clocks, and the time that was told before."""
        attrs = {"type": "datetime-local", "autocomplete": "off"}
        super().__init__(widget=forms.DateTimeInput(attrs=attrs, format=LOCAL_TIME), **kwargs)
        self.zone, self.told = zone, told

    def prepare_value(self, value: object) -> object:
        """Show a time by the kitchen's clocks."""
        return value.astimezone(self.zone).strftime(LOCAL_TIME) if isinstance(value, datetime) else value

    def to_python(self, value: str | date | None) -> datetime | None:
        """Return what the clocks said; raises ValidationError for a time they never showed."""
        try:
            with timezone.override(self.zone):
                return super().to_python(value)
        except ValidationError as error:
            if error.code != "ambiguous_timezone":
                raise
        with timezone.override(UTC):
            shown = super().to_python(value)
        return None if shown is None else self.one_of_two(shown.replace(tzinfo=None))

    def one_of_two(self, shown: datetime) -> datetime:
        """Return which of its two times a clock shows."""
        both = [shown.replace(tzinfo=self.zone, fold=fold).astimezone(UTC) for fold in (0, 1)]
        if both[0].astimezone(self.zone).replace(tzinfo=None) != shown:
            raise ValidationError(SKIPPED)
        told = self.told and self.told.replace(second=0, microsecond=0)
        return both[1] if told == both[1] else both[0]


class DayField(forms.DateField):
    """A day that may be left open; within what a calendar of any zone can count."""

    def __init__(self, **kwargs: Any) -> None:  # noqa: ANN401 - what a form field takes
        """Ask the phone for its calendar."""
        super().__init__(
            required=False,
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            validators=[MinValueValidator(date(1900, 1, 1)), MaxValueValidator(date(2999, 12, 31))],
            **kwargs,
        )
