"""How many batches, mixes or cakes are made, in words."""

from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from stock.measures.reading.quantity import KITCHEN_DENOMINATORS, format_number

# Sums of recipe fractions carry float noise; a real difference is far larger.
SMALLEST_PART_OF_BATCH = 1e-6


def batches_words(batches: float, mixes: int = 1) -> str:
    """Return a number of batches, and how often the mixer is filled for them.

    >>> batches_words(1.5, mixes=2), batches_words(0.25), batches_words(0.6041)
    ('1 1/2 batches, in 2 mixes', '1/4 batch', 'about 0.6 batch')
    """
    words = ngettext("{number} batch", "{number} batches", 1 if batches <= 1 else 2)
    words = words.format(number=number_words(batches))
    return (
        _("{words}, in {mixes} mixes").format(words=words, mixes=mixes)
        if mixes > 1
        else words
    )


def number_words(number: float) -> str:
    """Return a number as a kitchen fraction where it is one, else to two places.

    >>> [number_words(number) for number in (3.0, 1 / 3, 2.375, 1.7578, 0.0012)]
    ['3', '1/3', '2 3/8', 'about 1.76', 'about 0.0012']
    """
    for denominator in (1, *sorted(KITCHEN_DENOMINATORS)):
        near = Fraction(round(number * denominator), denominator)
        if near and abs(near - Fraction(number)) <= SMALLEST_PART_OF_BATCH:
            return format_number(near)
    figure = f"{number:.2f}" if number >= 0.1 else f"{number:.2g}"
    return _("about {number}").format(
        number=figure.rstrip("0").rstrip(".") if "." in figure else figure
    )
