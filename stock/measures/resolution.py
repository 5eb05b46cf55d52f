"""The ledger's resolution: a ten-thousandth of a base unit.

Typed quantities stay exact fractions; what is stored is rounded here, once.
"""

from decimal import Decimal
from fractions import Fraction

LEDGER_PLACES = 4
LEDGER_STEPS_PER_BASE = 10**LEDGER_PLACES
LEDGER_STEP = Fraction(1, LEDGER_STEPS_PER_BASE)

Amount = Fraction | Decimal | int | float


def round_half_up(amount: Amount, places: int) -> Fraction:
    """Return the amount rounded to so many places, halves away from zero.

    >>> round_half_up(Fraction(1, 8), 2)
    Fraction(13, 100)
    """
    scale = 10**places
    top, bottom = amount.as_integer_ratio()
    rounded = (2 * abs(top) * scale + bottom) // (2 * bottom)
    return Fraction(-rounded if top < 0 else rounded, scale)


def to_ledger(amount: Amount) -> Decimal:
    """Return the amount as the ledger keeps it, half up to 4 places.

    >>> to_ledger(Fraction(1, 3))
    Decimal('0.3333')
    """
    stored = round_half_up(amount, LEDGER_PLACES) * LEDGER_STEPS_PER_BASE
    return Decimal(stored.numerator).scaleb(-LEDGER_PLACES)
