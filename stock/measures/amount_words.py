"""An amount of an item as people are told it: rounded, or just as it is stored.

Whoever tells people an amount asks here, or a page's `Amount` and a plan's
`AmountWords`: pieces are called by the item's own word, never each.
"""

from fractions import Fraction

from stock.measures.conversion import Converter
from stock.measures.piece_words import with_noun
from stock.measures.reading.spoken import spoken_words, stated_words
from stock.measures.resolution import Amount
from stock.measures.wording import negative


def amount_words(amount_base: Amount, converter: Converter) -> str:
    """Return an amount as people say it: 2 lb, 3 eggs, none, minus 1 lb.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> eggs = compile_converter(read_item_measures("eggs", "count"))
    >>> amount_words(Fraction(3), eggs)
    '3 eggs'
    """
    said = with_noun(spoken_words(abs(Fraction(amount_base)), converter), converter)
    return negative(said) if amount_base < 0 else said


def stated_amount_words(amount_base: Amount, converter: Converter) -> str:
    """Return an amount that is not below nothing, not rounded: 9 lb 14 3/4 oz, none."""
    return with_noun(stated_words(Fraction(amount_base), converter), converter)
