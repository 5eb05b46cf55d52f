"""What a person says at the shelf: `2c 6lb`, `half a bag`, `none`, `18.64 lb - bin`.

The grammar is that of everything typed (see `reader`), with what only an echo makes
safe: first letters, "about", a bare number beside a counting unit, a tare. Its words
are data (`grammar_for_phone`, `words_for_phone`), so that a page can echo an entry with
no network.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.nouns import name_forms, noun_forms
from stock.measures.reading import vocabulary
from stock.measures.reading.echo import echo, everyday_units, spelled_out
from stock.measures.reading.meanings import (
    LONGEST_ABBREVIATION,
    SHORT_FORMS,
    VOWELS,
)
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.reader import Reader, Reading
from stock.measures.reading.sayings import shortest_metric, system_in
from stock.measures.reading.systems import bare_units, system_of
from stock.measures.reading.terms import (
    KITCHEN_DENOMINATORS,
    Term,
    TypedQuantity,
    finite_decimal,
)
from stock.measures.reading.tokens import LONGEST_TEXT, refuse_long, tidy
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import LEDGER_STEP, round_half_up, to_ledger
from stock.measures.units import (
    LONG_NAMES,
    OZ_BY_WEIGHT,
    UNIT_BY_BEGINNING,
    UNIT_BY_WORD,
    UNITS,
    plural,
    word_key,
)
from stock.measures.wording import say, say_short

NOTHING_WORDS = ("none", "none", "none")  # as words, echoed and written
MOST_PLACES = 4  # of an everyday unit; more is said exactly, in other words


@dataclass(frozen=True, slots=True)
class Spoken:
    """An amount as it was understood."""

    quantity: TypedQuantity  # in whole words of the item; the scale's, tare included
    tare: TypedQuantity | None
    amount_base: Fraction  # without the tare
    words: str  # the amount as people say it: 2 cases + 6 lb
    understood: str  # the echo: what was said in whole words, and its whole
    whole_text: str  # what was said, so that it reads the same beside any field

    @property
    def is_none(self) -> bool:
        """Whether it says that there is nothing."""
        return self.amount_base == 0


def read_spoken(
    text: str,
    converter: Converter,
    tares: Mapping[str, TypedQuantity] | None = None,
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
    tidied = tidy(text)
    if not tidied:
        return None
    refuse_long(text)
    if word_key(tidied) in vocabulary.NONE_PHRASES:
        nothing = TypedQuantity((Term(Fraction(0), converter.base_unit),))
        return Spoken(nothing, None, Fraction(0), *NOTHING_WORDS)
    reader = Reader(text, converter, Notation.COUNT, tares, counting_unit)
    reading = converter.choose(reader)
    amount_base = converter.to_base(reading.quantity)
    if reading.tare is not None:
        amount_base -= converter.to_base(reading.tare)
    return _spoken(reading, amount_base, converter)


def _spoken(reading: Reading, amount_base: Fraction, converter: Converter) -> Spoken:
    said, tare = reading.quantity, reading.tare
    whole = spelled_out(said, converter)
    return Spoken(
        said,
        tare,
        amount_base,
        words=stated_words(amount_base, converter),
        understood=echo(said, tare, amount_base, converter) if amount_base else "none",
        whole_text=f"{whole} less {spelled_out(tare, converter)}" if tare else whole,
    )


def spoken_words(amount_base: Fraction, converter: Converter) -> str:
    """Return an amount as it is echoed: `2 cases + 6 lb`, `none`."""
    return say_short(amount_base, converter) if amount_base else "none"


def stated_words(amount_base: Fraction, converter: Converter) -> str:
    """Return an amount as it is stored, and not rounded: what it says reads back so.

    `16 1/2 lb` only where it is that, `9 lb 14 3/4 oz`; else in decimals of the item's
    everyday unit, else in metric ones.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> flour = compile_converter(
    ...     read_item_measures("flour", "mass", own_units="bag = 50 lb")
    ... )
    >>> stated_words(Fraction("7479.7382"), flour)
    '16.49 lb'
    """
    if not amount_base:
        return "none"
    short = say_short(amount_base, converter)
    unit = everyday_units(converter)[0]
    number = amount_base / converter.unit_base(unit)
    decimals = (round_half_up(number, places) for places in range(1, MOST_PLACES + 1))
    plain = (
        f"{finite_decimal(each)} {unit if each <= 1 else plural(unit)}"
        for each in decimals
    )
    system = system_of(converter)
    exact = say(amount_base, converter, prefer=system)
    fine = [exact] if system_in(exact) in (system, None) else []
    for words in (short, *fine, *plain):
        if _reads_back(words, amount_base, converter):
            return words
    half_a_step = LEDGER_STEP / 2
    return shortest_metric(amount_base, converter.measure, off_base_allowed=half_a_step)


def _reads_back(words: str, amount_base: Fraction, converter: Converter) -> bool:
    try:
        read_base = converter.to_base(parse_quantity(words))
    except MeasureError:  # such as `about 3 tbsp`
        return False
    return to_ledger(read_base) == to_ledger(amount_base)


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
        "measure": converter.measure.value,
        "base_unit": converter.base_unit,
        "name_forms": sorted(name_forms(converter.item_name)),
        "noun_forms": sorted(noun_forms(converter.item_name)),
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
        **_words_for_phone(),
        **_units_for_phone(),
        "most_words_a_unit": vocabulary.MOST_WORDS_A_UNIT,
        "most_readings": vocabulary.MOST_READINGS,
        "longest": LONGEST_TEXT,
    }


def _words_for_phone() -> dict[str, object]:
    """Return numbers, shares and all that joins and surrounds them."""
    return {
        "none": sorted(vocabulary.NONE_PHRASES),
        "numbers": dict(vocabulary.NUMBER_BY_WORD),
        "shares": {
            word: str(share) for word, share in vocabulary.SHARE_BY_WORD.items()
        },
        "before_unit": sorted(vocabulary.BEFORE_UNIT),
        "joining_words": sorted(vocabulary.JOINING_WORDS),
        "joining_marks": sorted(vocabulary.JOINING_MARKS),
        "filling": sorted(vocabulary.FILLING_WORDS),
        "trailing": sorted(vocabulary.TRAILING_WORDS),
        "about_words": sorted(vocabulary.ABOUT_WORDS),
        "about_marks": sorted(vocabulary.ABOUT_MARKS),
        "less": sorted(vocabulary.LESS_WORDS),
        "minus_marks": list(vocabulary.MINUS_MARKS),
        "times_marks": sorted(vocabulary.TIMES_MARKS),
        "grammar_words": sorted(vocabulary.GRAMMAR_WORDS),
        "unit_by_mark": dict(vocabulary.UNIT_BY_MARK),
        "inch_words": list(vocabulary.INCH_WORDS),
    }


def _units_for_phone() -> dict[str, object]:
    """Return the units: their forms, beginnings and plurals, and which are doubtful."""
    return {
        "pack_size_units": sorted(vocabulary.PACK_SIZE_UNITS),
        "kitchen_denominators": sorted(KITCHEN_DENOMINATORS),
        "units_by_doubtful": {
            form: list(units) for form, units in vocabulary.UNITS_BY_DOUBTFUL.items()
        },
        "unit_by_form": {form: unit.word for form, unit in UNIT_BY_WORD.items()},
        "unit_by_beginning": {
            form: unit.word for form, unit in UNIT_BY_BEGINNING.items()
        },
        "short_forms": sorted(SHORT_FORMS),
        "vowels": sorted(VOWELS),
        "longest_abbreviation": LONGEST_ABBREVIATION,
        "measures": {unit.word: unit.measure.value for unit in UNITS.values()},
        "long_names": dict(LONG_NAMES),
        "oz_by_weight": OZ_BY_WEIGHT,
        "plurals": {
            word: plural(word) for word in (*UNITS, *LONG_NAMES.values(), OZ_BY_WEIGHT)
        },
    }


def _forms(word: str, converter: Converter) -> Iterator[str]:
    for form, own in converter.own_by_form.items():
        if own.word == word:
            yield form
