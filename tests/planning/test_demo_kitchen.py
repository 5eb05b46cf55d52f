from datetime import date, datetime, timedelta
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest

from planning.demo import build_sheets, counted_on
from planning.demo.days import DemoDays
from planning.entry.sheets import SHEETS
from tests.reference import by_hand
from tests.reference.quantities import Measure, read_equivalents

CHICAGO = ZoneInfo("America/Chicago")
A_SATURDAY = date(2026, 5, 2)
A_WEEK = [A_SATURDAY + timedelta(days=n) for n in range(7)]
EDGES = [date(2024, 2, 20), date(2026, 3, 1), date(2026, 12, 22), date(2027, 12, 31)]
EVERY_START = A_WEEK + EDGES
WEDDING = "2122"


def every_start(test):
    return pytest.mark.parametrize("today", EVERY_START, ids="{:%a %d %b %Y}".format)(
        test
    )


def as_text(sheets):
    return {
        sheet: [
            {column: "" if cell is None else str(cell) for column, cell in row.items()}
            for row in rows
        ]
        for sheet, rows in sheets.items()
    }


def plan_at_nine(today):
    at = datetime(today.year, today.month, today.day, 9, tzinfo=CHICAGO)
    return by_hand.plan(as_text(build_sheets(today)), at=at)


def names(sheets, sheet, column):
    return [row[column] for row in sheets[sheet]]


@every_start
def test_its_sheets_and_columns_are_those_of_the_kitchen_workbook(today):
    sheets = build_sheets(today)

    assert list(sheets) == [sheet.name for sheet in SHEETS]
    for sheet in SHEETS:
        columns = [column.name for column in sheet.columns]
        assert all(list(row) == columns for row in sheets[sheet.name])


@every_start
def test_every_cell_can_be_read(today):
    sheets = build_sheets(today)

    for sheet in SHEETS:
        for row in sheets[sheet.name]:
            for column in sheet.columns:
                column.read(row[column.name])


def test_every_name_is_known_and_stands_once():
    sheets = build_sheets(A_SATURDAY)
    bought = names(sheets, "Items", "item")
    made = names(sheets, "Recipes", "recipe")
    known = [*bought, *names(sheets, "Splits", "part"), *made]
    packs = {(r["supplier"], r["item"], r["pack"]) for r in sheets["Packs"]}

    assert len(known) == len({name.casefold() for name in known})
    assert set(names(sheets, "Packs", "item")) <= set(bought)
    assert set(names(sheets, "Packs", "supplier")) == set(
        names(sheets, "Suppliers", "supplier")
    )
    assert set(names(sheets, "Recipe lines", "component")) <= set(known)
    assert set(names(sheets, "Recipe lines", "recipe")) == set(made)
    assert set(names(sheets, "Stock", "item")) <= set(known)
    assert set(names(sheets, "Bake plan", "cake")) <= set(made)
    assert set(names(sheets, "Items", "place")) == set(names(sheets, "Places", "place"))
    assert {
        (r["supplier"], r["item"], r["pack"]) for r in sheets["Open orders"]
    } <= packs


def test_it_is_as_large_as_a_small_bakery():
    sheets = build_sheets(A_SATURDAY)

    sizes = {sheet: len(rows) for sheet, rows in sheets.items()}

    assert 50 <= sizes["Items"] <= 60
    assert sizes["Suppliers"] == 5
    assert 14 <= sizes["Recipes"] <= 22
    assert 35 <= sizes["Bake plan"] <= 45
    packs_of = names(sheets, "Packs", "item")
    assert len([item for item in set(packs_of) if packs_of.count(item) > 1]) >= 6
    assert set(names(sheets, "Items", "item")) - set(packs_of) == {
        "sugar pearls",
        "dried rose petals",
    }


@every_start
def test_three_weeks_of_cakes_turn_around_a_saturday_still_to_come(today):
    cakes = {row["reference"]: row for row in build_sheets(today)["Bake plan"]}

    wedding_on = cakes[WEDDING]["due"]
    days = [row["due"] for row in cakes.values()]
    assert wedding_on.weekday() == 5
    assert 8 <= (wedding_on - today).days <= 14
    assert days == sorted(days)
    assert min(days) < today
    assert max(days) <= today + timedelta(days=20)
    assert all(day.weekday() != 0 for day in days)
    assert len([day for day in days if abs((day - wedding_on).days) <= 1]) >= 12
    assert {row["status"] for row in cakes.values()} == {
        "baked",
        "cancelled",
        "confirmed",
        "tentative",
    }


@every_start
def test_what_was_due_is_baked_and_nothing_live_is_past(today):
    for row in build_sheets(today)["Bake plan"]:
        if row["due"] <= today:
            assert row["status"] == "baked"


