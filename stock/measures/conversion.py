"""What a quantity of one item comes to, in the item's own base unit.

A converter holds plain tables of exact fractions, compiled once per item (see
`compiling`); converting is a look-up and a multiplication for each term.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction

from stock.errors import NoEquivalentError, QuantityTooLargeError, UnknownUnitError
from stock.measures.definitions import Equivalent
from stock.measures.quantity import LARGEST_NUMBER, Quantity, Term, parse_quantity
from stock.measures.resolution import to_ledger
from stock.measures.units import UNIT_BY_WORD, Measure, Unit, word_key

# Ten thousand tonnes: above it something was mistyped. Larger than any one number may
# be, so that what is said of an amount, rounded, can still be read.
LARGEST_BASE = 10 * LARGEST_NUMBER
NEAR_ENOUGH = 0.75  # of 1, as difflib rates the likeness of two words


@dataclass(frozen=True, slots=True)
class OwnWord:
    """A word of the item's own, or of its packs: what one of it holds."""

    word: str
    holds: Quantity
    holds_base: Fraction
    is_pack: bool = False
    is_spare: bool = False  # of a pack: another of the item's packs is preferred

    def __str__(self) -> str:
        return f"1 {self.word} = {self.holds}"


@dataclass(frozen=True, slots=True)
class Converter:
    """One item's units and words, compiled; made by `compile_converter`."""

    item_name: str
    measure: Measure
    base_by_unit: Mapping[str, Fraction]
    through_by_unit: Mapping[str, Equivalent] = field(default_factory=dict)
    own_words: tuple[OwnWord, ...] = ()  # largest first
    own_by_form: Mapping[str, OwnWord] = field(default_factory=dict)
    speaks: str = ""  # the system it is said in where its own words do not tell

    @property
    def base_unit(self) -> str:
        """g, mL or each."""
        return self.measure.base_unit

    def to_base(self, quantity: Quantity | str) -> Fraction:
        """Return exactly what the quantity comes to in the base unit."""
        read = parse_quantity(quantity) if isinstance(quantity, str) else quantity
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
        """Return what 1 of a unit, or of an own word, comes to in the base unit."""
        known_base = self.base_by_unit.get(word)
        if known_base is not None:
            return known_base
        key = word_key(word)
        if own := self.own_by_form.get(key):
            return own.holds_base
        unit = UNIT_BY_WORD.get(key)
        if unit is None:
            raise UnknownUnitError(self.item_name, word, self._nearest(key))
        unit_base = self.base_by_unit.get(unit.word)
        if unit_base is None:
            raise self._no_equivalent(unit)
        return unit_base

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

    def explain(self, quantity: Quantity | str) -> tuple[str, ...]:
        """Return a sentence for each term, and one for the sum of several."""
        read = parse_quantity(quantity) if isinstance(quantity, str) else quantity
        total_base = self.to_base(read)
        sentences = [self._explained(term) for term in read.terms]
        if len(sentences) > 1:
            sentences.append(f"Together {self._base_text(total_base)}.")
        return tuple(sentences)

    def _explained(self, term: Term) -> str:
        amount_base = term.number * self.unit_base(term.unit)
        through = self.through(term.unit)
        reason = f", through {through}" if through else ""
        return f"{term} = {self._base_text(amount_base)}{reason}."

    def _base_text(self, amount_base: Fraction) -> str:
        stored = to_ledger(amount_base)
        return f"{stored.normalize():f} {self.base_unit}"

    def _nearest(self, key: str) -> str | None:
        known = {form: unit.word for form, unit in UNIT_BY_WORD.items()}
        known |= {form: own.word for form, own in self.own_by_form.items()}
        matches = get_close_matches(key, known, n=1, cutoff=NEAR_ENOUGH)
        return known[matches[0]] if matches else None

    def _no_equivalent(self, unit: Unit) -> NoEquivalentError:
        remedy = _remedy(self.measure, unit)
        return NoEquivalentError(
            self.item_name, unit.word, self.measure.kept_by, remedy
        )


def _remedy(kept_in: Measure, unit: Unit) -> str:
    if kept_in is Measure.VOLUME and unit.word == "oz":
        return (
            "Write fl oz if you mean the volume, or enter the weight of one cup on "
            "its page."
        )
    missing = {
        (Measure.MASS, Measure.VOLUME): f"the weight of one {unit.word}",
        (Measure.MASS, Measure.COUNT): "the weight of one, such as 1 each = 50 g,",
        (Measure.VOLUME, Measure.MASS): "the weight of one cup",
        (Measure.VOLUME, Measure.COUNT): "the volume of one, such as 1 each = 30 mL,",
        (Measure.COUNT, Measure.MASS): "the weight of one, such as 1 each = 50 g,",
        (Measure.COUNT, Measure.VOLUME): f"how many fill one {unit.word}",
    }
    return f"Enter {missing[kept_in, unit.measure]} on its page."
