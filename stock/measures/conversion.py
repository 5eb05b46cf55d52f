"""What a quantity of one item comes to, in the item's own base unit.

A converter holds plain tables of exact fractions, compiled once per item (see
`compiling`); converting is a look-up and a multiplication for each term.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from stock.errors import (
    NoEquivalentError,
    QuantityTooLargeError,
    TareError,
    UnknownUnitError,
)
from stock.measure_faults import FaultKind, MeasureFault, Missing
from stock.measures.definitions import Equivalent
from stock.measures.item_units import OwnWord
from stock.measures.nouns import noun_forms, singular
from stock.measures.reading.advice import Advice
from stock.measures.reading.reader import Reader, Reading
from stock.measures.reading.terms import Term, TypedQuantity, spelled_term
from stock.measures.reading.tokens import (
    LARGEST_NUMBER,
    refuse_long,
    simple_terms,
)
from stock.measures.reading.vocabulary import Notation
from stock.measures.units import (
    UNIT_BY_BEGINNING,
    UNIT_BY_WORD,
    Measure,
    Unit,
    word_key,
)
from stock.wording.names import nearest_word

# Ten thousand tonnes: above it something was mistyped. Larger than any one number may
# be, so that what is said of an amount, rounded, can still be read.
LARGEST_BASE = 10 * LARGEST_NUMBER
# What would have to be known, by what the item is kept in and what the unit measures.
MISSING = {
    (Measure.MASS, Measure.VOLUME): Missing.WEIGHT_OF_UNIT,
    (Measure.MASS, Measure.COUNT): Missing.WEIGHT_OF_ONE,
    (Measure.VOLUME, Measure.MASS): Missing.WEIGHT_OF_CUP,
    (Measure.VOLUME, Measure.COUNT): Missing.VOLUME_OF_ONE,
    (Measure.COUNT, Measure.MASS): Missing.WEIGHT_OF_ONE,
    (Measure.COUNT, Measure.VOLUME): Missing.HOW_MANY_FILL_UNIT,
}


@dataclass(frozen=True, slots=True)
class Converted:
    """What one term of a quantity comes to in the item's base unit."""

    said: str  # the term as typed: 2 scoops
    amount_base: Fraction
    through: str | None  # such as 1 scoop = 100 g; None where it is exact


