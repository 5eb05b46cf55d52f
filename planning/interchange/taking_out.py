"""Everything that is stored, as the cells of a kitchen workbook."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Sum
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.entry.sheets import SHEETS
from planning.interchange.kitchens import kitchen_entries
from planning.sentences.words import capitalized, count_words
from stock.bakery import COLUMN_BY_SETTING
from stock.calendar.calendars import EARLIEST_DAY, LATEST_DAY
from stock.database.one_moment import one_moment
from stock.entry.cells import plain_text
from stock.entry.entries import Column, Sheet
from stock.models import Balance
from stock.saving.sheets import SETTINGS


@dataclass(frozen=True, slots=True)
class SheetOut:
    """One sheet with all its columns, as values of their kinds; None is blank."""

    sheet: Sheet
    rows: Sequence[Sequence[Any]]

    @property
    def name(self) -> str:
        """The sheet's name."""
        return self.sheet.name


# What people have to know before they rely on the file alone.
NOT_HELD = gettext_lazy(
    "Not in it: the history of movements, counts, holds, draft and past orders, "
    "revisions, notes to suppliers and their answers, and people. "
    "manage.py backup keeps those too."
)


@dataclass(frozen=True, slots=True)
class KitchenOut:
    """A whole kitchen on its way out, and what no workbook can hold of it."""

    sheets: tuple[SheetOut, ...]
    left_out: tuple[str, ...]  # sentences

    @property
    def rows(self) -> int:
        """How many rows there are on all sheets."""
        return sum(len(sheet.rows) for sheet in self.sheets)


def kitchen_out() -> KitchenOut:
    """Return everything that is stored at one moment, as cells.

    A fixed number of queries; holds nobody up who writes.
    """
    with one_moment():
        return _kitchen_out()


def _kitchen_out() -> KitchenOut:
    entries = kitchen_entries()
    sheets = tuple(_sheet_out(sheet, entries[sheet.name]) for sheet in SHEETS)
    return KitchenOut(sheets, tuple(stock_told_apart()))


def stock_told_apart() -> list[str]:
    """Return a sentence for each stock that a workbook cannot bring elsewhere."""
    return [*stock_below_nothing(), *unbelievable_use_bys()]


def stock_below_nothing() -> list[str]:
    """Return a sentence for each stock that no quantity can say. One query."""
    below = (
        Balance.objects.order_by("item__name", "place__name")
        .values_list("item__name", "place__name")
        .annotate(on_hand_base=Sum("amount_base"))
    )
    return [
        capitalized(
            _(
                "{item} in {place}: the record is below zero, so its stock is left "
                "out. {count}"
            ).format(item=capitalized(item), place=place, count=count_words(item))
        )
        for item, place, on_hand_base in below
        if on_hand_base < Decimal(0)
    ]


def unbelievable_use_bys() -> list[str]:
    """Return a sentence for each stock whose use-by no new kitchen takes. One query."""
    there = Balance.objects.filter(amount_base__gt=0)
    far = there.filter(lot__use_by__lt=EARLIEST_DAY) | there.filter(
        lot__use_by__gt=LATEST_DAY
    )
    return [
        capitalized(
            _(
                "{item} in {place} has the use-by {use_by}, which a new kitchen "
                "refuses. Count it as 0, then with its label's date."
            ).format(item=item, place=place, use_by=use_by)
        )
        for item, place, use_by in far.order_by("item__name", "place__name", "pk")
        .values_list("item__name", "place__name", "lot__use_by")
        .distinct()
    ]


def _sheet_out(sheet: Sheet, entries: Sequence[dict[str, Any]]) -> SheetOut:
    return SheetOut(
        sheet, [[_cell(sheet, c, e) for c in sheet.columns] for e in entries]
    )


def _cell(sheet: Sheet, column: Column, entry: dict[str, Any]) -> Any:
    value = column.cell(entry[column.name])
    if sheet is SETTINGS and column.name == "value" and value is not None:
        setting = COLUMN_BY_SETTING[entry["setting"]]
        return setting.cell(setting.read(value))
    return value


def cell_text(value: Any) -> str:
    """Return a cell as text that reads back as the same value.

    >>> cell_text(Decimal("92.50")), cell_text(None)
    ('92.5', '')
    """
    return "" if value is None else plain_text(value)
