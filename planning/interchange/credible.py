"""Which faults stand for themselves, and which only follow from others.

Where the row that gives an item its units, or a pack its word, cannot be stored, a
quantity in that unit cannot be judged. Its sentence would be wrong as soon as the other
is put right, so it is held back. What is held back always follows from a fault that
is not.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from planning.entry.sheets import RECIPE_LINES, RECIPES, STOCK
from planning.interchange.kitchens import SheetRows
from stock.entry.entries import Fault, folded
from stock.errors import MeasureError
from stock.measures.reading.quantity import parse_quantity
from stock.saving.sheets import ITEMS, PACKS, SPLITS, SUPPLIERS

LEVELS = ("safety", "par")
# Cells that are judged by the units of what another cell of their row names.
NAMED_IN = {
    (PACKS.name, "holds"): "item",
    (SPLITS.name, "whole"): "whole",
    (ITEMS.name, "safety"): "item",
    (ITEMS.name, "par"): "item",
    (RECIPE_LINES.name, "quantity"): "component",
    (STOCK.name, "quantity"): "item",
}
# By these a pack is checked before its own word counts.
BY_THE_ITEM_ALONE = (PACKS.name, SPLITS.name)


class _Doubts:
    """Names whose units are in doubt, for the rows of a file that speak of them."""

    def __init__(
        self, faults: Iterable[Fault], by_sheet: Mapping[str, SheetRows]
    ) -> None:
        self.entry_by_cell_row = {
            (sheet, number): entry
            for sheet, kept in by_sheet.items()
            for number, entry in zip(kept.rows or (), kept.entries, strict=True)
        }
        faulty = {
            (fault.sheet, fault.row) for fault in faults if fault.column not in LEVELS
        }
        self.items = self._named(faulty, ITEMS.name, "item")
        suppliers = self._named(faulty, SUPPLIERS.name, "supplier")
        packs = {
            (sheet, number)
            for (sheet, number), entry in self.entry_by_cell_row.items()
            if sheet == PACKS.name
            and ((sheet, number) in faulty or _name(entry.get("supplier")) in suppliers)
        }
        self.all = (
            self.items
            | self._named(packs, PACKS.name, "item")
            | self._named(faulty, SPLITS.name, "part")
            | self._named(faulty, RECIPES.name, "recipe")
        )

    def _named(
        self, rows: Iterable[tuple[str, int]], sheet: str, column: str
    ) -> set[str]:
        return {
            _name(self.entry_by_cell_row[row].get(column))
            for row in rows
            if row[0] == sheet and row in self.entry_by_cell_row
        }

    def hide(self, fault: Fault) -> bool:
        """Whether a fault says no more than that another is there."""
        column = NAMED_IN.get((fault.sheet, fault.column))
        entry = self.entry_by_cell_row.get((fault.sheet, fault.row))
        if column is None or entry is None:
            return False
        names = self.items if fault.sheet in BY_THE_ITEM_ALONE else self.all
        return _name(entry.get(column)) in names and _can_be_read(
            entry.get(fault.column)
        )


def credible(faults: Iterable[Fault], by_sheet: Mapping[str, SheetRows]) -> list[Fault]:
    """Return the faults without those that only follow from others."""
    faults = list(faults)
    doubts = _Doubts(faults, by_sheet)
    return [fault for fault in faults if not doubts.hide(fault)]


def _name(cell: Any) -> str:
    return folded(str(cell)) if cell is not None else ""


def _can_be_read(cell: Any) -> bool:
    """Whether a quantity can be read as words, whatever its units come to."""
    try:
        parse_quantity(str(cell))
    except MeasureError:
        return False
    return True
