"""Drawn shelves, what is really on them, and how counters say it; see `bench_slips`."""

import random
from dataclasses import dataclass, field
from math import exp, floor

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.conversion import Converter
from stock.measures.packs import PackWord

SLIP_SHARE = 0.03


PAST_COUNTS = 8


# Measures, equivalents, own words, packs, and the words it is counted in.
KINDS = (
    ("mass", "1 cup = 227 g", "stick = 4 oz", (("case", "36 lb"),), ("case", "lb")),
    ("mass", "1 cup = 125 g", "scoop = 1 lb", (("sack", "50 lb"),), ("sack", "scoop")),
    ("mass", "", "", (("case", "30 lb"), ("box", "5 lb")), ("case", "box")),
    ("mass", "", "tub = 5 lb", (), ("tub", "lb")),
    ("mass", "1 cup = 86 g", "", (("bag", "5 lb"),), ("lb", "oz")),
    ("volume", "1 cup = 238 g", "", (("case", "12 quart"),), ("case", "quart")),
    ("volume", "", "jug = 1 gallon", (), ("jug", "quart")),
    (
        "count",
        "1 each = 50 g",
        "flat = 30 each",
        (("case", "30 dozen"),),
        ("flat", "each"),
    ),
    ("count", "", "", (("case", "100 each"),), ("case", "each")),
    ("count", "", "roll = 1 each", (("pack", "12 each"),), ("pack", "each")),
)


@dataclass(frozen=True)
class Shelf:
    """One simulated item: how it is counted, how it strays, and its past."""

    converter: Converter
    large: str
    small: str
    usual_large: float
    spread: float
    bias: float
    past: list[tuple[float, float]] = field(default_factory=list)

    @property
    def large_base(self) -> float:
        return float(self.converter.unit_base(self.large))

    @property
    def usual_base(self) -> float:
        return self.usual_large * self.large_base


def draw_shelf(draw: random.Random) -> Shelf:
    measure, equivalents, own, packs, (large, small) = draw.choice(KINDS)
    item = read_item_measures(
        "it",
        measure,
        equivalents=equivalents,
        own_units=own,
        packs=[PackWord(called, holds) for called, holds in packs],
    )
    return Shelf(
        compile_converter(item),
        large,
        small,
        usual_large=draw.choice([1.5, 2, 3, 4, 6, 10]),
        spread=min(max(draw.lognormvariate(-2.5, 0.6), 0.02), 0.3),
        bias=draw.gauss(-0.02, 0.03),
    )


def with_past(shelf: Shelf, draw: random.Random) -> Shelf:
    for _ in range(draw.randint(0, PAST_COUNTS)):
        expected, true_base = draw_count(shelf, draw)
        if draw.random() < SLIP_SHARE:  # the past has slips in it too
            true_base *= draw.choice([36, 1 / 36])
        shelf.past.append((true_base, expected))
    return shelf


def draw_count(shelf: Shelf, draw: random.Random) -> tuple[float, float]:
    """Return what the record says, and what is really there on an ordinary day."""
    expected = shelf.usual_base * draw.uniform(0.15, 1.3)
    strayed = shelf.spread * _heavy_tailed(draw) + shelf.bias
    return expected, expected * exp(max(min(strayed, 1.5), -3.0))


def _heavy_tailed(draw: random.Random) -> float:
    """Draw from Student's t with five degrees of freedom."""
    chi_square = sum(draw.gauss(0, 1) ** 2 for _ in range(5))
    return draw.gauss(0, 1) / (chi_square / 5) ** 0.5


def said_of(shelf: Shelf, true_base: float, draw: random.Random) -> str:
    """Say an amount as counters do: wholes and the rest, or tenths of the large one."""
    small_base = float(shelf.converter.unit_base(shelf.small))
    if draw.random() < 0.3:
        tenths = round(10 * true_base / shelf.large_base)
        return f"{tenths / 10:g} {shelf.large}" if tenths else "none"
    whole = floor(true_base / shelf.large_base)
    rest = round((true_base - whole * shelf.large_base) / small_base)
    if draw.random() < 0.3:  # all in the small unit
        whole, rest = 0, round(true_base / small_base)
    parts = [(whole, shelf.large), (rest, shelf.small)]
    said = " + ".join(f"{number} {word}" for number, word in parts if number)
    return said or "none"
