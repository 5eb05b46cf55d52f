"""Units, household weights, eggs and yields against published figures.

Each row of the tables names its source; an expected figure is compared to as many
places as are printed, halves up.
"""

import csv
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from planning.engine.demand.explosion import explode
from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.household import reference_foods
from stock.measures.resolution import round_half_up
from stock.measures.units import REGISTRY
from tests.engine.small_kitchen import SmallKitchen, day, demand_of, window

FOLDER = Path(__file__).parent


def _table(name):
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _rows(name):
    return [
        pytest.param(row, id=f"{row['id']}-{place}")
        for place, row in enumerate(_table(name), start=2)
    ]


def _as_printed(amount, expected):
    return round_half_up(amount, len(expected.partition(".")[2]))


@pytest.mark.parametrize("row", _rows("conversions.csv"))
def test_a_conversion_gives_the_published_figure(row):
    item = read_item_measures(
        "anything",
        row["measure"],
        equivalents=row["equivalents"],
        own_units=row["own_units"],
    )
    converter = compile_converter(item)

    amount = converter.from_base(converter.to_base(row["given"]), row["to"])

    assert _as_printed(amount, row["expected"]) == Fraction(row["expected"])


@pytest.mark.parametrize("row", _rows("household_weights.csv"))
def test_a_reference_weight_is_as_published(row):
    weights = reference_foods()[row["ndb_no"]].weights

    grams = [w.grams for w in weights if w.measure_words == row["measure"]]

    assert grams == [row["grams"]]


def _bought_base(edible_base, yield_percent):
    """What the plan buys of a food for so much of it edible."""
    small = SmallKitchen().item("food")
    line = (float(edible_base), float(Fraction(yield_percent) / 100))
    small.recipe("prepared", {"food": line}, yields=1.0)
    small.cake("cake", {"prepared": 1.0}).plan("A", "cake", day(1))
    kitchen = small.build()
    [demand] = demand_of(kitchen, explode(kitchen, window()))["food"].values()
    return Fraction(demand)


@pytest.mark.parametrize("row", _rows("yield_arithmetic.csv"))
def test_buying_for_a_yield_gives_the_published_figure(row):
    converter = compile_converter(read_item_measures("anything", "mass"))
    given_base, percent = converter.to_base(row["given"]), row["yield_percent"]

    if row["asked"] == "as purchased":
        amount_base = _bought_base(given_base, percent)
    else:
        amount_base = given_base / _bought_base(1, percent)

    amount = converter.from_base(amount_base, row["to"])
    assert _as_printed(amount, row["expected"]) == Fraction(row["expected"])


def test_a_yield_is_that_of_the_row_it_names():
    published = {
        row["id"]: row["yield_percent"] for row in _table("reference_yields.csv")
    }

    named = [
        row for row in _table("yield_arithmetic.csv") if row["source"] in published
    ]

    assert len(named) == 4
    for row in named:
        assert row["yield_percent"] == published[row["source"]]


# 16 CFR 500.19 and NIST Handbook 44 App. C §5. These are no
# units of the quantity grammar: a berry "pint" must not pass for a liquid one.
@pytest.mark.parametrize(
    ("pint_name", "to", "expected"),
    [
        ("inch", "centimeter", "2.54"),
        ("cubic_inch", "milliliter", "16.387064"),
        ("gallon", "cubic_inch", "231"),
        ("bushel", "liter", "35.23907016688"),
        ("peck", "liter", "8.80976754172"),
        ("dry_quart", "liter", "1.101220942715"),
        ("dry_pint", "milliliter", "550.6104713575"),
        ("dry_pint", "cubic_inch", "33.6003125"),
    ],
)
def test_the_registry_is_exact(pint_name, to, expected):
    one = REGISTRY.Quantity(Fraction(1), pint_name)

    assert one.to(to).magnitude == Fraction(expected)


def test_a_berry_pint_is_larger_than_a_liquid_pint():
    # A-17, calculated from.
    ratio = REGISTRY.Quantity(Fraction(1), "dry_pint").to("pint").magnitude

    assert round_half_up(ratio, 6) == Fraction("1.163647")


# C-51 to C-53 are our own figures.
@pytest.mark.parametrize(
    ("unit", "price"), [("lb", "3.30"), ("oz", "0.20625"), ("stick", "0.825")]
)
def test_a_case_of_butter_has_one_price_in_every_unit(unit, price):
    item = read_item_measures("butter", "mass", own_units="stick = 4 oz")
    converter = compile_converter(item)

    units_a_case = converter.from_base(converter.to_base("36 lb"), unit)

    assert Fraction("118.80") / units_a_case == Fraction(price)


def test_catch_weight_is_rounded_once_at_the_line():
    converter = compile_converter(read_item_measures("cheese", "mass"))
    weight_base = converter.to_base("32.40 lb + 31.85 lb + 33.10 lb")

    weight_lb = converter.from_base(weight_base, "lb")
    cost = Decimal("4.129") * weight_lb.numerator / weight_lb.denominator

    assert weight_lb == Fraction("97.35")
    assert cost.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP) == Decimal("401.96")


def test_a_bin_is_weighed_less_its_tare():
    converter = compile_converter(read_item_measures("flour", "mass"))

    net_base = converter.to_base("18.64 lb") - converter.to_base("2.15 lb")

    assert converter.from_base(net_base, "lb") == Fraction("16.49")


# B-46 and B-47: culinary-math review sheet, second-hand.
def test_eggs_have_one_price_by_the_case_the_dozen_and_each():
    item = read_item_measures("eggs", "count", own_units="case = 30 dozen")
    case_each = compile_converter(item).to_base("1 case")

    price_each = Fraction("72.00") / case_each

    assert price_each * 12 == Fraction("2.40")
    assert price_each * 3 == Fraction("0.60")


def test_four_fluid_ounces_of_cream_cost_their_share_of_the_half_gallon():
    converter = compile_converter(read_item_measures("cream", "volume"))

    fl_oz = converter.from_base(converter.to_base("1/2 gallon"), "fl oz")

    assert Fraction("8.95") / fl_oz == Fraction("0.13984375")
    assert Fraction("8.95") / fl_oz * 4 == Fraction("0.559375")