@every_start
def test_open_orders_are_due_on_delivery_days_and_one_is_overdue(today):
    sheets = build_sheets(today)
    weekdays = {r["supplier"]: r["delivery_days"] for r in sheets["Suppliers"]}
    due = {}
    for row in sheets["Open orders"]:
        assert f"{row['due']:%a}" in weekdays[row["supplier"]].split()
        due[row["order"]] = (row["due"] - today).days

    assert -7 <= due["PO-311"] <= -1
    assert 2 <= due["PO-314"] <= 6
    assert 2 <= due["PO-315"] <= 5


def test_days_after_the_big_saturday_are_text_where_a_list_of_days_stands():
    # From Friday 8 May the big Saturday is 16 May.
    sheets = build_sheets(date(2026, 5, 8))

    closed_on = {r["supplier"]: r["closed_on"] for r in sheets["Suppliers"]}
    assert closed_on["Ostermill Dry Goods"] == "2026-05-19"
    assert closed_on["Pellworth Produce"] == "2026-05-21"
    assert closed_on["Brindlecote Dairy"] is None
    assert {"setting": "closed_on", "value": "2026-05-24"} in sheets["Settings"]


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("from today", date(2026, 5, 1)),  # a Friday
        ("from today+1", date(2026, 5, 8)),  # Tuesday the 5th is closed
        ("before today", date(2026, 4, 28)),
        ("before big", date(2026, 5, 8)),  # the big Saturday is the 9th
    ],
)
def test_delivery_days_skip_the_days_a_supplier_is_closed(words, expected):
    days = DemoDays(date(2026, 5, 1))

    found = days.delivery_day(words, weekdays=(1, 4), closed_on=[date(2026, 5, 5)])

    assert found == expected


def test_a_day_in_other_words_is_refused():
    with pytest.raises(ValueError, match="'tomorrow' isn't a day"):
        DemoDays(date(2026, 5, 1)).day("tomorrow")


@every_start
def test_one_lot_is_out_of_date_and_one_will_be_before_the_wedding(today):
    sheets = build_sheets(today)
    wedding_on = next(
        r["due"] for r in sheets["Bake plan"] if r["reference"] == WEDDING
    )
    use_by = {row["lot"]: row["use_by"] for row in sheets["Stock"]}

    assert use_by["S-20"] < today
    assert today < use_by["H-88"] < wedding_on < use_by["H-93"]


@pytest.mark.parametrize("today", A_WEEK, ids="{:%a}".format)
def test_the_count_was_on_a_sunday_a_few_days_ago(today):
    days_ago = (today - counted_on(today)).days

    assert counted_on(today).weekday() == 6
    assert 2 <= days_ago <= 8


@every_start
def test_before_the_wedding_much_runs_out_that_can_still_be_ordered(today):
    plan = plan_at_nine(today)
    wedding_on = next(
        r["due"] for r in build_sheets(today)["Bake plan"] if r["reference"] == WEDDING
    )

    short = {row["item"]: row for row in plan["shortfalls"]}
    for item in ["unsalted butter", "eggs", "granulated sugar", "molasses", "honey"]:
        first_on = date.fromisoformat(short[item]["first_date"])
        assert short[item]["kind"] == "out"
        assert 1 <= (wedding_on - first_on).days <= 3
        assert short[item]["remedy"] is not None
    assert short["dark brown sugar"]["kind"] == "out"
    assert short["honey"]["cakes"] == [WEDDING]


@every_start
def test_two_items_are_beyond_help_and_most_are_fine(today):
    shortfalls = plan_at_nine(today)["shortfalls"]

    by_kind = {
        kind: {row["item"] for row in shortfalls if row["kind"] == kind}
        for kind in ("out", "below safety", "below par")
    }
    lost = {row["item"] for row in shortfalls if row["remedy"] is None}
    assert lost == {"hazelnuts", "sugar pearls"}
    assert lost < by_kind["out"]
    # A plan looks 14 to 20 days ahead: on to the next par day.
    assert len(by_kind["out"]) <= 16
    assert len(by_kind["below par"]) >= 4
    assert len(shortfalls) <= 22


# Household weights of USDA SR28 (2015), with the number of the food.
SR28 = [
    ("unsalted butter", "1 cup = 227 g", "01145"),
    ("unsalted butter", "1 tbsp = 14.2 g", "01145"),
    ("heavy cream", "1 cup = 238 g", "01053"),
    ("eggs", "1 each = 50 g", "01123"),
    ("all-purpose flour", "1 cup = 125 g", "20081"),
    ("bread flour", "1 cup = 137 g", "20083"),
    ("cake flour", "1 cup = 137 g", "20084"),
    ("granulated sugar", "1 cup = 200 g", "19335"),
    ("powdered sugar", "1 cup = 120 g", "19336"),
    ("dark brown sugar", "1 cup = 220 g", "19334"),
    ("molasses", "1 cup = 337 g", "19304"),
    ("honey", "1 cup = 339 g", "19296"),
    ("cocoa", "1 cup = 86 g", "19166"),
    ("baking powder", "1 tsp = 4.6 g", "18369"),
    ("salt", "1 tsp = 6 g", "02047"),
    ("vanilla extract", "1 cup = 208 g", "02050"),
]


