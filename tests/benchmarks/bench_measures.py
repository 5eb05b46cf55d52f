"""How fast quantities are read and converted, as ratios measured in this run.

python -m tests.benchmarks.bench_measures
"""

import timeit
from fractions import Fraction

import pint

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.packs import PackWord
from stock.measures.reading.quantity import parse_quantity
from stock.measures.units import REGISTRY
from stock.measures.wording import say, say_short

TYPED = 10_000
TYPED_SECONDS_ALLOWED = 3.0
PINT_RATIO_WANTED = 10.0
ITEMS = 3_000
REPEATS = 5

TEXTS = [
    "2 case + 3 1/2 lb",
    "¾ cup",
    "1 3/4 cup",
    "1½ cup",
    "0.4 bag",
    "1 lb 4 oz",
    "500g",
    "3 sticks",
    "12.25 oz",
    "2 tbsp + 1 tsp",
]


def _butter():
    return compile_converter(
        read_item_measures(
            "butter",
            "mass",
            equivalents="1 cup = 227 g; 1 tbsp = 14.2 g",
            own_units="stick = 4 oz",
            packs=[PackWord("case", "36 lb"), PackWord("bag", "50 lb")],
        )
    )


def _seconds(work, number=1):
    """Return the best of several runs, for one call."""
    return min(timeit.repeat(work, number=number, repeat=REPEATS)) / number


def main():
    butter = _butter()
    typed = TEXTS * (TYPED // len(TEXTS))
    milk = compile_converter(read_item_measures("milk", "volume"))
    cups = parse_quantity("1 3/4 cup")
    floats = pint.UnitRegistry()
    cups_of_floats = floats.Quantity(1.75, "cup")
    cups_of_fractions = REGISTRY.Quantity(Fraction(7, 4), "cup")

    ours = _seconds(lambda: milk.to_base(cups), 10_000)
    by_floats = _seconds(lambda: cups_of_floats.to("milliliter"), 2_000)
    by_fractions = _seconds(lambda: cups_of_fractions.to("milliliter"), 2_000)
    by_value = _seconds(lambda: floats.Quantity(1.75, "cup").to("milliliter"), 2_000)
    reading = _seconds(lambda: [butter.to_base(text) for text in typed])
    pint_reading = _seconds(lambda: [floats("1.75 cup") for _ in range(500)]) / 500
    compiling = _seconds(lambda: [_butter() for _ in range(300)]) / 300
    amounts = [Fraction(n * 97, 7) for n in range(1_000)]
    saying = _seconds(lambda: [say(amount, butter) for amount in amounts]) / 1_000
    short = _seconds(lambda: [say_short(amount, butter) for amount in amounts]) / 1_000

    print(f"converting: {by_value / ours:.1f} x as fast as pint from a number and unit")
    print(f"converting: {by_floats / ours:.1f} x as fast as pint with floats")
    print(f"converting: {by_fractions / ours:.1f} x as fast as pint with fractions")
    print(f"  (wanted: {PINT_RATIO_WANTED:.0f} x)")
    print(f"reading: {pint_reading * TYPED / reading:.1f} x as fast as pint reads")
    print(f"{TYPED:,} typed quantities read and converted: {reading:.3f} s")
    print(f"  (allowed: {TYPED_SECONDS_ALLOWED:.0f} s)")
    print(f"{ITEMS:,} items compiled from text: {compiling * ITEMS:.3f} s")
    print(f"said exactly: {saying * 1e6:.0f} microseconds each")
    print(f"said shortly: {short * 1e6:.0f} microseconds each")
    print(f'pint reads "1 3/4 cup" as {floats("1 3/4 cup")}; we read {cups}')


if __name__ == "__main__":
    main()
