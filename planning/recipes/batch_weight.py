"""What goes into one batch by weight, against what the batch is said to yield."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from planning.models import Recipe, RecipeLine
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.models import Item


@dataclass(frozen=True, slots=True)
class LineWeight:
    """What one line of a recipe weighs."""

    component_name: str
    quantity: str  # as typed, with its own word for one of it: 3 eggs
    mass_g: Fraction


@dataclass(frozen=True, slots=True)
class BatchWeight:
    """The weight of a batch's lines; packaging is left out."""

    lines: tuple[LineWeight, ...]  # of which `in_g` is the sum
    yield_g: Fraction | None  # None: nothing says what the yield weighs
    not_weighed: tuple[str, ...]  # names of what nothing says the weight of

    @property
    def in_g(self) -> Fraction:
        """What all lines weigh together."""
        return sum((line.mass_g for line in self.lines), Fraction(0))

    @property
    def is_complete(self) -> bool:
        """Whether every line could be weighed."""
        return not self.not_weighed

    @property
    def lost_fraction(self) -> float | None:
        """What is lost on the way, of what goes in; below 0, there is more after it.

        None where it cannot be told.
        """
        if self.yield_g is None or not self.in_g or not self.is_complete:
            return None
        return float(1 - self.yield_g / self.in_g)


def weigh_batch(
    recipe: Recipe, lines: Iterable[RecipeLine], converters: Mapping[int, Converter]
) -> BatchWeight:
    """Return what one batch weighs. The edible amounts count; no query."""
    weighed, not_weighed = [], []
    for line in lines:
        if line.component.kind == Item.Kind.PACKAGING:
            continue
        converter = converters[line.component_id]
        mass_g = _mass_g(converter, line.quantity)
        if mass_g is None:
            not_weighed.append(line.component.name)
        else:
            quantity = with_noun(line.quantity, converter)
            weighed.append(LineWeight(line.component.name, quantity, mass_g))
    yield_g = _mass_g(converters[recipe.pk], recipe.yields)
    return BatchWeight(tuple(weighed), yield_g, tuple(not_weighed))


def _mass_g(converter: Converter, quantity: str) -> Fraction | None:
    try:
        return converter.from_base(converter.to_base(quantity), "g")
    except MeasureError:
        return None
