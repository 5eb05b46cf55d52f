"""What a person says at the shelf: `2c 6lb`, `half a bag`, `none`, `18.64 lb - bin`.

    said     = nothing | amount [less tare]
    amount   = term { [joiner] term }                 2c 6lb, 2 cases and 6 lb
    term     = count ["full"] unit
    count    = number | number word | count "and a half"
    unit     = a word of the item's, a unit, or its first letters
    tare     = a stored tare's name | term ["tare"]   bin, 2.15 lb tare

Every saying is brought into the workbook's grammar and read there, so that an amount
means the same wherever it is typed. First letters stand for a word of the item's own
where only one begins so; where none does, for a unit if only one does. The words are
data (`grammar_for_phone`, `words_for_phone`), so that a page can echo an entry with no
network.
"""

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import TareError
from stock.measures.conversion import Converter
from stock.measures.quantity import (
    LONGEST_TEXT,
    MINUS_MARKS,
    Quantity,
    Term,
    format_number,
    parse_quantity,
)
from stock.measures.spoken_grammar import (
    FILLING_WORDS,
    JOINING_MARKS,
    JOINING_WORDS,
    LESS_WORDS,
    NONE_WORDS,
    NUMBER_BY_WORD,
    SHARE_BY_WORD,
    TARE_WORD,
    UNIT_BY_MARK,
    Reader,
    bare_units,
)
from stock.measures.units import UNIT_BY_WORD, plural, word_key
from stock.measures.wording import say_short

# A space of no width at all, which comes with pasted text.
NO_WIDTH = "\N{ZERO WIDTH NO-BREAK SPACE}"


@dataclass(frozen=True, slots=True)
class Spoken:
    """An amount as it was understood."""

    quantity: Quantity  # in whole words of the item; the scale's, tare included
    tare: Quantity | None
    amount_base: Fraction  # without the tare
    words: str  # the amount as people say it: 2 cases + 6 lb

    @property
    def understood(self) -> str:
        """The echo: what was said in whole words, and what that comes to."""
        if self.is_none:
            return self.words
        said = spelled_out(self.quantity)
        if self.tare:
            said = f"{said} less {spelled_out(self.tare)}"
        return said if said == self.words else f"{said} = {self.words}"

    @property
    def whole_text(self) -> str:
        """What was said, written so that it reads the same beside any field."""
        said = str(self.quantity)
        return f"{said} - {self.tare}" if self.tare else said

    @property
    def is_none(self) -> bool:
        """Whether it says that there is nothing."""
        return self.amount_base == 0


def read_spoken(
    text: str,
    converter: Converter,
    tares: Mapping[str, Quantity] | None = None,
    *,
    counting_unit: str | None = None,
) -> Spoken | None:
    """Return what a text says of an item; None for a blank one: not counted.

    `tares` are the stored ones, by name, in units of weight. A bare number means the
    counting unit, a word that the item understands. What could be read in several
    ways is a SeveralReadingsError, which has them all: a bare number without a
    counting unit too.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> flour = compile_converter(
    ...     read_item_measures("flour", "mass", own_units="bag = 50 lb")
    ... )
    >>> read_spoken("half a bag", flour).understood
    '1/2 bag = 25 lb'
    """
    if not text.replace(NO_WIDTH, " ").strip():
        return None
    if len(text) > LONGEST_TEXT:
        parse_quantity(text)  # says so
    composed = unicodedata.normalize("NFC", text).replace(NO_WIDTH, " ").strip()
    if word_key(composed) in NONE_WORDS:
        nothing = Quantity((Term(Fraction(0), converter.base_unit),))
        return Spoken(nothing, None, Fraction(0), "none")
    reader = Reader(composed, converter, tares or {}, counting_unit)
    quantity, tare = reader.said()
    gross_base = converter.to_base(quantity)
    tare_base = converter.to_base(tare) if tare else Fraction(0)
    if tare_base > gross_base:
        raise TareError(text.strip(), "the tare is more than the scale shows.")
    amount_base = gross_base - tare_base
    return Spoken(quantity, tare, amount_base, spoken_words(amount_base, converter))


def spoken_words(amount_base: Fraction, converter: Converter) -> str:
    """Return an amount as it is echoed: `2 cases + 6 lb`, `none`."""
    return say_short(amount_base, converter) if amount_base else "none"


def spelled_out(quantity: Quantity) -> str:
    """Return a quantity with its words in the right number.

    >>> spelled_out(parse_quantity("2 case 1/2 bag"))
    '2 cases + 1/2 bag'
    """
    return " + ".join(
        f"{format_number(term.number)} "
        f"{term.unit if term.number <= 1 else plural(term.unit)}"
        for term in quantity.terms
    )


def words_for_phone(
    converter: Converter, counting_unit: str | None = None
) -> dict[str, object]:
    """Return what a page needs to read and echo this item, as plain JSON.

    `units`: what 1 of each unit that the item can be counted in comes to in the base
    unit, as a fraction in a string. `words`: its own, largest first, each with its
    other forms. Forms of units are the same for all: see `grammar_for_phone`. A bare
    number means the `counting_unit`; without one it is asked which of `bare_units`.
    """
    return {
        "item": converter.item_name,
        "base_unit": converter.base_unit,
        "counting_unit": counting_unit,
        "bare_units": list(bare_units(converter)),
        "units": {word: str(base) for word, base in converter.base_by_unit.items()},
        "words": [
            {
                "word": own.word,
                "plural": plural(own.word),
                "base": str(own.holds_base),
                "forms": sorted(_forms(own.word, converter)),
            }
            for own in converter.own_words
        ],
    }


def grammar_for_phone() -> dict[str, object]:
    """Return the words of this grammar that are the same for every item, as JSON."""
    return {
        "none": sorted(NONE_WORDS),
        "numbers": {word: str(number) for word, number in NUMBER_BY_WORD.items()},
        "shares": {word: str(share) for word, share in SHARE_BY_WORD.items()},
        "joining_words": sorted(JOINING_WORDS),
        "joining_marks": sorted(JOINING_MARKS),
        "filling": sorted(FILLING_WORDS),
        "less": sorted(LESS_WORDS),
        "minus_marks": sorted(MINUS_MARKS),
        "tare": TARE_WORD,
        "unit_by_mark": dict(UNIT_BY_MARK),
        "unit_by_form": {form: unit.word for form, unit in UNIT_BY_WORD.items()},
        "plurals": {unit.word: plural(unit.word) for unit in UNIT_BY_WORD.values()},
        "longest": LONGEST_TEXT,
    }


def _forms(word: str, converter: Converter) -> Iterator[str]:
    for form, own in converter.own_by_form.items():
        if own.word == word:
            yield form
