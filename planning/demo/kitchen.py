"""The sheets of the demo kitchen, read from the CSV files beside this module."""

import csv
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

from planning.demo.days import ONE_DAY, DemoDays, first_day, is_relative
from stock.calendar.calendars import parse_weekdays

TextRow = dict[str, str]
Row = dict[str, object]

FILES = {
    "Settings": "settings.csv",
    "Places": "places.csv",
    "Items": "items.csv",
    "Splits": "splits.csv",
    "Suppliers": "suppliers.csv",
    "Packs": "packs.csv",
    "Recipes": "recipes.csv",
    "Recipe lines": "recipe_lines.csv",
    "Bake plan": "bake_plan.csv",
    "Stock": "stock.csv",
    "Open orders": "open_orders.csv",
    "Substitutes": "substitutes.csv",
}
# Columns of plain numbers; every other cell is text or a day.
NUMBERS = {
    *("walk_order", "keeps_days", "minimum_days_left", "cutoff_days", "lead_days"),
    *("minimum_order", "delivery_fee", "free_delivery_from", "price"),
    *("minimum_packs", "multiple", "packs", "batch_step", "largest_batch"),
    *("loss_percent", "yield_percent", "received_packs", "next_price"),
    *("opened_keeps_days", "frozen_keeps_days", "thawed_keeps_days"),
}
OPEN_WEEKDAYS = parse_weekdays("Tue Wed Thu Fri Sat Sun")
COUNT_WEEKDAYS = parse_weekdays("Sun")

# The bake plan shows the last few days and the three weeks from today.
DAYS_BEHIND = 4
DAYS_AHEAD = 20
# What is due sooner than this stands finished in the cooler.
BAKED_AHEAD_DAYS = 3


def build_sheets(today: date) -> dict[str, list[Row]]:
    """Return the demo kitchen as a kitchen workbook holds it, seen from `today`.

    Rows by sheet; a cell is text, a whole number, a decimal, a date or None (blank).
    """
    days = DemoDays(today)
    texts = {sheet: _read(file) for sheet, file in FILES.items()}
    rows: dict[str, Sequence[Mapping[str, object]]] = {
        **texts,
        "Bake plan": _planned(texts["Bake plan"], days),
        "Open orders": _on_order(texts["Open orders"], texts["Suppliers"], days),
    }
    return {sheet: [_with_values(row, days) for row in rows[sheet]] for sheet in FILES}


def counted_on(today: date) -> date:
    """Return the day of the demo's last count: a Sunday, 2 to 8 days ago."""
    return first_day(today - 2 * ONE_DAY, COUNT_WEEKDAYS, step=-ONE_DAY)


def _read(file: str) -> list[TextRow]:
    path = Path(__file__).with_name(file)
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _planned(rows: list[TextRow], days: DemoDays) -> list[Row]:
    """Return the cakes due near today, in order, each on an open day."""
    planned = []
    for row in rows:
        due = first_day(days.day(row["due"]), OPEN_WEEKDAYS)
        ahead_days = (due - days.today).days
        if -DAYS_BEHIND <= ahead_days <= DAYS_AHEAD:
            usual = "baked" if ahead_days < BAKED_AHEAD_DAYS else "confirmed"
            planned.append((due, {**row, "due": due, "status": row["status"] or usual}))
    return [row for _, row in sorted(planned, key=lambda pair: pair[0])]


def _on_order(
    rows: list[TextRow], suppliers: list[TextRow], days: DemoDays
) -> list[Row]:
    """Return the open orders, each due on a day that its supplier delivers."""
    by_name = {supplier["supplier"]: supplier for supplier in suppliers}
    return [
        {**row, "due": _delivery_day(row["due"], by_name[row["supplier"]], days)}
        for row in rows
    ]


def _delivery_day(text: str, supplier: TextRow, days: DemoDays) -> date:
    closed = supplier["closed_on"]
    return days.delivery_day(
        text,
        weekdays=parse_weekdays(supplier["delivery_days"]),
        closed_on=[days.day(closed)] if closed else [],
    )


def _with_values(row: Mapping[str, object], days: DemoDays) -> Row:
    return {
        column: _value(column, cell, days) if isinstance(cell, str) else cell
        for column, cell in row.items()
    }


def _value(column: str, text: str, days: DemoDays) -> object:
    if not text:
        return None
    if is_relative(text):
        # A list of days is text, even a list of one.
        return days.day(text) if column == "use_by" else days.day(text).isoformat()
    if column in NUMBERS or (column == "quantity" and text.isdecimal()):
        number = Decimal(text)
        return int(number) if number == number.to_integral() else number
    return text
