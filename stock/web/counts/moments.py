"""A field for a moment by the bakery's clock, which is changed twice a year."""

from datetime import date, datetime

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

CLOCK_CHANGED = gettext_lazy(
    "The clock was changed then: this time was there twice, or not at all. Write one "
    "that is an hour earlier or later."
)


class MomentField(forms.DateTimeField):
    """A date and a time; says in plain words where the clock cannot tell which."""

    default_error_messages = {
        "invalid": gettext_lazy("Write a date and a time, or leave it blank.")
    }

    def to_python(self, value: str | datetime | date | None) -> datetime | None:
        """Return the moment that was written; None where it is blank."""
        try:
            return super().to_python(value)
        except ValidationError as error:
            if error.code == "ambiguous_timezone":
                raise ValidationError(CLOCK_CHANGED, error.code) from error
            raise
