"""What a whole or a batch yields: a quantity in plain units, which says its measure."""

from fractions import Fraction

from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.conversion.converters import ItemTexts
from stock.errors import MeasureError
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.vocabulary import Notation
from stock.measures.units import UNIT_BY_WORD, Measure, word_key
from stock.wording.names import capitalized


class YieldsError(MeasureError):
    """A yield that is nothing, or that does not say in which measure it is."""


def read_yields(name: str, text: str) -> tuple[Measure, Fraction]:
    """Return the measure of a yield, and what it comes to in the base unit.

    >>> read_yields("egg white", "33 g")
    (<Measure.MASS: 'mass'>, Fraction(33, 1))
    """
    quantity = parse_quantity(text, Notation.RECIPE)
    units = [UNIT_BY_WORD.get(word_key(term.unit)) for term in quantity.terms]
    measures = {unit.measure for unit in units if unit is not None}
    if len(measures) > 1:
        raise YieldsError(
            _(
                "{text} mixes {measures}. Write what {name} yields in one of them."
            ).format(text=text, measures=" and ".join(sorted(measures)), name=name)
        )
    measure = measures.pop() if measures else Measure.MASS
    yields_base = converters.compile_item(ItemTexts(name, measure)).to_base(quantity)
    if yields_base <= 0:
        raise YieldsError(
            capitalized(_("{name} must yield more than nothing.").format(name=name))
        )
    return measure, yields_base