@pytest.mark.parametrize(("item", "weight", "ndb_no"), SR28)
def test_household_weights_are_the_published_ones(item, weight, ndb_no):
    rows = {row["item"]: row for row in build_sheets(A_SATURDAY)["Items"]}

    assert weight in rows[item]["equivalents"].split("; ")


# For each recipe: water from the tap in g, what has no published weight in g (two
# teaspoons of almond extract, from memory), and the part of it all that is boiled or
# strained off. Common practice, no source.
KITCHEN_SCALE = {
    "Vanilla butter layers": (0, 0, 0),
    "Chocolate layers": (300, 0, 0),
    "Gingerbread layers": (0, 0, 0),
    "Brown sugar pecan layers": (0, 0, 0),
    "Honey almond layers": (0, 9, 0),
    "Meringue buttercream": (0, 0, 0),
    "Chocolate buttercream": (0, 0, 0),
    "Cream cheese frosting": (0, 0, 0),
    "Mascarpone cream": (80, 0, 0),
    "Praline cream": (0, 0, 0),
    "Hazelnut praline": (100, 0, 0.07),
    "Dark ganache": (0, 0, 0),
    "Lemon curd": (0, 0, 0.04),
    "Raspberry filling": (0, 0, 0.16),
    "Simple syrup": (1000, 0, 0.02),
}
# Half sugar, half water: 1.23 g/mL at room temperature; from memory.
SYRUP = "1 cup = 291 g"


def measures_by_weight(sheets):
    """Everything measured in grams, whatever it is kept by."""
    equivalents = {r["item"]: r["equivalents"] or "" for r in sheets["Items"]}
    equivalents |= {r["part"]: f"1 each = {r['yields']}" for r in sheets["Splits"]}
    equivalents |= {r["recipe"]: "" for r in sheets["Recipes"]}
    equivalents["Simple syrup"] = SYRUP
    measures = {
        name: Measure(name, "mass", read_equivalents(name, "mass", text))
        for name, text in equivalents.items()
    }
    for name in ("unsalted butter", "salted butter"):
        measures[name].words["stick"] = measures[name].amount("4 oz")
    return measures


@pytest.mark.parametrize("recipe", KITCHEN_SCALE)
def test_a_batch_weighs_what_goes_into_it(recipe):
    sheets = build_sheets(A_SATURDAY)
    measures = measures_by_weight(sheets)
    tap_water_g, unweighed_g, lost_fraction = KITCHEN_SCALE[recipe]
    yields = {r["recipe"]: r["yields"] for r in sheets["Recipes"]}[recipe]

    into_bowl_g = tap_water_g + unweighed_g
    for line in sheets["Recipe lines"]:
        if line["recipe"] == recipe and line["component"] != "almond extract":
            into_bowl_g += measures[line["component"]].amount(line["quantity"])

    batch_g = float(into_bowl_g) * (1 - lost_fraction)
    assert float(measures[recipe].amount(yields)) == pytest.approx(batch_g, rel=0.01)


# Volume of the layers of the base size in cubic inches, 1.5 in high: for 8 in round
# x 3 that is 50.27 x 3 x 1.5.
LAYERS_OF = {
    "Raspberry vanilla cake": ("Vanilla butter layers", 226.2),
    "Lemon curd cake": ("Vanilla butter layers", 226.2),
    "Chocolate hazelnut cake": ("Chocolate layers", 226.2),
    "Gingerbread cake": ("Gingerbread layers", 226.2),
    "Brown sugar pecan cake": ("Brown sugar pecan layers", 226.2),
    "Strawberry mascarpone sheet cake": ("Vanilla butter layers", 351.0),
    "Honey almond wedding cake": ("Honey almond layers", 824.7),
}
ML_PER_CUBIC_INCH = Fraction("16.387064")


@pytest.mark.parametrize("cake", LAYERS_OF)
def test_baked_layers_fill_their_pans(cake):
    # Butter cake weighs between 0.40 and 0.50 g/mL; common practice, no source.
    layers, volume_cubic_in = LAYERS_OF[cake]
    sheets = build_sheets(A_SATURDAY)
    (quantity,) = [
        row["quantity"]
        for row in sheets["Recipe lines"]
        if (row["recipe"], row["component"]) == (cake, layers)
    ]

    layers_g = float(Measure(layers, "mass", []).amount(quantity))

    assert 0.40 <= layers_g / (volume_cubic_in * float(ML_PER_CUBIC_INCH)) <= 0.50