@dataclass(frozen=True, slots=True)
class Converter:
    """One item's units and words, compiled; made by `compile_converter`."""

    item_name: str
    measure: Measure
    base_by_unit: Mapping[str, Fraction]
    through_by_unit: Mapping[str, Equivalent] = field(default_factory=dict)
    own_words: tuple[OwnWord, ...] = ()  # largest first
    own_by_form: Mapping[str, OwnWord] = field(default_factory=dict)
    held_in: str = ""  # the system that the kitchen types its par or safety in
    speaks: str = ""  # the system it is said in where nothing else tells
    # What units came to before an own word took their place; None: nothing.
    replaced_base_by_unit: Mapping[str, Fraction | None] = field(default_factory=dict)

    @property
    def base_unit(self) -> str:
        """g, mL or each."""
        return self.measure.base_unit

    @property
    def noun_forms(self) -> frozenset[str]:
        """What one of the item is called, and more of them: egg, eggs."""
        return noun_forms(self.item_name)

    def read(self, text: str, notation: Notation = Notation.STORED) -> TypedQuantity:
        """Return what was typed of the item, in units and words that it knows.

        What could be read in several ways is a SeveralReadingsError with all of them.

        >>> from stock.measures.compiling import compile_converter, read_item_measures
        >>> eggs = compile_converter(read_item_measures("eggs", "count"))
        >>> str(eggs.read("half a dozen eggs"))
        '1/2 dozen'
        """
        refuse_long(text)
        quick = self._quick(text) if notation is Notation.STORED else None
        return quick or self.choose(Reader(text, self, notation)).quantity

    def typed_base(self, text: str, notation: Notation) -> Fraction:
        """Return what was just typed comes to, where it can be read in one way only."""
        return self.to_base(self.read(text, notation))

    def choose(self, reader: Reader) -> Reading:
        """Return the one way to read a text, or ask about several."""
        readings, is_doubtful = reader.readings()
        different: dict[Fraction, Reading] = {}
        for reading in readings:
            try:
                base = self.to_base(reading.quantity)
                base -= self.to_base(reading.tare) if reading.tare else 0
            except QuantityTooLargeError:
                if len(readings) == 1:
                    raise
            else:
                different.setdefault(base, reading)
        kept = [reading for base, reading in different.items() if base >= 0]
        if not kept:
            raise TareError(reader.text, MeasureFault(FaultKind.TARE_TOO_HEAVY))
        # People say the larger unit first: a cup before a pound is none.
        kept = [reading for reading in kept if self._descends(reading)] or kept
        if len(kept) == 1 and not is_doubtful:
            return kept[0]
        raise reader.several(kept)

    def to_base(self, quantity: TypedQuantity | str) -> Fraction:
        """Return exactly what the quantity comes to in the base unit."""
        read = self.read(quantity) if isinstance(quantity, str) else quantity
        total_base = None
        for term in read.terms:
            number, unit_base = term.number, self.unit_base(term.unit)
            # The product, without the detours that Fraction takes for other types.
            term_base = Fraction(
                number.numerator * unit_base.numerator,
                number.denominator * unit_base.denominator,
            )
            total_base = term_base if total_base is None else total_base + term_base
        if total_base is None:
            raise ValueError("a quantity has at least one term")
        if total_base.numerator > LARGEST_BASE * total_base.denominator:
            raise QuantityTooLargeError(self.item_name, str(read))
        return total_base

    def from_base(self, amount_base: Fraction, unit: str) -> Fraction:
        """Return how many of the unit the amount is."""
        return amount_base / self.unit_base(unit)

    def unit_base(self, word: str) -> Fraction:
        """Return what 1 of a unit, or of an own word, comes to in the base unit.

        A word of the item's own goes before a unit of the same name.
        """
        known_base = self.base_by_unit.get(word)
        if known_base is not None:
            return known_base
        key = word_key(word)
        if own := self.own_by_form.get(key):
            return own.holds_base
        unit = UNIT_BY_WORD.get(key)
        if unit is None:
            units = Advice(self).units
            nearest, one = self._nearest(key), singular(word)
            raise UnknownUnitError(self.item_name, word, nearest, units, one)
        unit_base = self.base_by_unit.get(unit.word)
        if unit_base is None:
            raise self._no_equivalent(unit)
        return unit_base

    def amount_of(self, word: str) -> Fraction | None:
        """Return what 1 of a unit or own word comes to; None where nothing says."""
        key = word_key(word)
        if own := self.own_by_form.get(key):
            return own.holds_base
        unit = UNIT_BY_WORD.get(key)
        return None if unit is None else self.base_by_unit.get(unit.word)

    def through(self, word: str) -> str | None:
        """Return what a unit is converted through, as typed; None where it is exact.

        `1 cup = 125 g` for a cup of flour, `1 case = 36 lb` for a case of butter.
        """
        self.unit_base(word)
        key = word_key(word)
        if own := self.own_by_form.get(key):
            return str(own)
        equivalent = self.through_by_unit.get(UNIT_BY_WORD[key].word)
        return None if equivalent is None else str(equivalent)

    def converted(self, quantity: TypedQuantity) -> tuple[Converted, ...]:
        """Return what each term of a quantity comes to, and through what."""
        return tuple(self._converted(term) for term in quantity.terms)

    def _quick(self, text: str) -> TypedQuantity | None:
        """Read what most lines say, numbers of known units, without the grammar."""
        terms = simple_terms(text)
        if terms is None or any(self.amount_of(unit) is None for _, unit in terms):
            return None
        return TypedQuantity(tuple(Term(number, unit) for number, unit in terms))

    def _descends(self, reading: Reading) -> bool:
        bases = [self.unit_base(term.unit) for term in reading.quantity.terms]
        return all(first >= second for first, second in pairwise(bases))

    def _converted(self, term: Term) -> Converted:
        amount_base = term.number * self.unit_base(term.unit)
        said = spelled_term(term.number, term.unit)
        return Converted(said, amount_base, self.through(term.unit))

    def _nearest(self, key: str) -> str | None:
        known = {form: unit.word for form, unit in UNIT_BY_BEGINNING.items()}
        known |= {form: own.word for form, own in self.own_by_form.items()}
        near = nearest_word(key, known)
        return None if near is None else known[near]

    def _no_equivalent(self, unit: Unit) -> NoEquivalentError:
        return NoEquivalentError(
            self.item_name,
            unit.word,
            self.measure.kept_by,
            _missing(self.measure, unit),
        )


def _missing(kept_in: Measure, unit: Unit) -> Missing:
    if kept_in is Measure.VOLUME and unit.word == "oz":
        return Missing.FLUID_OR_WEIGHT_OF_CUP
    return MISSING[kept_in, unit.measure]
