"""The reasons and warnings of orders as people read them, for kitchens of tests."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from planning.engine.kitchen import Kitchen
from planning.sentences.order_sentences import OrderSentences
from planning.sentences.teller import Teller


@dataclass(frozen=True)
class SaidAmounts:
    """Says amounts by functions of their figure: what is counted, what is in packs."""

    counted: Callable[[float], str]
    content_of: Callable[[float], str] | None = None
    size_base: int = 1  # of what is counted
    exact: Callable[[float], str] = "".format

    def short(self, _node, amount_base):
        return self.counted(amount_base)

    def content(self, _node, amount_base):
        return (self.content_of or self.counted)(amount_base)

    def exactly(self, _node, amount_base):
        return self.exact(amount_base)

    def said_base(self, node, words):
        figure, _, unit = words.partition(" ")
        is_counted = self.content(node, 1).partition(" ")[2] != unit
        size = self.size_base if is_counted else 1
        return size * Fraction(figure.replace(",", ""))


@dataclass(frozen=True)
class PlainAmounts:
    """Says amounts in the base unit, to a tenth: 25 g."""

    kitchen: Kitchen

    def short(self, node, amount_base):
        figure = f"{amount_base:,.1f}".removesuffix(".0")
        return f"{figure} {self.kitchen.nodes.units[node]}"

    def content(self, node, amount_base):
        return self.short(node, amount_base)

    def exactly(self, node, amount_base):
        return self.short(node, amount_base)

    def said_base(self, _node, words):
        return Fraction(words.partition(" ")[0].replace(",", ""))


def said(kitchen, purchasing, amounts=None):
    """Return orders with sentences for their reasons and warnings."""
    sentences = OrderSentences(Teller(kitchen, amounts or PlainAmounts(kitchen)))
    return replace(
        purchasing,
        orders=tuple(
            replace(
                order,
                lines=tuple(
                    replace(line, because=sentences.because(line))
                    for line in order.lines
                ),
            )
            for order in purchasing.orders
        ),
        warnings=sentences.warnings(purchasing),
    )
