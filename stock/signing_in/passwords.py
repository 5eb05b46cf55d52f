"""What a password may not be, besides what Django's own rules refuse."""

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError

FEWEST_SIGNS = 4


class DifferentSignsValidator:
    """Refuses blanks, and one or a few signs over and over."""

    def validate(self, password: str, user: User | None = None) -> None:  # noqa: ARG002 (Django's call)
        """Raise what is wrong with a password."""
        if len(set(password.strip())) < FEWEST_SIGNS:
            raise ValidationError(
                f"Use at least {FEWEST_SIGNS} different letters, digits or signs.",
                code="password_too_plain",
            )

    def get_help_text(self) -> str:
        """Return the rule as people read it."""
        return f"At least {FEWEST_SIGNS} different letters, digits or signs."
