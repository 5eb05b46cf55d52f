"""Published weights that a baker may take over into an item's form.

Everything is in the page's address, so that it works by links and plain forms:
`look_up` are the words looked for, `food` is the chosen food's number, `use` the
numbers of its weights that are to stand in the fields.
"""

from dataclasses import dataclass

from django.http import QueryDict
from django.utils.translation import gettext as _

from stock.measures import household
from stock.measures.definitions import parse_equivalents
from stock.measures.household import BelongsIn, SuggestedWeight
from stock.measures.units import Measure
from stock.models import Item


@dataclass(frozen=True, slots=True)
class OfferedWeight:
    """One weight of a food, and whether it is ticked to begin with."""

    number: int
    suggestion: SuggestedWeight
    ticked: bool

    @property
    def can_be_used(self) -> bool:
        """Whether it can stand in a field."""
        return self.suggestion.belongs_in is not BelongsIn.NOWHERE


@dataclass(frozen=True, slots=True)
class OfferedFood:
    """A food that was found, with its weights."""

    ndb_no: str
    description: str
    offers: tuple[OfferedWeight, ...]


@dataclass(frozen=True, slots=True)
class TakenWeights:
    """What was taken over, and from where."""

    values: dict[str, str]  # by column of the item's form
    source: str = ""


def foods_for(words: str, measure: Measure = Measure.MASS) -> list[OfferedFood]:
    """Return the foods that match, the best first."""
    return [
        OfferedFood(food.ndb_no, food.description, _offers(food.ndb_no, measure))
        for food in household.search(words)
    ]


def taken_from(query: QueryDict, measure: Measure = Measure.MASS) -> TakenWeights:
    """Return what the address takes over from a published food."""
    food = household.reference_foods().get(query.get("food", ""))
    if food is None:
        return TakenWeights({})
    chosen = [
        offer.suggestion
        for offer in _offers(food.ndb_no, measure)
        if str(offer.number) in query.getlist("use")
    ]
    texts = {
        "equivalents": household.text_for(BelongsIn.EQUIVALENTS, chosen),
        "own_units": household.text_for(BelongsIn.OWN_UNITS, chosen),
    }
    values = {column: text for column, text in texts.items() if text}
    sources = dict.fromkeys(suggestion.source for suggestion in chosen)
    if values:
        values["measure"] = measure.value
    source = f"{food.description}: {'; '.join(sources)}" if values else ""
    return TakenWeights(values, source)


def equivalent_sources(item: Item) -> list[tuple[str, str]]:
    """Return an item's equivalents, each with where its figure is published.

    The food that was chosen comes before those whose names are like the item's. A
    figure that none of them has is the bakery's own.
    """
    chosen = household.reference_foods().get(item.weights_from)
    foods = [*([chosen] if chosen else []), *household.search(item.name)]
    published = {
        suggestion.text: f"{food.description}, {suggestion.source}"
        for food in reversed(foods)
        for suggestion in household.equivalents_for(food.ndb_no, Measure(item.measure))
    }
    return [
        (str(equivalent), published.get(str(equivalent), _("the bakery's own")))
        for equivalent in parse_equivalents(item.equivalents)
    ]


def _offers(ndb_no: str, measure: Measure) -> tuple[OfferedWeight, ...]:
    """Tick the first weight of each unit: a cup is packed or not, never both."""
    offers = []
    seen: set[str] = set()
    for number, each in enumerate(household.equivalents_for(ndb_no, measure)):
        left = each.text.partition("=")[0]
        can_be_ticked = each.belongs_in is not BelongsIn.NOWHERE and left not in seen
        offers.append(OfferedWeight(number, each, can_be_ticked))
        seen.add(left)
    return tuple(offers)
