"""Amounts of the plan in the words that people hold the thing in."""

from fractions import Fraction
from functools import cached_property

from planning.engine.kitchen import Nodes
from planning.plan.retail import Retail, to_buy
from stock.conversion.converters import converters_for
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun, without_noun
from stock.measures.reading.vocabulary import Notation
from stock.measures.wording import negative, say_exactly, say_short


class AmountWords:
    """Says an amount of a node: `2 cases + 6 lb`. Converters are read once."""

    def __init__(self, nodes: Nodes) -> None:
        self._nodes = nodes

    @cached_property
    def _converters(self) -> dict[int, Converter]:
        return converters_for()

    def read(self) -> None:
        """Read how amounts are said now: what is asked later goes by it."""
        _ = self._converters

    def short(self, node: int, amount_base: float) -> str:
        """Return the amount rounded to what a person would say."""
        return self._said(node, amount_base, in_packs=True)

    def content(self, node: int, amount_base: float) -> str:
        """Return the same without packs: what is in two cases is 72 lb."""
        return self._said(node, amount_base, in_packs=False)

    def exactly(self, node: int, amount_base: float) -> str:
        """Return the content unrounded; blank where no familiar words say just that."""
        converter = self._converters[self._nodes.ids[node]]
        said = say_exactly(Fraction(amount_base), converter)
        return said and with_noun(said, converter)

    def _said(self, node: int, amount_base: float, *, in_packs: bool) -> str:
        converter = self._converters[self._nodes.ids[node]]
        said = say_short(Fraction(abs(amount_base)), converter, in_packs=in_packs)
        words = with_noun(said, converter)
        return negative(words) if amount_base < 0 else words

    def read_base(self, node: int, typed: str) -> float:
        """Return what a typed quantity of a node comes to in its base unit."""
        converter = self._converters[self._nodes.ids[node]]
        return float(converter.typed_base(typed, Notation.ITEM))

    def said_base(self, node: int, words: str) -> Fraction:
        """Return what words that `short` or `content` said come to as they stand."""
        plain = words.replace("\N{NO-BREAK SPACE}", " ").removeprefix("about ")
        if plain == "none":
            return Fraction(0)
        sign = -1 if plain.startswith("minus ") else 1
        converter = self._converters[self._nodes.ids[node]]
        counted = without_noun(plain.removeprefix("minus "), converter)
        return sign * converter.to_base(counted)

    def retail(self, node: int, amount_base: float) -> Retail:
        """Return what to buy of a node in a shop for an amount."""
        return to_buy(amount_base, self._converters[self._nodes.ids[node]])

    def base(self, node: int, amount_base: float) -> str:
        """Return the bare amount with its base unit."""
        figure = f"{amount_base:,.2f}".rstrip("0").rstrip(".")
        converter = self._converters[self._nodes.ids[node]]
        return with_noun(f"{figure} {self._nodes.units[node]}", converter)
