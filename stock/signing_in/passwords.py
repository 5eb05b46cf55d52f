"""What a password may not be, besides what Django's own rules refuse."""

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

FEWEST_SIGNS = 4


class DifferentSignsValidator:
    """Refuses blanks, and one or a few signs over and over."""

    def validate(self, password: str, user: User | None = None) -> None:  # noqa: ARG002 (Django's call)
        """Raise what is wrong with a password."""
        if len(set(password.strip())) < FEWEST_SIGNS:
            raise ValidationError(
                _(
                    "Use at least {fewest_signs} different letters, digits or signs."
                ).format(fewest_signs=FEWEST_SIGNS),
                code="password_too_plain",
            )

    def get_help_text(self) -> str:
        """Return the rule as people read it."""
        return _("At least {fewest_signs} different letters, digits or signs.").format(
            fewest_signs=FEWEST_SIGNS
        )
