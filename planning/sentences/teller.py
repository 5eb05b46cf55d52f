"""Who says a record: the kitchen that it speaks of, and the words of its amounts."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from functools import singledispatch

from planning.engine.kitchen import Kitchen
from planning.engine.reasons import StoredSentence
from planning.sentences.amounts import Amounts, Sums
from planning.sentences.cakes_named import cakes_words
from planning.sentences.words import capitalized
from stock.wording.money_words import money_words, price_words


@dataclass(frozen=True, slots=True)
class Teller:
    """Names the things of one kitchen, and says amounts and money."""

    kitchen: Kitchen
    amounts: Amounts

    def item(self, node: int) -> str:
        """Return an item's name within a sentence."""
        return self.kitchen.nodes.names[node]

    def heading(self, node: int) -> str:
        """Return an item's name as a sentence begins with it."""
        return capitalized(self.item(node))

    def supplier(self, place: int) -> str:
        """Return a supplier's name."""
        return self.kitchen.suppliers[place].name

    def content(self, node: int, amount_base: float) -> str:
        """Return an amount without packs."""
        return self.amounts.content(node, amount_base)

    def sums(self, node: int) -> Sums:
        """Return what adds up an item's amounts as they are said."""
        return Sums(self.amounts, node)

    def money(self, money: Decimal | float) -> str:
        """Return an amount of money with its currency."""
        return money_words(Decimal(money), self.kitchen.bakery.currency)

    def price(self, price: Decimal) -> str:
        """Return the price of one pack with its currency."""
        return price_words(price, self.kitchen.bakery.currency)

    def minimum(self, place: int) -> str:
        """Return a supplier's minimum order."""
        return self.money(self.kitchen.suppliers[place].minimum_order)

    def safety(self, node: int) -> str:
        """Return an item's safety; blank without one."""
        safety_base = float(self.kitchen.nodes.safety_base[node])
        return self.content(node, safety_base) if safety_base else ""

    def cakes(self, references: Iterable[str]) -> str:
        """Return which cakes, in a few words; blank for none."""
        return cakes_words(self.kitchen, references)


@singledispatch
def sentence(record: object, _to: Teller) -> str:
    """Return a record of the engine in a sentence of its own."""
    raise TypeError(f"no sentence for {type(record).__name__}")


@sentence.register
def _said(record: StoredSentence, _to: Teller) -> str:
    return record.words
