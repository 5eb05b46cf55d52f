"""Bare numbers in words, for fields that hold no unit: six packs, twenty-five."""

from decimal import Decimal

from stock.errors import MeasureError
from stock.measures.reading.amounts import AmountReader
from stock.measures.reading.tokens import LONGEST_TEXT
from stock.measures.reading.vocabulary import ARTICLES, Notation


def number_in_words(text: str) -> Decimal | None:
    """Return the number that words say and nothing else; None for anything else.

    By the quantity grammar. `no` and a bare `a` are as likely an answer or a slip.

    >>> number_in_words("twenty-five")
    Decimal('25')
    """
    has_digits = any(letter.isdigit() for letter in text)
    if not text or has_digits or len(text) > LONGEST_TEXT:
        return None
    if text.casefold() in ARTICLES:
        return None
    reader = AmountReader(text, None, Notation.STOCK)
    try:
        amount = reader.amount()
    except MeasureError:
        return None
    number, *others = amount.values
    is_all = reader.peek().kind == "end" and not others and not amount.is_doubtful
    if not is_all or not number:
        return None
    return Decimal(number.numerator) / Decimal(number.denominator)
