"""What reading asks of an item: its units, and the words of its own.

A `Converter` is compiled from both and reads by them; what is found out about units
before anything is converted needs no more than this.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

from stock.measures.reading.terms import TypedQuantity
from stock.measures.units import Measure


@dataclass(frozen=True, slots=True)
class OwnWord:
    """A word of the item's own, or of its packs: what one of it holds."""

    word: str
    holds: TypedQuantity
    holds_base: Fraction
    is_pack: bool = False
    is_spare: bool = False  # of a pack: another of the item's packs is preferred

    def __str__(self) -> str:
        return f"1 {self.word} = {self.holds}"


class ItemUnits(Protocol):
    """One item's units and words."""

    @property
    def item_name(self) -> str:
        """What the item is called."""

    @property
    def measure(self) -> Measure:
        """What it is kept by."""

    @property
    def base_unit(self) -> str:
        """g, mL or each."""

    @property
    def base_by_unit(self) -> Mapping[str, Fraction]:
        """What 1 of each unit comes to, where the item can tell."""

    @property
    def own_words(self) -> tuple[OwnWord, ...]:
        """The words of its own, largest first."""

    @property
    def own_by_form(self) -> Mapping[str, OwnWord]:
        """The same by each of their forms: case, cases."""

    @property
    def noun_forms(self) -> frozenset[str]:
        """What one of the item is called, and more of them: egg, eggs."""

    @property
    def held_in(self) -> str:
        """The system that the kitchen types its par or safety in; blank for none."""

    @property
    def speaks(self) -> str:
        """The system it is said in where nothing else tells; blank for none."""

    def unit_base(self, word: str) -> Fraction:
        """Return what 1 of a unit or own word comes to, or raise why none."""

    def amount_of(self, word: str) -> Fraction | None:
        """Return the same; None where nothing says."""
