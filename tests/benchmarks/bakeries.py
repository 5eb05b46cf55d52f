"""Random bakeries for the ordering benchmarks: the same for the same seed.

A bakery is drawn as the sheets of a kitchen workbook, and the engine's kitchen is read
from those very sheets, so both say the same. Every item has one to three suppliers
and one or two packs; about a third goes out of date; packs hold from a day's to three
weeks' use. `write_sheets` writes one CSV file a sheet:

    python -m tests.benchmarks.bakeries medium 3 FOLDER
"""

import csv
import random
import sys
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

import numpy as np

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    BakeryTerms,
    Kitchen,
    Lines,
    NodeKind,
    Nodes,
    OpenOrderLines,
    PackTerms,
    PlannedCakes,
    PriceBreak,
    StockLots,
    SupplierTerms,
    Window,
)

FROM_ON = date(2026, 5, 4)
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
ITEMS_A_CAKE = 9
DATED_SHARE = 0.35
BREAK_SHARE = 0.15


@dataclass(frozen=True)
class Size:
    items: int
    suppliers: int
    days: int


SIZES = {
    "small": Size(60, 4, 14),
    "medium": Size(150, 8, 21),
    "large": Size(400, 15, 28),
}


def window_of(size):
    return Window(datetime(2026, 5, 4, 8, tzinfo=UTC), FROM_ON, size.days)


