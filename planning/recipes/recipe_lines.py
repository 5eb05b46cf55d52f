"""Keeping recipe lines: what one batch takes of each component."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from planning.entry.sheets import FIXED, RECIPE_LINES
from planning.errors import CakeAsComponentError, RecipeCycleError
from planning.models import Recipe, RecipeLine
from planning.recipes.scaling import layer_height_cm, unscalable
from stock.conversion import converters
from stock.conversion.converters import MOST_IDS_ASKED_FOR
from stock.conversion.dependents import Broken
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key, folded
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.vocabulary import Notation
from stock.models import Item
from stock.saving import upsert
from stock.saving.recompiling import recompile_rows
from stock.saving.upsert import Keeping, Row

FIELDS = (
    "recipe",
    "component",
    "quantity",
    "quantity_base",
    "yield_percent",
    "scales_with",
)


def keep_recipe_lines(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store recipe lines; return what was added, changed and left alone.

    New lines come after those that the recipe has. See `stock.saving.upsert` for rows,
    ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[RecipeLine] = Keeping(
            RECIPE_LINES, entries, own, rows=rows, ids=ids
        )
        items = upsert.by_name(Item.objects.select_related("recipe"))
        stored = list(_lines_spoken_of(kept, items))
        matched = kept.match(stored, _values)
        height_cm = layer_height_cm()
        for row in matched:
            recipe = kept.find(row, "recipe", items, space=upsert.NAMES, noun="recipe")
            component = kept.find(
                row,
                "component",
                items,
                space=upsert.NAMES,
                noun="item, part or recipe",
            )
            _check_recipe(kept, row, recipe)
            _check_component(kept, row, component)
            _check_scale(kept, row, height_cm)
        _compile(kept, matched)
        _refuse_cycles(kept, matched, items.values())
        sound = kept.sound_rows()
        _place_new_lines(sound, stored)
        kept.write(sound, _assign, RecipeLine, FIELDS)
    return kept.kept()


def remove_recipe_line(line_id: int, *, seen: int | None = None) -> None:
    """Take a line out of its recipe. Taking it out twice is the same.

    Refused if it is no longer the version that was seen.
    """
    upsert.remove(RecipeLine, line_id, seen=seen)


def recipe_line_entries(recipe_id: int | None = None) -> list[dict[str, Any]]:
    """Return the lines of one recipe, or of all, as entries, in order. One query."""
    lines = _stored_lines().order_by(
        "recipe__is_cake", "recipe__item__name", "position", "pk"
    )
    if recipe_id is not None:
        lines = lines.filter(recipe_id=recipe_id)
    return [_values(line) for line in lines]


def recompile_lines(known: Mapping[int, Converter]) -> list[Broken]:
    """Work out again the lines that take items whose units changed. Two queries."""
    return recompile_rows(
        _stored_lines().filter(component_id__in=list(known)),
        known,
        item_id=lambda line: line.component_id,
        text=_("quantity"),
        base="quantity_base",
        noun="recipe",
        where=lambda line: line.recipe.item.name,
    )


def _stored_lines() -> Any:
    return RecipeLine.objects.select_related("recipe__item", "component")


def _lines_spoken_of(kept: Keeping[RecipeLine], items: Mapping[Key, Item]) -> Any:
    """Return the stored lines of the recipes that rows name or belong to."""
    names = {(folded(row.given.get("recipe", "")),) for row in kept.rows}
    recipe_ids = {items[name].pk for name in names if name in items}
    line_ids = [row.stored_id for row in kept.rows if row.stored_id is not None]
    if line_ids:
        known = RecipeLine.objects.filter(pk__in=line_ids)
        recipe_ids |= set(known.values_list("recipe_id", flat=True))
    if len(recipe_ids) > MOST_IDS_ASKED_FOR:
        return _stored_lines()
    return _stored_lines().filter(recipe_id__in=recipe_ids)


def _values(line: RecipeLine) -> dict[str, Any]:
    return {
        "recipe": line.recipe.item.name,
        "component": line.component.name,
        "quantity": line.quantity,
        "yield_percent": line.yield_percent,
        "scales_with": line.scales_with,
    }


def _assign(line: RecipeLine, row: Row[RecipeLine]) -> None:
    line.recipe_id = row.links["recipe"].pk
    line.component = row.links["component"]
    line.quantity = row.after["quantity"]
    line.quantity_base = row.links["quantity_base"]
    line.yield_percent = row.after["yield_percent"]
    line.scales_with = row.after["scales_with"]
    if row.is_new:
        line.position = row.links["position"]


def _check_recipe(
    kept: Keeping[RecipeLine], row: Row[RecipeLine], item: Item | None
) -> None:
    if item is None or _recipe_of(item) is not None:
        return
    if (upsert.NAMES, (folded(item.name),)) in kept.batch.refused:
        row.is_sound = False  # the recipe of this name could not be stored
    else:
        kept.fault(
            row,
            "recipe",
            _("There is no recipe of {name} to add lines to.").format(name=item.name),
        )


def _recipe_of(item: Item | None) -> Recipe | None:
    return getattr(item, "recipe", None)


def _check_component(
    kept: Keeping[RecipeLine], row: Row[RecipeLine], component: Item | None
) -> None:
    if component is not None and component.kind == Item.Kind.CAKE:
        error = CakeAsComponentError(row.after["recipe"], component.name)
        kept.fault(row, "component", str(error))


def _check_scale(
    kept: Keeping[RecipeLine], row: Row[RecipeLine], height_cm: float
) -> None:
    """A cake's line may scale with its size; a blank is the same as `cake`."""
    typed = row.after["scales_with"]
    item = row.links.get("recipe")
    recipe = _recipe_of(item)
    if not typed or item is None or recipe is None or not row.says("scales_with"):
        return
    if not recipe.is_cake:
        kept.fault(
            row,
            "scales_with",
            _(
                "Only a cake's lines scale with something, not those of {name}: "
                "leave it blank."
            ).format(name=item.name),
        )
    elif typed == FIXED:
        row.after["scales_with"] = ""
    elif why := unscalable(item.name, recipe.base_size, typed, height_cm):
        kept.fault(row, "scales_with", why)


