"""The kinds of cells that hold a length or a ratio. Pure: no Django."""

import re
from dataclasses import dataclass

from django.utils.translation import gettext as _

from stock.entry.cells import CellError, Text
from stock.errors import LengthError
from stock.measures.lengths import parse_length_cm


@dataclass(frozen=True, slots=True)
class Ratio(Text):
    """So much of one thing for so much of another: `3/4 cup for 1 cup`."""

    def parse(self, value: object) -> str:
        """Return both quantities as typed, in one spelling."""
        return " for ".join(split_ratio(Text.parse(self, value)))


def split_ratio(text: str) -> tuple[str, str]:
    """Return the two quantities of a ratio, as typed.

    >>> split_ratio("3/4 cup for 1 cup")
    ('3/4 cup', '1 cup')
    """
    sides = [side.strip() for side in re.split(r"\s+for\s+", text)]
    if len(sides) != 2 or not all(sides):
        raise CellError(
            _(
                "{text!r} isn't a ratio. Write so much of it for so much of the "
                "item: 3/4 cup for 1 cup."
            ).format(text=text)
        )
    return sides[0], sides[1]


@dataclass(frozen=True, slots=True)
class Length(Text):
    """A length in inches or centimeters, above nothing: `1.5 in`, `1½ in`."""

    max_length: int = 20

    def parse(self, value: object) -> str:
        """Return the length as typed."""
        text = Text.parse(self, value)
        try:
            parse_length_cm(text)
        except LengthError as error:
            raise CellError(str(error)) from error
        return text
