"""The recipes as one book: what takes what, through every level, both ways."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from django.db.models import FloatField
from django.db.models.functions import Cast

from planning.models import RecipeLine
from stock.items.allergens import split_allergens
from stock.models import Item


class RecipeBookLine(NamedTuple):
    """One line of a recipe: what one batch takes of a component."""

    recipe_id: int
    component_id: int
    amount_base: float  # as purchased, or as made
    quantity: str  # edible, as typed


class BookEntry(NamedTuple):
    """What the book knows of everything that has a name."""

    name: str
    kind: str
    allergens: str
    whole_id: int | None
    retired: bool
    yield_base: float | None  # of a recipe: one batch
    loss_percent: float | None


@dataclass(frozen=True, slots=True)
class Use:
    """A cake in which something is, and the components that bring it there."""

    cake_id: int
    through_ids: tuple[int, ...]  # none where the cake's own lines take it


@dataclass(frozen=True)
class RecipeBook:
    """Every recipe's lines, from above and from below."""

    named: Mapping[int, BookEntry]
    takings: Mapping[int, list[RecipeBookLine]]  # by recipe
    takers: Mapping[int, list[RecipeBookLine]]  # by component
    _flat: dict[int, dict[int, float]] = field(default_factory=dict)

    def inside(self, recipe_id: int) -> set[int]:
        """Return all that a recipe contains, through every level, wholes of parts too.

        The recipe itself is not among it.
        """
        return self._reached(recipe_id, self._below)

    def around(self, item_id: int) -> set[int]:
        """Return the recipes that something is in, through every level."""
        reached = self._reached(item_id, self._above)
        for part_id in self.parts_of(item_id):
            reached |= self._reached(part_id, self._above)
        return reached

    def parts_of(self, item_id: int) -> list[int]:
        """Return the parts that are taken from an item."""
        return [pk for pk, each in self.named.items() if each.whole_id == item_id]

    def cakes_with(self, item_id: int) -> list[Use]:
        """Return the cakes that something is in, by name."""
        wanted = {item_id, *self.parts_of(item_id)}
        around = self.around(item_id)
        cakes = [pk for pk in around if self.named[pk].kind == Item.Kind.CAKE]
        uses = []
        for cake_id in sorted(cakes, key=self._name):
            taken = {taking.component_id for taking in self.takings[cake_id]}
            through = () if taken & wanted else tuple(taken & around)
            uses.append(Use(cake_id, tuple(sorted(through, key=self._name))))
        return uses

    def bought_for(self, recipe_id: int) -> dict[int, float]:
        """Return what one batch takes of items and parts, through every level.

        In base units, as purchased; batches in any fraction, stock not counted.
        """
        if recipe_id not in self._flat:
            total_base: dict[int, float] = defaultdict(float)
            for taking in self.takings.get(recipe_id, ()):
                for item_id, amount_base in self._bought_of(taking):
                    total_base[item_id] += amount_base
            self._flat[recipe_id] = dict(total_base)
        return self._flat[recipe_id]

    def bought_through(self, recipe_id: int) -> dict[int, dict[int, float]]:
        """Return the same by item and by the component of the recipe that brings it.

        What a line of the recipe itself takes is brought by the item itself.
        """
        found: dict[int, dict[int, float]] = defaultdict(dict)
        for taking in self.takings.get(recipe_id, ()):
            for item_id, amount_base in self._bought_of(taking):
                through = found[item_id]
                known_base = through.get(taking.component_id, 0.0)
                through[taking.component_id] = known_base + amount_base
        return dict(found)

    def allergens(self, recipe_id: int) -> dict[str, list[str]]:
        """Return the allergens from the labels entered, and the items they come from.

        Through every level; allergens and names each in alphabetical order.
        """
        sources: dict[str, set[str]] = defaultdict(set)
        for item_id in self.inside(recipe_id):
            named = self.named[item_id]
            for allergen in split_allergens(named.allergens):
                sources[allergen].add(named.name)
        return {
            allergen: sorted(sources[allergen], key=str.casefold)
            for allergen in sorted(sources)
        }

    def unlabelled(self, recipe_id: int) -> list[str]:
        """Return the ingredients inside a recipe for which no allergen is entered."""
        return sorted(
            (
                self.named[item_id].name
                for item_id in self.inside(recipe_id)
                if self.named[item_id].kind == Item.Kind.INGREDIENT
                and not self.named[item_id].allergens
            ),
            key=str.casefold,
        )

    def _bought_of(self, taking: RecipeBookLine) -> Iterable[tuple[int, float]]:
        named = self.named[taking.component_id]
        if named.yield_base is None:
            return [(taking.component_id, taking.amount_base)]
        mixed_base = taking.amount_base / (1 - (named.loss_percent or 0) / 100)
        batches = mixed_base / named.yield_base
        one_batch = self.bought_for(taking.component_id)
        return [(item_id, base * batches) for item_id, base in one_batch.items()]

    def _name(self, item_id: int) -> str:
        return self.named[item_id].name.casefold()

    def _below(self, item_id: int) -> list[int]:
        whole_id = self.named[item_id].whole_id
        taken = [taking.component_id for taking in self.takings.get(item_id, ())]
        return taken if whole_id is None else [*taken, whole_id]

    def _above(self, item_id: int) -> list[int]:
        return [taking.recipe_id for taking in self.takers.get(item_id, ())]

    @staticmethod
    def _reached(start: int, step: Callable[[int], list[int]]) -> set[int]:
        reached: set[int] = set()
        waiting = [start]
        while waiting:
            for item_id in step(waiting.pop()):
                if item_id not in reached:
                    reached.add(item_id)
                    waiting.append(item_id)
        return reached


def open_book() -> RecipeBook:
    """Return the book of all recipes. Two queries."""
    rows = Item.objects.order_by().values_list(
        "pk",
        "name",
        "kind",
        "allergens",
        "whole_id",
        "retired",
        "recipe__yield_base",
        Cast("recipe__loss_percent", FloatField()),
    )
    takings: dict[int, list[RecipeBookLine]] = defaultdict(list)
    takers: dict[int, list[RecipeBookLine]] = defaultdict(list)
    lines = RecipeLine.objects.order_by("position", "pk").values_list(
        "recipe_id",
        "component_id",
        "quantity_base",
        Cast("yield_percent", FloatField()),
        "quantity",
    )
    for recipe_id, component_id, edible_base, yield_percent, quantity in lines:
        amount_base = edible_base / (yield_percent / 100)
        taking = RecipeBookLine(recipe_id, component_id, amount_base, quantity)
        takings[recipe_id].append(taking)
        takers[component_id].append(taking)
    return RecipeBook({row[0]: BookEntry(*row[1:]) for row in rows}, takings, takers)
