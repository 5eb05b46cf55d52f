"""Keeping recipes: what one batch yields, and when it is made."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.entry.sheets import RECIPES
from planning.models import PlannedCake, Recipe, RecipeLine
from planning.recipes.scaling import layer_height_cm, unscalable
from stock.conversion.yields import read_yields
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, Key
from stock.errors import MeasureError
from stock.items.items import refuse_new_measure_of_moved
from stock.measures.reading.sayings import system_in
from stock.measures.units import Measure
from stock.models import Item, Movement
from stock.saving import upsert
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import update_versioned
from stock.wording.names import capitalized

ITEM_FIELDS = ("name", "kind", "measure", "speaks", "keeps_days", "retired")
RECIPE_FIELDS = (
    "yields",
    "batch_step",
    "largest_batch",
    "loss_percent",
    "lead_days",
    "is_cake",
    "base_size",
    "holding",
    "caps_use_by",
)
# What a cake does not have: it is made one by one.
NOT_OF_CAKES = {
    "batch_step": (
        Decimal(0),
        gettext_lazy("A cake is made whole, so it has no batch step."),
    ),
    "largest_batch": (
        None,
        gettext_lazy("A cake is made one by one, so it has no largest batch."),
    ),
    "loss_percent": (
        Decimal(0),
        gettext_lazy(
            "A cake has no loss. Put it in the recipes that the cake is made of."
        ),
    ),
}


def keep_recipes(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store recipes; return what was added, changed and left alone.

    What is made is an item of its own, measured in what a batch yields; `ids` are ids
    of these items. See `stock.saving.upsert` for rows, ids and batch. A fixed number of
    queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Recipe] = Keeping(RECIPES, entries, own, rows=rows, ids=ids)
        items = upsert.by_name(Item.objects.all())
        matched = kept.match(Recipe.objects.select_related("item"), _values)
        for row in matched:
            _check_name(kept, row, items)
            _check_yields(kept, row)
            _check_cake(kept, row)
        refuse_new_measure_of_moved(kept, matched, column="yields")
        _check_use(kept, matched)
        sound = kept.sound_rows(upsert.NAMES)
        _write_items(sound)
        kept.write(sound, _assign, Recipe, ["yield_base", *RECIPE_FIELDS])
        for row in sound:
            if row.stored is not None and row.changes("yields"):
                own.remeasure(row.stored.pk, kept.origin(row, "yields"))
    return kept.kept()


def recipe_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return recipes as entries, components before cakes, by name. One query."""
    recipes = Recipe.objects.select_related("item").order_by("is_cake", "item__name")
    if ids is not None:
        recipes = recipes.filter(pk__in=ids)
    return [_values(recipe) for recipe in recipes]


def _values(recipe: Recipe) -> dict[str, Any]:
    return {
        "recipe": recipe.item.name,
        "keeps_days": recipe.item.keeps_days,
        "retired": recipe.item.retired,
        **{name: getattr(recipe, name) for name in RECIPE_FIELDS},
    }


def _write_items(rows: Iterable[Row[Recipe]]) -> None:
    """Store the items that recipes make, new ones first, so that recipes have them."""
    new: list[Item] = []
    changed: list[Item] = []
    for row in rows:
        item = row.stored.item if row.stored is not None else Item()
        row.links["item"] = item
        if row.before == row.after:
            continue
        item.name = row.after["recipe"]
        item.kind = Item.Kind.CAKE if row.after["is_cake"] else Item.Kind.MADE
        item.measure = row.links["measure"]
        item.speaks = system_in(row.after["yields"]) or ""
        item.keeps_days = row.after["keeps_days"]
        item.retired = row.after["retired"]
        (new if row.is_new else changed).append(item)
    Item.objects.bulk_create(new)
    update_versioned(Item, changed, ITEM_FIELDS)


def _assign(recipe: Recipe, row: Row[Recipe]) -> None:
    recipe.item = row.links["item"]
    recipe.yield_base = row.links["yield_base"]
    for name in RECIPE_FIELDS:
        setattr(recipe, name, row.after[name])


def _check_name(
    kept: Keeping[Recipe], row: Row[Recipe], items: Mapping[Key, Item]
) -> None:
    holder = items.get(row.key)
    if holder is None or (row.stored is not None and holder.pk == row.stored.pk):
        return
    kept.fault(
        row,
        "recipe",
        _(
            "The name {name} is taken, and not by a recipe. Items, parts and "
            "recipes share one set of names, so choose another."
        ).format(name=holder.name),
    )


