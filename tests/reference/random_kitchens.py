"""Random, valid kitchens: the same seed gives the same workbook.

For comparing the engine with the calculator on thousands of kitchens that nobody
would think of. Every feature of a workbook turns up; readings that the workbook's
definition leaves open (finished cakes in stock, two preferred packs) do not.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random

from tests.reference import spellings
from tests.reference.kitchen import Rows, Sheets
from tests.reference.spellings import OF_KIND

WEEKDAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
ZONES = ["UTC", "America/New_York", "Europe/Vienna", "Australia/Sydney"]
START = date(2026, 5, 4)
YIELDS = [
    ("mass", "1.2 kg"),
    ("mass", "2 lb 4 oz"),
    ("volume", "1½ quart"),
    ("count", "1 each"),
]
CAKES = ["Cake A", "Cake B", "Cake C"]


@dataclass(eq=False)
class Thing:
    """An item, part or recipe, with every unit it may be asked for in."""

    name: str
    kind: str
    units: dict[str, float]
    about: float  # a usual amount, in base units


@dataclass
class Draft:
    rng: Random
    start: date
    items: list[Thing] = field(default_factory=list)
    parts: list[Thing] = field(default_factory=list)
    recipes: list[Thing] = field(default_factory=list)
    suppliers: list[str] = field(default_factory=list)
    pack_rows: Rows = field(default_factory=list)

    def day(self, first: int, last: int) -> str:
        offset = self.rng.randint(first, last)
        return (self.start + timedelta(days=offset)).isoformat()

    def maybe(self, chance: float, text: object) -> str:
        return str(text) if self.rng.random() < chance else ""

    def amount(self, thing: Thing, times: float = 1, *, terms: int = 2) -> str:
        about = thing.about * times * self.rng.uniform(0.3, 1.7)
        return spellings.quantity(self.rng, thing.units, about, terms=terms)


def random_sheets(rng: Random, size: int = 8, start: date = START) -> Sheets:
    """A kitchen of `size` items whose dates lie around `start`."""
    draft = Draft(rng, start)
    sheets = {
        "Settings": settings(draft),
        "Places": [{"place": "Dry rack"}, {"place": "Cooler"}],
        "Items": [item(draft, number) for number in range(1, size + 1)],
        "Splits": splits(draft),
        "Suppliers": [supplier(draft, n) for n in range(1, rng.randint(2, 4))],
        "Packs": packs(draft),
        "Recipes": [*components(draft, max(2, size // 3)), *cakes(draft)],
        "Recipe lines": lines(draft),
        "Bake plan": bake_plan(draft, size),
        "Stock": stock(draft),
        "Open orders": open_orders(draft),
    }
    sheets["Settings"].append({"setting": "par_days", "value": par_days(draft)})
    # A run of its own, so that what stands above is the same kitchen as before.
    add_rarer_columns(sheets, Random(repr(rng.getstate()[1][:8])), start)
    return sheets


def add_rarer_columns(sheets: Sheets, rng: Random, start: date) -> None:
    """Shops, what is retired, cut-offs by weekday, next prices, capped use-bys."""

    def maybe(chance: float, text: object) -> str:
        return str(text) if rng.random() < chance else ""

    for row in sheets["Suppliers"]:
        row["kind"] = maybe(0.1, "shop")
        row["retired"] = maybe(0.05, "yes")
        if rng.random() < 0.3:
            days = row["delivery_days"].replace(";", " ").split()
            pairs = [f"{day} {rng.choice([0, 1, 3, 5])}" for day in days]
            row["cutoff_days"] = "; ".join(pairs)
    for row in sheets["Packs"]:
        row["retired"] = maybe(0.1, "yes")
        row["next_price"] = maybe(0.2, f"{float(row['price']) * 1.1:.2f}")
        day = start + timedelta(days=rng.randint(-2, 12))
        row["next_price_from"] = day.isoformat() if row["next_price"] else ""
    for row in sheets["Recipes"]:
        is_component = row.get("is_cake") != "yes"
        row["caps_use_by"] = maybe(0.4, "yes") if is_component else ""
        row["retired"] = maybe(0.05, "yes")
    for row in sheets["Open orders"]:
        row["received_packs"] = maybe(0.2, 1) if row["packs"] != "1" else ""


def par_days(draft: Draft) -> str:
    days = draft.rng.sample(WEEKDAYS, draft.rng.choice([0, 1, 2, 3]))
    return " ".join(days)


def settings(draft: Draft) -> Rows:
    rng = draft.rng
    closed = rng.sample(WEEKDAYS, rng.choice([0, 0, 1, 2]))
    values = {
        "bakery": "Random Crumbs",
        "time_zone": rng.choice(ZONES),
        "currency": rng.choice(["USD", "EUR"]),
        "week_starts": rng.choice(WEEKDAYS),
        "closed_days": rng.choice(["; ", " "]).join(closed),
        "closed_on": "; ".join({draft.day(0, 20): 1, draft.day(0, 20): 1}),
        "horizon_days": str(rng.choice([7, 10, 14])),
        "layer_height": rng.choice(["1.5 in", "2 in", "4 cm"]),
    }
    return [{"setting": name, "value": value} for name, value in values.items()]


def item(draft: Draft, number: int) -> dict[str, str]:
    rng = draft.rng
    kind = rng.choice(["mass", "mass", "volume", "count"])
    thing = Thing(f"Item {number:02}", kind, dict(OF_KIND[kind]), 400)
    if kind == "count":
        thing.about = 8
    equivalents = equivalents_of(draft, thing)
    own_units = ""
    if rng.random() < 0.4:
        own = spellings.quantity(rng, OF_KIND[kind], thing.about * 3, terms=1)
        own_units = f"tub = {own}"
        thing.units["tub"] = thing.about * 3
    draft.items.append(thing)
    return {
        "item": thing.name,
        "kind": rng.choice(["ingredient", "ingredient", "packaging", ""]),
        "measure": kind,
        "equivalents": equivalents,
        "own_units": own_units,
        "safety": draft.maybe(0.3, draft.amount(thing)),
        "par": draft.maybe(0.4, draft.amount(thing, 6)),
        "keeps_days": draft.maybe(0.5, rng.randint(1, 15)),
        "place": rng.choice(["Dry rack", "Cooler", ""]),
        "allergens": draft.maybe(0.2, "milk; wheat"),
        "minimum_days_left": draft.maybe(0.2, 2),
        "retired": draft.maybe(0.05, "yes"),
    }


def equivalents_of(draft: Draft, thing: Thing) -> str:
    """Text, and the units it opens added to the thing."""
    rng = draft.rng
    if rng.random() < 0.4:
        return ""
    if thing.kind == "count":
        grams = rng.randint(20, 90)
        thing.units |= {u: s / grams for u, s in OF_KIND["mass"].items()}
        return f"1 each = {grams} g"
    grams = rng.randint(90, 260)
    sides = ["1 cup", f"{grams} g"]
    rng.shuffle(sides)
    foreign = "volume" if thing.kind == "mass" else "mass"
    thing.units |= OF_KIND[foreign]
    clauses = [" = ".join(sides)]
    if thing.kind == "mass":
        thing.units |= {"pinch": 0.3, "dash": 0.6}
        if rng.random() < 0.4:
            clauses.append(f"1 tbsp = {grams / 15:.1f} g")
    return "; ".join(clauses)


def splits(draft: Draft) -> Rows:
    rows = []
    wholes = [thing for thing in draft.items if thing.kind == "count"]
    for whole in wholes[: draft.rng.choice([0, 1, 1, 2])]:
        for which in ["inner", "outer"]:
            grams = draft.rng.randint(5, 60)
            units = OF_KIND["mass"] | {"each": grams}
            part = Thing(f"{whole.name} {which}", "mass", units, grams * 6)
            draft.parts.append(part)
            rows.append(
                {
                    "whole": whole.name,
                    "part": part.name,
                    "yields": f"{grams} g",
                    "keeps_days": draft.maybe(0.6, draft.rng.randint(1, 4)),
                }
            )
    return rows


def supplier(draft: Draft, number: int) -> dict[str, str]:
    rng = draft.rng
    name = f"Supplier {number}"
    draft.suppliers.append(name)
    days = rng.sample(WEEKDAYS, rng.randint(1, 4))
    return {
        "supplier": name,
        "delivery_days": rng.choice(["; ", " "]).join(days),
        "cutoff_days": str(rng.choice([0, 1, 1, 2, 3])),
        "cutoff_time": f"{rng.randint(4, 20):02}:{rng.choice([0, 30]):02}",
        "usable": rng.choice(["same day", "next day", ""]),
        "minimum_order": draft.maybe(0.4, rng.randint(20, 120)),
        "delivery_fee": draft.maybe(0.5, f"{rng.uniform(3, 20):.2f}"),
        "free_delivery_from": draft.maybe(0.3, rng.randint(80, 400)),
        "closed_on": draft.maybe(0.3, draft.day(0, 14)),
    }


def packs(draft: Draft) -> Rows:
    rng = draft.rng
    for thing in draft.items:
        preferred = rng.choice([0, 1, 2, 9])
        for number in range(rng.choice([0, 1, 1, 2, 3])):
            called = rng.choice(["", f"case{'abc'[number]}"])
            factor = rng.choice([2, 5, 12])
            base = {u: s for u, s in thing.units.items() if not u.startswith("case")}
            about = thing.about * factor
            # In a pack 3/4 kg would be three of 4 kg.
            holds = spellings.in_one_sign(spellings.quantity(rng, base, about, terms=1))
            if called:
                thing.units[called] = thing.about * factor
            price = rng.uniform(1, 60)
            draft.pack_rows.append(
                {
                    "supplier": rng.choice(draft.suppliers),
                    "item": thing.name,
                    "pack": f"pack {number} of {holds}",
                    "called": called,
                    "code": draft.maybe(0.7, f"C-{rng.randint(100, 999)}"),
                    "holds": holds,
                    "price": f"{price:.2f}",
                    "minimum_packs": draft.maybe(0.2, rng.randint(2, 4)),
                    "multiple": draft.maybe(0.2, rng.randint(2, 3)),
                    "price_breaks": draft.maybe(
                        0.3, f"5: {price * 0.9:.2f}; 12: {price * 0.8:.2f}"
                    ),
                    "preferred": "yes" if number == preferred else "",
                }
            )
    return draft.pack_rows


def components(draft: Draft, count: int) -> Rows:
    rows = []
    for number in range(1, count + 1):
        rng = draft.rng
        kind, yields = rng.choice(YIELDS)
        about = 1 if kind == "count" else 500
        name = f"Recipe {number:02}"
        draft.recipes.append(Thing(name, kind, dict(OF_KIND[kind]), about))
        rows.append(
            {
                "recipe": name,
                "yields": yields,
                "batch_step": rng.choice(["", "0", "0.5", "1", "0.25"]),
                "largest_batch": draft.maybe(0.3, 2),
                "loss_percent": draft.maybe(0.5, rng.choice([2, 4, 12.5])),
                "lead_days": draft.maybe(0.8, rng.randint(0, 3)),
                "keeps_days": draft.maybe(0.8, rng.randint(1, 8)),
                "is_cake": "",
                "base_size": "",
                "holding": draft.maybe(0.3, "cold"),
            }
        )
    return rows


def cakes(draft: Draft) -> Rows:
    return [
        {
            "recipe": name,
            "yields": "1 each",
            "lead_days": draft.maybe(0.8, draft.rng.randint(0, 2)),
            "is_cake": "yes",
            "base_size": spellings.size(draft.rng, tiers=draft.rng.randint(1, 3)),
        }
        for name in CAKES
    ]


def lines(draft: Draft) -> Rows:
    """A recipe uses items, parts and recipes that come before it."""
    rows = []
    for number, recipe in enumerate(draft.recipes):
        choice = [*draft.items, *draft.parts, *draft.recipes[:number]]
        for thing in draft.rng.sample(choice, min(4, len(choice))):
            rows.append(line(draft, recipe.name, thing, ""))
    scales = ["volume", "filling", "surface", "tier", "cake", ""]
    for name in CAKES:
        choice = [*draft.recipes, *draft.items, *draft.parts, *draft.recipes]
        for thing in dict.fromkeys(
            choice[n] for n in draft.rng.sample(range(len(choice)), 5)
        ):
            rows.append(line(draft, name, thing, draft.rng.choice(scales)))
    return rows


def line(draft: Draft, recipe: str, thing: Thing, scales_with: str) -> dict[str, str]:
    return {
        "recipe": recipe,
        "component": thing.name,
        "quantity": draft.amount(thing),
        "yield_percent": draft.maybe(0.2, draft.rng.choice([100, 90, 82.5])),
        "scales_with": scales_with,
    }


def bake_plan(draft: Draft, size: int) -> Rows:
    rng = draft.rng
    statuses = ["", "confirmed", "confirmed", "tentative", "baked", "cancelled"]
    return [
        {
            "reference": f"B-{number:03}",
            "due": draft.day(-1, 18),
            "due_time": draft.maybe(0.3, "15:00"),
            "cake": rng.choice(CAKES),
            "size": draft.maybe(0.6, spellings.size(rng, tiers=rng.randint(1, 3))),
            "quantity": str(rng.choice([1, 1, 1, 2, 3])),
            "status": rng.choice(statuses),
        }
        for number in range(1, size + rng.randint(1, 4))
    ]


def stock(draft: Draft) -> Rows:
    rng = draft.rng
    rows = []
    for thing in [*draft.items, *draft.parts, *draft.recipes]:
        made = thing not in draft.items
        used: set[str] = set()
        for _ in range(rng.choice([0, 0, 1]) if made else rng.choice([0, 1, 2])):
            use_by = draft.maybe(0.95 if made else 0.6, draft.day(-2, 20))
            if use_by in used:
                continue
            used.add(use_by)
            rows.append(
                {
                    "item": thing.name,
                    "quantity": draft.amount(thing, 1 if made else 5, terms=3),
                    "place": rng.choice(["Dry rack", "Cooler"]),
                    "use_by": use_by,
                }
            )
    return rows


def open_orders(draft: Draft) -> Rows:
    rng = draft.rng
    rows = []
    for number, pack in enumerate(draft.pack_rows):
        if rng.random() < 0.25:
            rows.append(
                {
                    "order": f"PO-{number:02}",
                    "supplier": pack["supplier"],
                    "item": pack["item"],
                    "pack": pack["pack"],
                    "packs": str(rng.randint(1, 3)),
                    "due": draft.day(-1, 20),
                }
            )
    return rows