def sheets_of(size, seed):
    """Return the rows of every sheet, by the sheet's name."""
    dice = random.Random(seed)
    recipes = [f"Cake {n:03}" for n in range(max(3, size.items // 5))]
    names = [f"Item {n:03}" for n in range(size.items)]
    lines = list(recipe_lines(dice, recipes, names))
    planned = list(bake_plan(dice, recipes, size))
    daily_g = daily_use(names, lines, planned, size.days)
    items = [item_row(dice, name, daily_g[name]) for name in names]
    suppliers = [supplier_row(dice, n) for n in range(size.suppliers)]
    return {
        "Settings": [
            {"setting": "time_zone", "value": "UTC"},
            {"setting": "currency", "value": "USD"},
            {"setting": "closed_days", "value": "Sun"},
            {"setting": "horizon_days", "value": str(size.days)},
        ],
        "Items": items,
        "Suppliers": suppliers,
        "Packs": list(pack_rows(dice, items, suppliers, daily_g)),
        "Recipes": [
            {"recipe": name, "yields": "1 each", "is_cake": "yes"} for name in recipes
        ],
        "Recipe lines": lines,
        "Bake plan": planned,
        "Stock": list(stock_rows(dice, items, daily_g)),
        "Open orders": [],
    }


def recipe_lines(dice, recipes, names):
    unused = list(names)
    dice.shuffle(unused)
    for recipe in recipes:
        chosen = {unused.pop() for _ in range(min(5, len(unused)))}
        chosen |= set(dice.choices(names, k=ITEMS_A_CAKE - len(chosen)))
        for name in sorted(chosen):
            grams = round(dice.lognormvariate(5.0, 0.9), 1)
            yield {"recipe": recipe, "component": name, "quantity": f"{grams} g"}


def bake_plan(dice, recipes, size):
    number = 0
    for day in range(size.days):
        on = FROM_ON + timedelta(days=day)
        if on.weekday() == 6:
            continue
        for _ in range(dice.randint(1, max(2, size.items // 20))):
            number += 1
            yield {
                "reference": f"B-{number:05}",
                "due": on.isoformat(),
                "cake": dice.choice(recipes),
                "quantity": str(dice.randint(1, 4)),
            }


def daily_use(names, lines, planned, days):
    cakes = dict.fromkeys((row["cake"] for row in planned), 0)
    for row in planned:
        cakes[row["cake"]] += int(row["quantity"])
    used = dict.fromkeys(names, 0.0)
    for row in lines:
        used[row["component"]] += grams_of(row["quantity"]) * cakes.get(
            row["recipe"], 0
        )
    return {name: max(total / days, 5.0) for name, total in used.items()}


def item_row(dice, name, daily_g):
    row = {"item": name, "measure": "mass", "kind": "ingredient"}
    row["safety"] = grams(daily_g * dice.choice([0, 1, 1, 2]))
    row["par"] = grams(daily_g * dice.choice([0, 3, 5, 7]))
    if dice.random() < DATED_SHARE:
        row["keeps_days"] = str(dice.choice([5, 7, 10, 14, 21, 30]))
    return row


def supplier_row(dice, number):
    minimum = dice.choice([0, 50, 100, 150])
    row = {
        "supplier": f"Supplier {number:02}",
        "delivery_days": " ".join(
            WEEKDAYS[n] for n in sorted(dice.sample(range(6), dice.choice([2, 2, 3])))
        ),
        "cutoff_days": str(dice.choice([1, 1, 2])),
        "cutoff_time": "14:00",
        "usable": dice.choice(["same day", "next day"]),
        "minimum_order": str(minimum),
        "delivery_fee": str(dice.choice([8, 12, 18, 25])),
    }
    if dice.random() < 0.5:
        row["free_delivery_from"] = str(minimum + dice.choice([100, 200, 300]))
    return row


def pack_rows(dice, items, suppliers, daily_g):
    for item in items:
        name = item["item"]
        price_per_g = dice.lognormvariate(-5.3, 0.7)
        chosen = dice.sample(suppliers, dice.choice([1, 1, 2, 2, 3]))
        preferred = True
        for supplier in chosen:
            level = dice.uniform(0.92, 1.12)
            days_held = dice.choice([1, 2, 4, 7, 14, 21])
            if "keeps_days" in item:
                days_held = min(days_held, 4)
            for bulk in range(dice.choice([1, 2])):
                grams_held = max(50, round(daily_g[name] * days_held * 3**bulk, -1))
                price = grams_held * price_per_g * level * 0.94**bulk
                row = {
                    "supplier": supplier["supplier"],
                    "item": name,
                    "pack": f"{'bulk' if bulk else 'pack'} {grams_held:g} g",
                    "holds": f"{grams_held:g} g",
                    "price": f"{max(price, 0.05):.2f}",
                    "preferred": "yes" if preferred else "",
                }
                if dice.random() < BREAK_SHARE:
                    row["price_breaks"] = f"4: {max(price * 0.95, 0.04):.2f}"
                preferred = False
                yield row


def stock_rows(dice, items, daily_g):
    for item in items:
        days_there = dice.choice([0, 1, 2, 3, 5])
        if not days_there:
            continue
        row = {
            "item": item["item"],
            "quantity": grams(daily_g[item["item"]] * days_there),
        }
        if "keeps_days" in item:
            last = dice.randint(1, int(item["keeps_days"]))
            row["use_by"] = (FROM_ON + timedelta(days=last)).isoformat()
        yield row


def grams(amount_g):
    return f"{amount_g:.0f} g"


def grams_of(quantity):
    return float(quantity.removesuffix(" g"))


def kitchen_of(sheets):
    """Return the engine's kitchen from the sheets."""
    items, recipes = sheets["Items"], sheets["Recipes"]
    node = {row["item"]: n for n, row in enumerate(items)}
    node |= {row["recipe"]: n for n, row in enumerate(recipes, len(items))}
    supplier = {row["supplier"]: n for n, row in enumerate(sheets["Suppliers"])}
    lines, planned = sheets["Recipe lines"], sheets["Bake plan"]
    return Kitchen(
        bakery=BakeryTerms("UTC", "USD", closed_weekdays=frozenset({6})),
        nodes=nodes_of(items, recipes),
        lines=Lines(
            recipe=ints(node[row["recipe"]] for row in lines),
            component=ints(node[row["component"]] for row in lines),
            quantity_base=floats(grams_of(row["quantity"]) for row in lines),
            yield_fraction=np.ones(len(lines)),
            scale=np.zeros(len(lines), dtype=np.int64),
        ),
        cakes=PlannedCakes(
            references=[row["reference"] for row in planned],
            due_on=[date.fromisoformat(row["due"]) for row in planned],
            cake=ints(node[row["cake"]] for row in planned),
            sizes=[""] * len(planned),
            quantity=floats(float(row["quantity"]) for row in planned),
            tentative=np.zeros(len(planned), dtype=np.bool_),
        ),
        lots=lots_of(sheets["Stock"], node),
        open_orders=OpenOrderLines((), ints([]), ints([]), floats([]), ()),
        suppliers=tuple(
            supplier_of(row, n) for n, row in enumerate(sheets["Suppliers"])
        ),
        packs=tuple(
            pack_of(row, n, node, supplier) for n, row in enumerate(sheets["Packs"])
        ),
    )


def ints(values):
    return np.array(list(values), dtype=np.int64)


def floats(values):
    return np.array(list(values), dtype=np.float64)


def nodes_of(items, recipes):
    count = len(items) + len(recipes)
    padding = [0.0] * len(recipes)
    return Nodes(
        ids=range(1, count + 1),
        names=[row["item"] for row in items] + [row["recipe"] for row in recipes],
        units=["g"] * len(items) + ["each"] * len(recipes),
        kind=ints([NodeKind.BOUGHT] * len(items) + [NodeKind.CAKE] * len(recipes)),
        retired=np.zeros(count, dtype=np.bool_),
        safety_base=floats([grams_of(row["safety"]) for row in items] + padding),
        par_base=floats([grams_of(row["par"]) for row in items] + padding),
        keeps_days=ints(
            [int(row.get("keeps_days", NO_LIMIT_DAYS)) for row in items]
            + [NO_LIMIT_DAYS] * len(recipes)
        ),
        whole=np.full(count, -1, dtype=np.int64),
        part_yields_base=np.zeros(count),
        yield_base=np.ones(count),
        batch_step=np.zeros(count),
        loss_fraction=np.zeros(count),
        lead_days=np.zeros(count, dtype=np.int64),
        base_size=[""] * count,
        largest_batch=np.zeros(count),
    )


def lots_of(rows, node):
    return StockLots(
        node=ints(node[row["item"]] for row in rows),
        amount_base=floats(grams_of(row["quantity"]) for row in rows),
        use_by=[
            date.fromisoformat(row["use_by"]) if "use_by" in row else None
            for row in rows
        ],
    )


def supplier_of(row, number):
    free_from = row.get("free_delivery_from")
    return SupplierTerms(
        supplier_id=number + 1,
        name=row["supplier"],
        delivery_weekdays=tuple(
            WEEKDAYS.index(name) for name in row["delivery_days"].split()
        ),
        cutoff_days=int(row["cutoff_days"]),
        cutoff_time=time.fromisoformat(row["cutoff_time"]),
        usable_next_day=row["usable"] == "next day",
        minimum_order=Decimal(row["minimum_order"]),
        delivery_fee=Decimal(row["delivery_fee"]),
        free_delivery_from=None if free_from is None else Decimal(free_from),
    )


def pack_of(row, number, node, supplier):
    breaks = ()
    if "price_breaks" in row:
        packs, price = row["price_breaks"].split(": ")
        breaks = (PriceBreak(int(packs), Decimal(price)),)
    return PackTerms(
        pack_id=number + 1,
        node=node[row["item"]],
        supplier=supplier[row["supplier"]],
        label=row["pack"],
        called="pack",
        code="",
        size_base=grams_of(row["holds"]),
        price=Decimal(row["price"]),
        breaks=breaks,
        preferred=row["preferred"] == "yes",
    )


def write_sheets(sheets, folder):
    """Write one CSV file for every sheet that has rows."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in sheets.items():
        columns = dict.fromkeys(column for row in rows for column in row)
        if rows:
            path = folder / f"{name}.csv"
            with path.open("w", newline="", encoding="utf-8") as file:
                writer = csv.DictWriter(file, list(columns), restval="")
                writer.writeheader()
                writer.writerows(rows)


def bakery(size_name, seed):
    """Return the kitchen and the window of one random bakery."""
    size = SIZES[size_name]
    return kitchen_of(sheets_of(size, seed)), window_of(size)


if __name__ == "__main__":
    of_size, of_seed, into = sys.argv[1:]
    write_sheets(sheets_of(SIZES[of_size], int(of_seed)), Path(into))
