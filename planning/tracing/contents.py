"""The allergens of a planned cake, from the labels entered of what is in it.

Of a baked cake those of the lots that really went in, through every batch, so with
the substitutes that were used; before that those of its recipe.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from planning.models import Bake, PlannedCake
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.tracing.graph import in_portions, walk_back
from stock.items.allergens import split_allergens
from stock.models import Item, Lot, Substitute


@dataclass(frozen=True, slots=True)
class WouldAdd:
    """A substitute that may be used, and the allergens that only it would bring."""

    name: str
    for_name: str
    allergens: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CakeContents:
    """What a cake contains from the labels entered; never what it is free from."""

    allergens: Mapping[str, tuple[str, ...]]  # and the items they come from; sorted
    unlabelled: tuple[str, ...]  # ingredients for which no allergen is entered
    from_lots: bool  # what really went in; else the recipe as it is now
    would_add: tuple[WouldAdd, ...]  # before it is baked


def cake_contents(planned: PlannedCake) -> CakeContents:
    """Return what a planned cake contains. About six queries, two more a level."""
    book = open_book()
    bakes = Bake.objects.filter(planned_cake=planned, undone_at=None)
    bake_ids = list(bakes.values_list("pk", flat=True))
    inside = _used_items(book, bake_ids) if bake_ids else book.inside(planned.cake_id)
    allergens = _allergens(book, inside)
    return CakeContents(
        allergens=allergens,
        unlabelled=_unlabelled(book, inside),
        from_lots=bool(bake_ids),
        would_add=() if bake_ids else tuple(_would_add(book, inside, allergens)),
    )


def _used_items(book: RecipeBook, bake_ids: Iterable[int]) -> set[int]:
    """Return the items whose lots went in.

    Of a lot that no recorded batch made, all that its recipe takes is meant as well,
    and the whole of a part.
    """
    walk = walk_back(bake_ids=bake_ids)
    made = {link.lot_id for link in walk.made}
    items: set[int] = set()
    for ids in in_portions(walk.lot_ids):
        lots = Lot.objects.filter(pk__in=ids).order_by()
        for lot_id, item_id in lots.values_list("pk", "item_id"):
            items.add(item_id)
            if lot_id not in made:
                items |= book.inside(item_id)
    return items


def _allergens(book: RecipeBook, items: Iterable[int]) -> dict[str, tuple[str, ...]]:
    sources: dict[str, set[str]] = defaultdict(set)
    for item_id in items:
        named = book.named[item_id]
        for allergen in split_allergens(named.allergens):
            sources[allergen].add(named.name)
    return {
        allergen: tuple(sorted(sources[allergen], key=str.casefold))
        for allergen in sorted(sources)
    }


def _unlabelled(book: RecipeBook, items: Iterable[int]) -> tuple[str, ...]:
    named = (book.named[item_id] for item_id in items)
    names = (
        each.name
        for each in named
        if each.kind == Item.Kind.INGREDIENT and not split_allergens(each.allergens)
    )
    return tuple(sorted(names, key=str.casefold))


def _would_add(
    book: RecipeBook, items: set[int], allergens: Mapping[str, object]
) -> Iterable[WouldAdd]:
    rows = Substitute.objects.filter(item__in=items, substitute__retired=False)
    for row in rows.select_related("item", "substitute").order_by(
        "substitute__name", "item__name"
    ):
        brought = _allergens(book, {row.substitute_id, *book.inside(row.substitute_id)})
        added = tuple(word for word in brought if word not in allergens)
        if added:
            yield WouldAdd(row.substitute.name, row.item.name, added)
