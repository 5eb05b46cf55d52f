"""The words of the quantity grammar, as data: the same on the server and on a phone.

See `reader` for how they are put together. Which of several meanings a word has for an
item is decided in `meanings`.
"""

from collections.abc import Mapping
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType


class Notation(StrEnum):
    """Where a quantity is written, which decides how some of it is read."""

    STORED = "stored"  # read when it was entered, so that nothing is left to ask
    COUNT = "count"  # said at the shelf: first letters, about, bare numbers
    RECIPE = "recipe"  # fractions are fractions, and never improper
    STOCK = "stock"  # fractions are fractions, improper ones too
    ITEM = "item"  # typed for an item: 3/4 lb is a fraction; 12/32 oz is asked about
    PACK = "pack"  # suppliers write 12/32 oz for twelve of 32 oz


NONE_PHRASES = frozenset(
    [
        *("none", "none left", "nothing", "nothing left", "nil", "zero", "empty", "0"),
        *("out", "all out", "sold out", "gone", "all gone", "no more"),
    ]
)
COUPLE = "couple"
HUNDRED = "hundred"
NO = "no"
_FROM_ONE = (
    *("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
    *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen"),
)
_FROM_TWENTY = (
    *("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"),
)
NUMBER_BY_WORD: Mapping[str, int] = MappingProxyType(
    {word: number for number, word in enumerate(_FROM_ONE, start=1)}
    | {word: 10 * number for number, word in enumerate(_FROM_TWENTY, start=2)}
    | {NO: 0, "zero": 0, "a": 1, "an": 1, COUPLE: 2, HUNDRED: 100}
)
SHARE_BY_WORD: Mapping[str, Fraction] = MappingProxyType(
    {
        "half": Fraction(1, 2),
        "halves": Fraction(1, 2),
        "third": Fraction(1, 3),
        "thirds": Fraction(1, 3),
        "quarter": Fraction(1, 4),
        "quarters": Fraction(1, 4),
        "fourth": Fraction(1, 4),
        "fourths": Fraction(1, 4),
        "eighth": Fraction(1, 8),
        "eighths": Fraction(1, 8),
        "tenth": Fraction(1, 10),
        "tenths": Fraction(1, 10),
    }
)
ARTICLES = frozenset(["a", "an"])
AND = "and"
OF = "of"
# What may stand between a share and its unit: half of a bag, 3/4 of the case.
BEFORE_UNIT = frozenset([OF, "a", "an", "the", "one"])
JOINING_WORDS = frozenset([AND, "plus"])
JOINING_MARKS = frozenset("+,;&")
FILLING_WORDS = frozenset(["full", "whole", "loose"])
TRAILING_WORDS = frozenset([OF, "full", "left"])
ABOUT_WORDS = frozenset(["about", "approx", "approximately", "around", "roughly"])
ABOUT_MARKS = frozenset("~\N{ALMOST EQUAL TO}")
LESS_WORDS = frozenset(["less", "minus"])
MINUS_MARKS = "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"
TIMES_MARKS = frozenset("*\N{MULTIPLICATION SIGN}")
TIMES_WORD = "x"
TARE_WORD = "tare"
# The mark for pounds on American scales and invoices: 6#. Common practice, no source.
UNIT_BY_MARK: Mapping[str, str] = MappingProxyType({"#": "lb"})
SIZE_MARK = "#"  # before a number, that of a can: #10
# What one writes for inches, of an item that has a word for them.
INCH_MARK = '"'
INCH_WORDS = ("inch", "in")
# Units in which suppliers give the size of what is in a pack: 12/32 oz, 6/5 lb.
PACK_SIZE_UNITS = frozenset(
    [
        *("g", "kg", "oz", "lb", "mL", "cL", "dL", "L", "fl oz"),
        *("pint", "quart", "gallon", "each"),
    ]
)
# Short for one unit to some and for another to others, the likelier first.
UNITS_BY_DOUBTFUL: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {"T": ("tbsp", "tsp"), "t": ("tsp", "tbsp")}
)
MOST_WORDS_A_UNIT = 3
# More readings than a person looks through are no help.
MOST_READINGS = 8

# No word of these is ever the first letters of a unit.
GRAMMAR_WORDS = frozenset(
    [
        *(NUMBER_BY_WORD.keys() | SHARE_BY_WORD.keys() | BEFORE_UNIT),
        *(JOINING_WORDS | FILLING_WORDS | TRAILING_WORDS | ABOUT_WORDS | LESS_WORDS),
    ]
)
