"""A whole kitchen in one go: every sheet in, every sheet out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import keep_planned_cakes, planned_cake_entries
from planning.entry import sheets
from planning.interchange.on_hand import keep_on_hand, on_hand_entries
from planning.orders.open_orders import keep_open_orders, open_order_entries
from planning.recipes.recipe_lines import keep_recipe_lines, recipe_line_entries
from planning.recipes.recipes import keep_recipes, recipe_entries
from stock.bakery import keep_settings, setting_entries
from stock.entry.batches import Batch
from stock.entry.entries import Entry, EntryFaultsError, Fault, Kept, folded
from stock.items.items import item_entries, keep_items
from stock.items.parts import keep_splits, split_entries
from stock.items.places import keep_places, place_entries
from stock.items.substitutes import keep_substitutes, substitute_entries
from stock.ledger import ledger
from stock.models import Item
from stock.saving import upsert
from stock.saving.sheets import (
    ITEMS,
    PACKS,
    PLACES,
    SETTINGS,
    SPLITS,
    SUBSTITUTES,
    SUPPLIERS,
)
from stock.suppliers.packs import keep_packs, pack_entries
from stock.suppliers.suppliers import keep_suppliers, supplier_entries


@dataclass(frozen=True, slots=True)
class SheetRows:
    """The entries of one sheet, and their row numbers in the file."""

    entries: Sequence[Entry]
    rows: Sequence[int] | None = None  # else 1, 2, 3 …


@dataclass(frozen=True, slots=True)
class ImportOutcome:
    """What a kitchen's entries come to, sheet by sheet, and what is wrong."""

    kept: dict[str, Kept] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()


KEEP: dict[str, Callable[..., Kept]] = {
    SETTINGS.name: keep_settings,
    PLACES.name: keep_places,
    ITEMS.name: keep_items,
    SPLITS.name: keep_splits,
    SUPPLIERS.name: keep_suppliers,
    PACKS.name: keep_packs,
    sheets.RECIPES.name: keep_recipes,
    sheets.RECIPE_LINES.name: keep_recipe_lines,
    sheets.BAKE_PLAN.name: keep_planned_cakes,
    sheets.STOCK.name: keep_on_hand,
    sheets.OPEN_ORDERS.name: keep_open_orders,
    SUBSTITUTES.name: keep_substitutes,
}

STORED: dict[str, Callable[[], list[dict[str, Any]]]] = {
    SETTINGS.name: setting_entries,
    PLACES.name: place_entries,
    ITEMS.name: item_entries,
    SPLITS.name: split_entries,
    SUPPLIERS.name: supplier_entries,
    PACKS.name: pack_entries,
    sheets.RECIPES.name: recipe_entries,
    sheets.RECIPE_LINES.name: recipe_line_entries,
    sheets.BAKE_PLAN.name: planned_cake_entries,
    sheets.STOCK.name: on_hand_entries,
    sheets.OPEN_ORDERS.name: open_order_entries,
    SUBSTITUTES.name: substitute_entries,
}


@transaction.atomic
def keep_kitchen(
    by_sheet: Mapping[str, SheetRows],
    *,
    at: datetime | None = None,
    by_id: int | None = None,
) -> dict[str, Kept]:
    """Store a whole kitchen, or nothing; return what became of each sheet.

    Sheets may be missing. Stock is what is on hand now, or was at `at`. The same
    kitchen again changes nothing. Raises EntryFaultsError with every faulty cell.
    """
    outcome = _keep(by_sheet, at=at, by_id=by_id)
    if outcome.faults:
        raise EntryFaultsError(outcome.faults)
    return outcome.kept


@transaction.atomic
def preview_kitchen(
    by_sheet: Mapping[str, SheetRows], *, at: datetime | None = None
) -> ImportOutcome:
    """Return what `keep_kitchen` would do, with what is wrong, and store nothing."""
    outcome = _keep(by_sheet, at=at, by_id=None)
    transaction.set_rollback(True)
    return outcome


def kitchen_entries() -> dict[str, list[dict[str, Any]]]:
    """Return everything that is stored, by sheet, in the order of the workbook."""
    return {name: stored() for name, stored in STORED.items()}


def _keep(
    by_sheet: Mapping[str, SheetRows], *, at: datetime | None, by_id: int | None
) -> ImportOutcome:
    unknown = set(by_sheet) - set(KEEP)
    if unknown:
        raise KeyError(f"There is no sheet {', '.join(sorted(unknown))}")
    upsert.wait_for_turn()
    # A count that is posted meanwhile locks items in this order too: neither then waits
    # for what the other holds.
    ledger.lock_items(Item.objects.values_list("pk", flat=True))
    batch = Batch(elsewhere=_made_or_taken(by_sheet))
    kept = {}
    for name, keep in KEEP.items():
        if name not in by_sheet:
            continue
        options: dict[str, Any] = {"rows": by_sheet[name].rows, "batch": batch}
        if keep is keep_on_hand:
            options |= {"at": at, "by_id": by_id}
        if keep is keep_open_orders:
            options["by_id"] = by_id
        kept[name] = keep(by_sheet[name].entries, **options)
    try:
        upsert.close(batch)
    except EntryFaultsError as error:
        return ImportOutcome(_without_faulty(kept, error.faults), error.faults)
    return ImportOutcome(kept)


def _without_faulty(
    kept: Mapping[str, Kept], faults: Sequence[Fault]
) -> dict[str, Kept]:
    """Return the same, less the rows that only the whole kitchen shows to be faulty."""
    return {
        name: each.without({fault.row for fault in faults if fault.sheet == name})
        for name, each in kept.items()
    }


def _made_or_taken(by_sheet: Mapping[str, SheetRows]) -> dict[str, str]:
    """Return the names of a file's recipes and parts, and which of the two it is."""
    return {
        folded(str(entry[column])): what
        for sheet, column, what in (
            (sheets.RECIPES, "recipe", _("a recipe")),
            (SPLITS, "part", _("a part")),
        )
        if sheet.name in by_sheet
        for entry in by_sheet[sheet.name].entries
        if entry.get(column)
    }