def _check_yields(kept: Keeping[Recipe], row: Row[Recipe]) -> None:
    if not row.says("yields") or not row.after.get("yields"):
        return
    try:
        measure, yield_base = read_yields(row.after["recipe"], row.after["yields"])
    except MeasureError as error:
        kept.fault(row, "yields", str(error))
        return
    row.links |= {"measure": measure.value, "yield_base": float(yield_base)}
    if row.after["is_cake"] and (measure, yield_base) != (Measure.COUNT, 1):
        kept.fault(row, "yields", _("A cake yields 1 each."))


def _check_cake(kept: Keeping[Recipe], row: Row[Recipe]) -> None:
    if not row.says("is_cake"):
        return
    if not row.after["is_cake"]:
        if row.after["base_size"]:
            kept.fault(
                row,
                "base_size",
                _(
                    "Only a cake has a base size. Write yes under is_cake, or leave "
                    "the size blank."
                ),
            )
        return
    for column, (blank, sentence) in NOT_OF_CAKES.items():
        if row.says(column) and row.after[column] != blank:
            kept.fault(row, column, str(sentence))


@dataclass(frozen=True, slots=True)
class _Use:
    """What else knows of some recipes, by item id."""

    taken_by: dict[int, str]  # a recipe that takes it
    planned_as: dict[int, str]  # a reference of the bake plan
    moved: set[int]
    scales: dict[int, set[str]]  # what its lines scale with


def _use(pks: Sequence[int]) -> _Use:
    """Return what else knows of recipes. Four queries."""
    lines = RecipeLine.objects.order_by()
    taken_by = lines.filter(component_id__in=pks)
    planned = PlannedCake.objects.filter(cake_id__in=pks)
    moved = Movement.objects.filter(item_id__in=pks).order_by()
    scaled = lines.filter(recipe_id__in=pks).exclude(scales_with="")
    scales: dict[int, set[str]] = defaultdict(set)
    for recipe_id, scale in scaled.values_list("recipe_id", "scales_with"):
        scales[recipe_id].add(scale)
    return _Use(
        dict(taken_by.values_list("component_id", "recipe__item__name")),
        dict(planned.values_list("cake_id", "reference")),
        set(moved.values_list("item_id", flat=True).distinct()),
        scales,
    )


def _check_use(kept: Keeping[Recipe], rows: Iterable[Row[Recipe]]) -> None:
    """Refuse what lines, the bake plan or stock contradict. At most five queries."""
    turned = [
        (row, row.stored.pk)
        for row in rows
        if row.stored is not None
        and row.says("is_cake", "base_size")
        and row.changes("is_cake", "base_size")
    ]
    if not turned:
        return
    use = _use([pk for _, pk in turned])
    height_cm = layer_height_cm()
    for row, pk in turned:
        if row.after["is_cake"]:
            _check_as_cake(kept, row, use, pk)
            _check_base_size(kept, row, use.scales.get(pk, set()), height_cm)
        else:
            _check_as_component(kept, row, use, pk)


def _check_as_cake(kept: Keeping[Recipe], row: Row[Recipe], use: _Use, pk: int) -> None:
    name = row.after["recipe"]
    if parent := use.taken_by.get(pk):
        kept.fault(
            row,
            "is_cake",
            capitalized(
                _("{parent} takes {name}, and a cake is part of no recipe.").format(
                    parent=parent, name=name
                )
            ),
        )
    if pk in use.moved:
        kept.fault(
            row,
            "is_cake",
            _(
                "Cakes are made to order and never on a shelf, as {name} once stood."
            ).format(name=name),
        )


def _check_base_size(
    kept: Keeping[Recipe], row: Row[Recipe], scales: Iterable[str], height_cm: float
) -> None:
    for scale in sorted(scales):
        why = unscalable(row.after["recipe"], row.after["base_size"], scale, height_cm)
        if why:
            kept.fault(row, "base_size", why)


def _check_as_component(
    kept: Keeping[Recipe], row: Row[Recipe], use: _Use, pk: int
) -> None:
    name = row.after["recipe"]
    if reference := use.planned_as.get(pk):
        kept.fault(
            row,
            "is_cake",
            _("The bake plan has {name} as a cake: {reference}.").format(
                name=name, reference=reference
            ),
        )
    if scales := use.scales.get(pk):
        kept.fault(
            row,
            "is_cake",
            _(
                "Only a cake's lines can scale with {scales}, as those of {name} do."
            ).format(scales=", ".join(sorted(scales)), name=name),
        )
