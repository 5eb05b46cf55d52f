"""The ledger's resolution: a ten-thousandth of a base unit.

Typed quantities stay exact fractions; what is stored is rounded here, once.
"""

from decimal import Decimal
from fractions import Fraction

LEDGER_PLACES = 4
LEDGER_STEP = Fraction(1, 10**LEDGER_PLACES)

Amount = Fraction | Decimal | int | float


def round_half_up(amount: Amount, places: int) -> Fraction:
    """Return the amount rounded to so many places, halves away from zero.

    >>> round_half_up(Fraction(1, 8), 2)
    Fraction(13, 100)
    """
    scaled = abs(Fraction(amount)) * 10**places
    rounded = Fraction((2 * scaled + 1) // 2, 10**places)
    return -rounded if amount < 0 else rounded


def to_ledger(amount: Amount) -> Decimal:
    """Return the amount as the ledger keeps it, half up to 4 places.

    >>> to_ledger(Fraction(1, 3))
    Decimal('0.3333')
    """
    stored = int(round_half_up(amount, LEDGER_PLACES) * 10**LEDGER_PLACES)
    return Decimal(stored).scaleb(-LEDGER_PLACES)
