"""What to write instead of a quantity that cannot be read, in the item's own units."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from stock.measures.reading.meanings import unmistaken
from stock.measures.reading.systems import bare_units
from stock.measures.reading.terms import spelled_term
from stock.measures.units import plural

if TYPE_CHECKING:
    from stock.measures.conversion import Converter

COMMA_PATTERN = re.compile(r"[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?")
MOST_EXAMPLES = 3
# Of what is no item yet.
UNITS_OF_ANYTHING = ("lb", "cup", "each")


@dataclass(frozen=True, slots=True)
class Advice:
    """Advice about quantities of one item, or of none yet."""

    converter: "Converter | None" = None

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
        unit = self.units[0] if self.converter is None else self.units[-1]
        return f"2 {plural(unit)}"

    @property
    def examples(self) -> str:
        """Two amounts as one: 1 case + 2 lb."""
        units = self.units
        if self.converter is None:
            return "1 case + 6 lb"
        if len(units) == 1:
            return self.example
        return f"1 {units[-1]} + 2 {plural(units[0])}"

    def no_unit(self, typed: str, number: Fraction) -> str:
        """Return the advice for a number that counts nothing."""
        said = [spelled_term(number, unit) for unit in self.units]
        such_as = " or ".join([", ".join(said[:-1]), said[-1]] if said[1:] else said)
        return f"{typed} has no unit. Write what it counts, such as {such_as}."

    def empty(self) -> str:
        """Return the advice for nothing at all."""
        return f"it is empty. Write a number and a unit, such as {self.example}."

    def none(self) -> str:
        """Return the advice for a `no` of nothing."""
        return f"write none if there is nothing, or how much there is: {self.example}."

    def negative(self) -> str:
        """Return the advice for what begins with a minus."""
        return (
            f"it cannot be negative. Write how much there is, such as {self.example}."
        )

    def no_number(self, unit: str) -> str:
        """Return the advice for a unit without a number before it."""
        return f"write a number before {unit}, such as 2 {plural(unit)}."

    def no_minus(self) -> str:
        """Return the advice for a minus where nothing can be taken off."""
        return f"it has a minus. Write how much there is, such as {self.example}."

    def no_tare(self) -> str:
        """Return the advice for a minus with nothing behind it."""
        return "the tare is missing. Write its weight, such as 2.15 lb."

    def unreadable(self, what: str) -> str:
        """Return the advice for what is neither number nor unit."""
        return (
            f'"{what}" cannot be read. Write a number and a unit, such as '
            f"{self.example}."
        )

    def between(self, mark: str) -> str:
        """Return the advice for a mark that stands where none can."""
        return f'"{mark}" cannot be read. Put + between two parts: {self.examples}.'

    def missing(self) -> str:
        """Return the advice where one side of a + is missing."""
        return (
            f"something is missing beside the +. Write both, such as {self.examples}."
        )


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


def comma_advice(written: str) -> str:
    """Return the advice for a number with a comma in it.

    >>> comma_advice("1,500")
    'a comma cannot be read. Write 1500, not 1,500.'
    """
    return f"a comma cannot be read. Write {without_comma(written)[0]}, not {written}."
