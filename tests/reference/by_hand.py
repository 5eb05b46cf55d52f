"""The plan of a kitchen workbook, the slow and obvious way, in exact fractions.

`plan` answers with the same keys as the plan's JSON, without the orders;
`usual_orders` adds what the buyer's usual rule would order.
"""

import csv
from datetime import date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

from tests.reference import shortfalls
from tests.reference import usual_orders as usual
from tests.reference.explosion import Explosion, Need, explode
from tests.reference.kitchen import Bake, Kitchen, Sheets
from tests.reference.projection import ItemPlan, project
from tests.reference.shortfalls import Shortfall, Window

PLACES = 6
LIVE = {"tentative", "confirmed"}


def read_folder(path: Path) -> Sheets:
    """Read a folder of CSV files; the sheet is the file's name."""
    sheets = {}
    for file in sorted(Path(path).glob("*.csv")):
        with file.open(encoding="utf-8-sig", newline="") as handle:
            sheets[file.stem] = [dict(row) for row in csv.DictReader(handle)]
    return sheets


def write_folder(sheets: Sheets, path: Path) -> None:
    """Write each sheet as a CSV file; every row has the same columns."""
    path.mkdir(parents=True, exist_ok=True)
    for name, rows in sheets.items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        with (path / f"{name}.csv").open("w", encoding="utf-8", newline="") as handle:
            writer = csv.DictWriter(handle, columns, restval="", lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


class ByHand:
    """One kitchen, one window, everything worked out once."""

    def __init__(
        self,
        sheets: Sheets,
        *,
        at: datetime,
        from_date: date | None = None,
        days: int | None = None,
        tentative: bool = True,
        ledger_places: int | None = None,
        size_places: int | None = None,
    ) -> None:
        self.kitchen = Kitchen(
            sheets, ledger_places=ledger_places, size_places=size_places
        )
        self.at = at.astimezone(self.kitchen.zone)
        start = from_date or self.at.date()
        end = start + timedelta(days=(days or self.kitchen.horizon_days) - 1)
        while days is None and end.weekday() not in self.kitchen.par_days:
            end += timedelta(days=1)
        self.window = Window(self.at, start, end)
        self.early, self.bakes = self._live_bakes(tentative=tentative)
        self.explosion: Explosion = explode(self.kitchen, start, self.bakes)
        self.items = sorted(self.kitchen.items.values(), key=lambda i: fold(i.name))
        self.plans = [self._project(i.name) for i in self.items if not i.retired]
        self.shortfalls = self._shortfalls()

    def _live_bakes(self, *, tentative: bool) -> tuple[list[Bake], list[Bake]]:
        live = LIVE if tentative else {"confirmed"}
        bakes = [bake for bake in self.kitchen.bakes if bake.status in live]
        early = [bake for bake in bakes if bake.due < self.window.start]
        return early, [bake for bake in bakes if bake.due >= self.window.start]

    def needs(self, item: str) -> list[Need]:
        return self.explosion.needs.get(fold(item), [])

    def used_by_day(self, item: str) -> dict[date, Fraction]:
        used: dict[date, Fraction] = {}
        for need in self.needs(item):
            used[need.day] = used.get(need.day, Fraction(0)) + need.amount
        return used

    def _project(self, item: str) -> ItemPlan:
        return project(
            self.kitchen,
            self.kitchen.items[fold(item)],
            self.used_by_day(item),
            self.window.days,
        )

    def _shortfalls(self) -> list[Shortfall]:
        found = []
        for plan in self.plans:
            needs = self.needs(plan.item.name)
            short = shortfalls.find(self.kitchen, plan, needs, self.window)
            if short:
                found.append(short)
        return sorted(found, key=lambda s: (s.first_date, fold(s.item.name)))

    def demand_rows(self) -> list[dict[str, Any]]:
        rows = []
        for item in self.items:
            for day, amount in self.used_by_day(item.name).items():
                late = any(n.late for n in self.needs(item.name) if n.day == day)
                if day <= self.window.end and number(amount):
                    rows.append(
                        {
                            "item": item.name,
                            "date": day.isoformat(),
                            "amount": number(amount),
                            "unit": item.measure.unit,
                            "late": late,
                        }
                    )
        return sorted(rows, key=lambda r: (r["date"], fold(r["item"])))

    def making_rows(self) -> list[dict[str, Any]]:
        rows = [
            {
                "recipe": making.recipe.name,
                "date": making.day.isoformat(),
                "batches": number(making.batches),
                "amount": number(making.amount),
                "unit": making.recipe.measure.unit,
                "surplus": number(making.surplus),
            }
            for making in self.explosion.makings
            if making.day <= self.window.end and number(making.amount)
        ]
        return sorted(rows, key=lambda r: (r["date"], fold(r["recipe"])))

    def projection_rows(self) -> list[dict[str, Any]]:
        rows = [
            {
                "item": plan.item.name,
                "date": day.day.isoformat(),
                "opening": number(day.opening),
                "received": number(day.received),
                "used": number(day.used),
                "expired": number(day.expired),
                "closing": number(day.closing),
                "unit": plan.item.measure.unit,
            }
            for plan in self.plans
            for day in plan.days
        ]
        return sorted(rows, key=lambda r: (r["date"], fold(r["item"])))

    def shortfall_rows(self) -> list[dict[str, Any]]:
        return [
            {
                "item": short.item.name,
                "kind": short.kind,
                "first_date": short.first_date.isoformat(),
                "short_by": number(short.short_by),
                "unit": short.item.measure.unit,
                "cakes": short.cakes,
                "remedy": short.remedy and delivery_row(short.remedy),
            }
            for short in self.shortfalls
        ]

    def warnings(self) -> list[str]:
        found = [f"{bake.reference} was due on {bake.due}" for bake in self.early]
        found += [
            f"{order.order} of {order.item} was due on {order.due}"
            for order in self.kitchen.open_orders
            if order.due < self.window.start
        ]
        found += [
            sentence
            for day, sentence in self.explosion.warnings
            if day <= self.window.end
        ]
        return found


def plan(
    sheets: Sheets,
    *,
    at: datetime,
    from_date: date | None = None,
    days: int | None = None,
    tentative: bool = True,
    ledger_places: int | None = None,
    size_places: int | None = None,
) -> dict[str, Any]:
    """The plan's JSON without its orders and totals."""
    worked = ByHand(
        sheets,
        at=at,
        from_date=from_date,
        days=days,
        tentative=tentative,
        ledger_places=ledger_places,
        size_places=size_places,
    )
    return {
        "as_of": worked.at.isoformat(),
        "from": worked.window.start.isoformat(),
        "to": worked.window.end.isoformat(),
        "currency": worked.kitchen.currency,
        "demand": worked.demand_rows(),
        "making": worked.making_rows(),
        "projection": worked.projection_rows(),
        "shortfalls": worked.shortfall_rows(),
        "warnings": worked.warnings(),
    }


def usual_orders(
    sheets: Sheets,
    *,
    at: datetime,
    from_date: date | None = None,
    days: int | None = None,
    tentative: bool = True,
    ledger_places: int | None = None,
) -> dict[str, Any]:
    """What the buyer's usual rule would order: `orders` and `totals`."""
    worked = ByHand(
        sheets,
        at=at,
        from_date=from_date,
        days=days,
        tentative=tentative,
        ledger_places=ledger_places,
    )
    orders = usual.order(worked.kitchen, worked.plans, worked.window)
    goods = sum((order.goods for order in orders), usual.cents(Fraction(0)))
    fees = sum((order.fee for order in orders), usual.cents(Fraction(0)))
    trips_too = usual.order(
        worked.kitchen, worked.plans, worked.window, with_shops=True
    )
    usual_total = sum((order.goods + order.fee for order in trips_too), Decimal(0))
    return {
        "orders": [usual_row(order) for order in orders],
        "totals": {
            "goods": str(goods),
            "fees": str(fees),
            "usual_total": str(usual.cents(Fraction(usual_total))),
        },
    }


def usual_row(order: usual.UsualOrder) -> dict[str, Any]:
    lines = [
        {
            "item": line.item.name,
            "code": line.pack.code,
            "pack": line.pack.pack,
            "packs": line.packs,
            "price": str(usual.cents(order.price_of(line))),
            "amount": str(order.amount_of(line)),
        }
        for line in sorted(order.lines, key=lambda line: fold(line.item.name))
    ]
    return {
        **delivery_row(order.delivery),
        "lines": lines,
        "goods": str(order.goods),
        "fee": str(order.fee),
        "total": str(order.goods + order.fee),
    }


def delivery_row(delivery: shortfalls.Delivery) -> dict[str, str]:
    return {
        "supplier": delivery.supplier.name,
        "order_by": delivery.order_by.isoformat(),
        "deliver_on": delivery.deliver_on.isoformat(),
    }


def number(amount: Fraction) -> float:
    """Rounded to six places, at the very end."""
    return float(round(amount, PLACES))


def fold(text: str) -> str:
    return text.strip().casefold()
