"""Reference weights: what USDA says a cup, a stick or an egg weighs.

The figures are USDA's own and unchanged, with the source beside each. They only
suggest what to enter as an item's equivalents; the baker chooses, because the state
matters (packed or unpacked, sifted or not), and may replace each by a test of her own.
Weights are edible grams. In the table `reads_as` is our unit, or the word of the
item's own that the weight would define, or `words only` where neither is honest. A
pint of berries is such a word, written `own pint`: heaped berries leave gaps, and what
a pint of them weighs says nothing of a cup.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from pathlib import Path

from stock.measures.reading.quantity import format_number
from stock.measures.units import UNITS, Measure

TABLE = Path(__file__).with_name("usda_household_weights.csv")
WORDS_ONLY = "words only"
OWN = "own "
MOST_FOUND = 20
UNSALTED, WITHOUT_SALT = "unsalted", "without salt"  # as people say it, and as USDA


class BelongsIn(StrEnum):
    """Where a suggestion can be entered on an item's page."""

    EQUIVALENTS = "equivalents"
    OWN_UNITS = "own units"
    NOWHERE = "nowhere"


@dataclass(frozen=True, slots=True)
class HouseholdWeight:
    """One published weight: so much of a measure, in USDA's words, in grams."""

    amount: Fraction
    measure_words: str
    grams: str  # as printed
    reads_as: str
    source: str

    @property
    def per_one_g(self) -> Fraction:
        """What one of the measure weighs, in grams."""
        return Fraction(self.grams) / self.amount


@dataclass(frozen=True, slots=True)
class ReferenceFood:
    """A food of the published table, with all its household weights."""

    ndb_no: str
    description: str
    weights: tuple[HouseholdWeight, ...]


@dataclass(frozen=True, slots=True)
class SuggestedWeight:
    """What could be entered: `1 cup = 220 g`, for USDA's `cup packed`.

    The text is empty where the weight cannot serve the item; the words and the
    grams are there all the same.
    """

    text: str
    belongs_in: BelongsIn
    measure_words: str
    grams: str
    source: str


@cache
def reference_foods() -> dict[str, ReferenceFood]:
    """Return the published foods by their NDB number, in the table's order."""
    weights: dict[tuple[str, str], list[HouseholdWeight]] = {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            key = row["ndb_no"], row["description"]
            weights.setdefault(key, []).append(
                HouseholdWeight(
                    amount=Fraction(row["amount"]),
                    measure_words=row["measure"],
                    grams=row["grams"],
                    reads_as=row["reads_as"],
                    source=row["source"],
                )
            )
    return {
        ndb_no: ReferenceFood(ndb_no, description, tuple(rows))
        for (ndb_no, description), rows in weights.items()
    }


def search(text: str) -> list[ReferenceFood]:
    """Return the foods that best match the words, at most 20, best first.

    All the words must be in the description, in any order; if no food has them all,
    those with the most of them are returned.

    >>> [food.description for food in search("bread flour")]
    ['Wheat flour, white, bread, enriched']
    """
    wanted = [_singular(word) for word in _words(text)]
    if not wanted:
        return []
    ranked = []
    for food in reference_foods().values():
        words = _described(food)
        places = [_place(word, words) for word in wanted]
        matched = sorted(place for place in places if place is not None)
        ranked.append((-len(matched), matched, food.ndb_no, food))
    ranked.sort(key=lambda rank: rank[:3])
    most = ranked[0][0]
    return [food for rank, *_, food in ranked if rank == most and rank][:MOST_FOUND]


def equivalents_for(
    ndb_no: str, measure: Measure = Measure.MASS
) -> tuple[SuggestedWeight, ...]:
    """Return what each published weight suggests for an item kept in a measure.

    All are returned, so that the baker sees what there is; an unknown number has none.
    """
    food = reference_foods().get(ndb_no)
    if food is None:
        return ()
    return tuple(_suggestion(weight, measure) for weight in food.weights)


def text_for(belongs_in: BelongsIn, suggestions: Iterable[SuggestedWeight]) -> str:
    """Return the suggestions that belong there as they are entered, split by `; `."""
    return "; ".join(
        suggestion.text
        for suggestion in suggestions
        if suggestion.belongs_in is belongs_in
    )


def _suggestion(weight: HouseholdWeight, measure: Measure) -> SuggestedWeight:
    text, belongs_in = "", BelongsIn.NOWHERE
    unit = UNITS.get(weight.reads_as)
    if unit is not None and measure in {Measure.MASS, unit.measure}:
        amount = format_number(weight.amount)
        text = f"{amount} {unit.word} = {weight.grams} g"
        belongs_in = BelongsIn.EQUIVALENTS
    elif unit is None and weight.reads_as != WORDS_ONLY and measure is Measure.MASS:
        word = weight.reads_as.removeprefix(OWN)
        text = f"{word} = {format_number(weight.per_one_g)} g"
        belongs_in = BelongsIn.OWN_UNITS
    return SuggestedWeight(
        text, belongs_in, weight.measure_words, weight.grams, weight.source
    )


def _described(food: ReferenceFood) -> list[str]:
    """Return the words that a food is found by: what is without salt is unsalted."""
    words = _words(food.description)
    return [*words, UNSALTED] if WITHOUT_SALT in " ".join(words) else words


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z]+", text.casefold())


def _singular(word: str) -> str:
    return word.removesuffix("s") if len(word) > 3 else word


def _place(wanted: str, words: list[str]) -> tuple[bool, int] | None:
    """Return how well and where a word is found; whole words come first."""
    for place, word in enumerate(words):
        if _singular(word) == wanted:
            return False, place
    for place, word in enumerate(words):
        if word.startswith(wanted):
            return True, place
    return None
