"""What is read of recipes and items before something is made. Two queries.

Amounts are floats in the item's own base unit, as purchased or as made.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from django.db.models import FloatField
from django.db.models.functions import Cast

from planning.engine.kitchen import Scale
from planning.models import RecipeLine
from planning.plan.snapshot import SCALES
from stock.models import Item

WHOLE_PERCENT = 100.0


@dataclass(frozen=True, slots=True)
class BookLine:
    """What one batch, or one cake, takes of a component."""

    component_id: int
    edible_base: float
    yield_fraction: float  # edible out of as purchased, 0 < y <= 1
    scale: Scale

    @property
    def taken_base(self) -> float:
        """What it takes from the shelf."""
        return self.edible_base / self.yield_fraction


@dataclass(frozen=True, slots=True)
class BookItem:
    """An item, and its recipe where it has one."""

    item_id: int
    name: str
    kind: str
    keeps_days: int | None
    place_id: int | None
    whole_id: int | None
    part_yields_base: float | None  # of a part: from 1 each of the whole
    yield_base: float | None  # of a recipe: one batch
    batch_step: float
    loss_fraction: float
    caps_use_by: bool
    base_size: str
    lines: list[BookLine] = field(default_factory=list)

    @property
    def is_made(self) -> bool:
        """Whether it has a recipe."""
        return self.yield_base is not None

    @property
    def net_yield_base(self) -> Fraction:
        """What is left of one batch after its loss; 0 without a recipe."""
        return Fraction(self.yield_base or 0) * (1 - Fraction(self.loss_fraction))


@dataclass(frozen=True, slots=True)
class BakeBook:
    """Everything that has a name, by item id."""

    items: Mapping[int, BookItem]
    parts: Mapping[int, list[int]]  # by whole
    components: frozenset[int]  # that a recipe takes

    def reached(self, item_ids: Iterable[int]) -> set[int]:
        """Return what making these can move: they, all inside them, wholes, parts."""
        reached: set[int] = set()
        waiting = list(item_ids)
        while waiting:
            item_id = waiting.pop()
            if item_id in reached:
                continue
            reached.add(item_id)
            item = self.items[item_id]
            waiting += [line.component_id for line in item.lines]
            waiting += self.parts.get(item_id, [])
            if item.whole_id is not None:
                waiting.append(item.whole_id)
        return reached


def open_bake_book() -> BakeBook:
    """Return all items and recipes. Two queries, whatever their number."""
    rows = Item.objects.order_by().values_list(
        "pk",
        "name",
        "kind",
        "keeps_days",
        "place_id",
        "whole_id",
        "part_yields_base",
        "recipe__yield_base",
        Cast("recipe__batch_step", FloatField()),
        Cast("recipe__loss_percent", FloatField()),
        "recipe__caps_use_by",
        "recipe__base_size",
    )
    items: dict[int, BookItem] = {}
    parts: dict[int, list[int]] = {}
    for row in rows:
        known: list[Any] = list(row)
        step, loss, caps, base_size = known[8:]
        loss_fraction = (loss or 0.0) / WHOLE_PERCENT
        known[8:] = [step or 0.0, loss_fraction, bool(caps), base_size or ""]
        item = BookItem(*known)
        items[item.item_id] = item
    for item in items.values():
        if item.whole_id is not None:
            parts.setdefault(item.whole_id, []).append(item.item_id)
    _add_lines(items)
    components = {line.component_id for item in items.values() for line in item.lines}
    return BakeBook(items, parts, frozenset(components))


def _add_lines(items: Mapping[int, BookItem]) -> None:
    rows = RecipeLine.objects.order_by("position", "pk").values_list(
        "recipe_id",
        "component_id",
        "quantity_base",
        Cast("yield_percent", FloatField()),
        "scales_with",
    )
    for recipe_id, component_id, edible_base, yield_percent, scales_with in rows:
        yield_fraction = yield_percent / WHOLE_PERCENT
        line = BookLine(component_id, edible_base, yield_fraction, SCALES[scales_with])
        items[recipe_id].lines.append(line)