def _compile(kept: Keeping[RecipeLine], rows: Iterable[Row[RecipeLine]]) -> None:
    """Work out what lines come to that are new or changed. Two queries."""
    asked = [
        row
        for row in rows
        if "component" in row.links
        and row.says("quantity", "component")
        and row.after.get("quantity")
        and row.changes("component", "quantity")
    ]
    for row in rows:
        if row.stored is not None:
            row.links["quantity_base"] = row.stored.quantity_base
    if not asked:
        return
    known = converters.converters_for({row.links["component"].pk for row in asked})
    for row in asked:
        try:
            converter = known[row.links["component"].pk]
            amount = converter.typed_base(row.after["quantity"], Notation.RECIPE)
        except MeasureError as error:
            kept.fault(row, "quantity", str(error))
        else:
            row.links["quantity_base"] = float(amount)


def _refuse_cycles(
    kept: Keeping[RecipeLine], rows: Sequence[Row[RecipeLine]], items: Iterable[Item]
) -> None:
    """Refuse the lines by which something would contain itself, and say the way."""
    linked = [row for row in rows if {"recipe", "component"} <= row.links.keys()]
    if not any(_recipe_of(row.links["component"]) for row in linked):
        return
    names = {item.pk: item.name for item in items}
    components = _components({row.stored.pk for row in rows if row.stored is not None})
    for row in linked:
        recipe_id, component_id = row.links["recipe"].pk, row.links["component"].pk
        path = path_between(component_id, recipe_id, components)
        if path is None:
            components[recipe_id].append(component_id)
            continue
        cycle = [names[each] for each in (recipe_id, *path)]
        kept.fault(row, "component", str(RecipeCycleError(cycle)))


def _components(without: Collection[int]) -> dict[int, list[int]]:
    """Return which made things each recipe takes, some lines left out. One query."""
    components: dict[int, list[int]] = defaultdict(list)
    made = RecipeLine.objects.filter(component__kind=Item.Kind.MADE).order_by()
    for pk, recipe_id, component_id in made.values_list(
        "pk", "recipe_id", "component_id"
    ):
        if pk not in without:
            components[recipe_id].append(component_id)
    return components


def path_between(
    start: int, end: int, components: Mapping[int, Sequence[int]]
) -> list[int] | None:
    """Return a way down from one thing to another through components, if any.

    >>> path_between(2, 1, {2: [3, 4], 4: [1]})
    [2, 4, 1]
    """
    came_from: dict[int, int | None] = {start: None}
    waiting = [start]
    while waiting:
        node = waiting.pop()
        if node == end:
            path = [node]
            while (above := came_from[path[-1]]) is not None:
                path.append(above)
            return path[::-1]
        for component in components.get(node, ()):
            if component not in came_from:
                came_from[component] = node
                waiting.append(component)
    return None


def _place_new_lines(
    rows: Iterable[Row[RecipeLine]], stored: Iterable[RecipeLine]
) -> None:
    """Put new lines after the ones that the recipe has, in the order given."""
    last: dict[int, int] = defaultdict(int)
    for line in stored:
        last[line.recipe_id] = max(last[line.recipe_id], line.position)
    for row in rows:
        if row.is_new:
            recipe_id = row.links["recipe"].pk
            last[recipe_id] += 1
            row.links["position"] = last[recipe_id]
