"""Bar codes of trade items: GTIN-8, -12 (UPC), -13 (EAN) and -14.

The last digit checks the others: from the right, weights 3, 1, 3, 1 …, and what is
missing to the next ten. GS1 General Specifications, section 7.9.
"""

import re

from django.utils.translation import gettext as _

from stock.errors import GtinError

LENGTHS = (8, 12, 13, 14)
BETWEEN_DIGITS = re.compile(r"[ \N{NO-BREAK SPACE}-]")


def check_digit(digits: str) -> str:
    """Return the digit that follows these digits of a bar code.

    >>> check_digit("629104150021")
    '3'
    """
    if not re.fullmatch("[0-9]+", digits):
        raise ValueError(f"digits must be digits, not {digits!r}")
    total = sum(
        int(digit) * (3 if place % 2 == 0 else 1)
        for place, digit in enumerate(reversed(digits))
    )
    return str(-total % 10)


def read_gtin(text: str) -> str:
    """Return a bar code's digits, without spaces and dashes, or raise a GtinError.

    >>> read_gtin("0 23456 73")
    '02345673'
    """
    digits = BETWEEN_DIGITS.sub("", text.strip())
    if not re.fullmatch("[0-9]+", digits):
        raise GtinError(text, _("Type its digits, such as 02345673."))
    if len(digits) not in LENGTHS:
        raise GtinError(
            text,
            _("It has {count} digits. A bar code has 8, 12, 13 or 14.").format(
                count=len(digits)
            ),
        )
    right = check_digit(digits[:-1])
    if digits[-1] != right:
        raise GtinError(
            text,
            _(
                "With these digits the last would be {right}, not {digits}. "
                "Compare it with the label."
            ).format(right=right, digits=digits[-1]),
        )
    return digits
