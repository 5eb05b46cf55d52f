"""What to write instead of a quantity that cannot be read, in the item's own units."""

import re
from dataclasses import dataclass
from fractions import Fraction

from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.item_units import ItemUnits
from stock.measures.nouns import with_noun
from stock.measures.reading.meanings import unmistaken
from stock.measures.reading.systems import bare_units
from stock.measures.reading.terms import spelled_term
from stock.measures.units import plural

COMMA_PATTERN = re.compile(r"[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?")
MOST_EXAMPLES = 3
# Of what is no item yet.
UNITS_OF_ANYTHING = ("lb", "cup", "each")


@dataclass(frozen=True, slots=True)
class Advice:
    """Advice about quantities of one item, or of none yet."""

    converter: ItemUnits | None = None

    @property
    def units(self) -> tuple[str, ...]:
        """A few units that the item can be counted in, smallest first."""
        if self.converter is None:
            return UNITS_OF_ANYTHING
        converter = self.converter
        units = tuple(unmistaken(unit, converter) for unit in bare_units(converter))
        middle = len(units) // 2
        few = (units[0], units[middle], units[-1])
        return units if len(units) <= MOST_EXAMPLES else few

    @property
    def example(self) -> str:
        """An amount: 2 lb, 2 cases."""
        if self.converter is None:
            return f"2 {plural(self.units[0])}"
        return with_noun(f"2 {plural(self.units[-1])}", self.converter)

    @property
    def examples(self) -> str:
        """Two amounts as one: 1 case + 2 lb."""
        units = self.units
        if self.converter is None:
            return "1 case + 6 lb"
        if len(units) == 1:
            return self.example
        words = f"1 {units[-1]} + 2 {plural(units[0])}"
        return with_noun(words, self.converter)

    def fault(self, kind: FaultKind, what: str = "") -> MeasureFault:
        """Return a fault with an amount that could be written instead."""
        return MeasureFault(kind, what, (self.example,))

    def no_unit(self, typed: str, number: Fraction) -> MeasureFault:
        """Return the fault of a number that counts nothing."""
        said = tuple(spelled_term(number, unit) for unit in self.units)
        if self.converter is not None:
            said = tuple(with_noun(words, self.converter) for words in said)
        return MeasureFault(FaultKind.NO_UNIT, typed, said)

    def no_number(self, unit: str) -> MeasureFault:
        """Return the fault of a unit without a number before it."""
        return MeasureFault(FaultKind.NO_NUMBER, unit, (f"2 {plural(unit)}",))

    def between_parts(self, kind: FaultKind, what: str = "") -> MeasureFault:
        """Return a fault beside a +, with two amounts as one to write instead."""
        return MeasureFault(kind, what, (self.examples,))


def without_comma(written: str) -> tuple[str, ...]:
    """Return what a number with a comma may have meant, the likelier first.

    >>> without_comma("1,500"), without_comma("1,5"), without_comma("1,500.5")
    (('1500', '1.500'), ('1.5',), ('1500.5',))
    """
    plain = written.replace(",", "")
    if written.count(",") > 1 or "." in written:
        return (plain,)
    pointed = written.replace(",", ".")
    is_thousands = len(written.partition(",")[2]) == 3
    return (plain, pointed) if is_thousands else (pointed,)


def comma_fault(written: str) -> MeasureFault:
    """Return the fault of a number with a comma in it.

    >>> comma_fault("1,500").such_as
    ('1500', '1.500')
    """
    return MeasureFault(FaultKind.COMMA, written, without_comma(written))
