"""The quantity grammar: what people write, read exactly and without guessing.

`parse_quantity` reads what belongs to no item yet; units are then only words. What is
typed of an item is read by its converter, which knows them. The grammar itself is in
`reader`.
"""

import re

from stock.measures.reading.reader import Reader
from stock.measures.reading.terms import (
    KITCHEN_DENOMINATORS,
    Term,
    TypedQuantity,
    finite_decimal,
    format_number,
)
from stock.measures.reading.tokens import (
    LARGEST_NUMBER,
    LONGEST_TEXT,
    WORD,
    refuse_long,
    simple_terms,
)
from stock.measures.reading.vocabulary import SIZE_MARK, Notation

__all__ = [
    "KITCHEN_DENOMINATORS",
    "LARGEST_NUMBER",
    "LONGEST_TEXT",
    "UNIT_PATTERN",
    "Term",
    "TypedQuantity",
    "finite_decimal",
    "format_number",
    "parse_quantity",
]

# A word of the item's own may be that of a can by its size: #10 can.
UNIT_PATTERN = re.compile(rf"(?:{SIZE_MARK}[0-9.]+\s+)?{WORD}(?:\s+{WORD})*")


def parse_quantity(text: str, notation: Notation = Notation.STOCK) -> TypedQuantity:
    """Return what a text such as `2 case + 3 1/2 lb` says.

    >>> parse_quantity("1¾ cup").terms
    (Term(number=Fraction(7, 4), unit='cup'),)
    """
    refuse_long(text)
    if notation is Notation.STOCK and (simple := simple_terms(text)):
        return TypedQuantity(tuple(Term(number, unit) for number, unit in simple))
    reader = Reader(text, None, notation)
    readings, is_doubtful = reader.readings()
    if is_doubtful or len(readings) > 1:
        raise reader.several(readings)
    return readings[0].quantity
