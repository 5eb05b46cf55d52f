"""How amounts are said, and what such words come to when they are added up."""

from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from planning.engine.shelves.projection import LEAST_LACK_BASE


class Amounts(Protocol):
    """Says amounts of a node, given in its base unit."""

    def short(self, node: int, amount_base: float) -> str:
        """Return the amount as it is counted: 2 cases + 6 lb."""

    def content(self, node: int, amount_base: float) -> str:
        """Return the same without packs: what is in two cases is 72 lb."""

    def exactly(self, node: int, amount_base: float) -> str:
        """Return the content unrounded; blank where no familiar words say just that."""

    def said_base(self, node: int, words: str) -> Fraction:
        """Return what such words come to as they stand."""


@dataclass(frozen=True, slots=True)
class Sums:
    """Adds amounts of one node up as they are said."""

    amounts: Amounts
    node: int

    def counted(self, amount_base: float) -> Fraction:
        """Return what an amount comes to as it is counted; 0 for next to nothing."""
        if abs(amount_base) < LEAST_LACK_BASE:
            return Fraction(0)
        words = self.amounts.short(self.node, amount_base)
        return self.amounts.said_base(self.node, words)

    def content(self, amount_base: float) -> Fraction:
        """Return the same of an amount that is said without packs."""
        if abs(amount_base) < LEAST_LACK_BASE:
            return Fraction(0)
        words = self.amounts.content(self.node, amount_base)
        return self.amounts.said_base(self.node, words)

    def just(self, amount_base: Fraction) -> str:
        """Return words that come to just so much as they stand; blank without any."""
        if amount_base <= 0:
            return ""
        for say in (self.amounts.content, self.amounts.exactly):
            words = say(self.node, float(amount_base)).removeprefix("about ")
            if words and self.amounts.said_base(self.node, words) == amount_base:
                return words
        return ""
