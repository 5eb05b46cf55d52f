"""How many slips the catcher asks about, and how many honest entries.

Run: python -m tests.benchmarks.bench_slips [--entries 20000] [--seed 4]

Simulates counts of a small bakery: every item has a spread of its own that the catcher
must learn from its past counts; honest entries stray with heavy tails, now and then a
whole pack is gone unrecorded. Three in a hundred entries get a slip. Exit code 1 where
fewer than 90 % of pack slips are caught or more than 3 % of honest entries questioned.
"""

import argparse
import random
import sys
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from math import exp, floor

from stock.measures.compiling import compile_converter, read_item_measures
from stock.measures.conversion import Converter
from stock.measures.packs import PackWord
from stock.measures.slips import Record, Slip, question, spread_from
from stock.measures.spoken import read_spoken

LEAST_CAUGHT, MOST_QUESTIONED = 0.90, 0.03
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
    """One simulated item: how it is counted, and how it strays."""

    converter: Converter
    large: str
    small: str
    usual_large: float
    spread: float
    bias: float


@dataclass(frozen=True)
class Tally:
    """Of how many entries of each kind something was asked, or the right thing."""

    entries: Counter[str]
    asked: Counter[str]
    right: Counter[str]

    def share(self, kind: str) -> float:
        return self.asked[kind] / max(self.entries[kind], 1)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=4)
    wanted = parser.parse_args()
    return 0 if report(simulate(wanted.entries, wanted.seed)) else 1


def report(tally: Tally) -> bool:
    """Print what was asked; return whether it is caught and left alone enough."""
    for kind in sorted(tally.entries):
        print(
            f"{kind:<8}{tally.entries[kind]:7,} entries  asked {tally.share(kind):6.1%}"
            f"  with the right reading {tally.right[kind] / tally.entries[kind]:6.1%}"
        )
    caught, questioned = tally.share("pack"), tally.share("honest")
    print(
        f"pack slips caught {caught:.1%} (at least {LEAST_CAUGHT:.0%}), "
        f"honest entries questioned {questioned:.2%} (at most {MOST_QUESTIONED:.0%})"
    )
    return caught >= LEAST_CAUGHT and questioned <= MOST_QUESTIONED


def simulate(entries: int, seed: int) -> Tally:
    """Count so many lines, some with a slip, and return what was asked."""
    draw = random.Random(seed)
    tally = Tally(Counter(), Counter(), Counter())
    shelves = [_shelf(draw) for _ in range(100)]
    known = [_past(shelf, draw) for shelf in shelves]
    for number in range(entries):
        shelf, past = shelves[number % 100], known[number % 100]
        expected, true_base = _draw_count(shelf, draw)
        honest = _said(shelf, true_base, draw)
        kind, said = ("honest", honest)
        if draw.random() < SLIP_SHARE:
            kind, said = _slipped(shelf, honest, draw)
        spoken = read_spoken(said, shelf.converter)
        assert spoken is not None
        record = Record(expected, _usual_base(shelf), spread_from(past))
        asked = question(spoken, record, shelf.converter)
        tally.entries[kind] += 1
        tally.asked[kind] += asked is not None
        tally.right[kind] += _is_right(asked, honest, shelf)
    return tally


def _shelf(draw: random.Random) -> Shelf:
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


def _usual_base(shelf: Shelf) -> float:
    return shelf.usual_large * float(shelf.converter.unit_base(shelf.large))


def _past(shelf: Shelf, draw: random.Random) -> list[tuple[float, float]]:
    pairs = []
    for _ in range(draw.randint(0, PAST_COUNTS)):
        expected, true_base = _draw_count(shelf, draw)
        if draw.random() < SLIP_SHARE:  # the past has slips in it too
            true_base *= draw.choice([36, 1 / 36])
        pairs.append((true_base, expected))
    return pairs


def _draw_count(shelf: Shelf, draw: random.Random) -> tuple[float, float]:
    """Return what the record says, and what is really there."""
    expected = _usual_base(shelf) * draw.uniform(0.15, 1.3)
    strayed = shelf.spread * _heavy_tailed(draw) + shelf.bias
    true_base = expected * exp(max(min(strayed, 1.5), -3.0))
    if draw.random() < 0.01:  # a whole one was used, or came, and nobody wrote it down
        whole = float(shelf.converter.unit_base(shelf.large))
        true_base = max(true_base + draw.choice([-whole, whole]), 0.0)
    return expected, true_base


def _heavy_tailed(draw: random.Random) -> float:
    """Draw from Student's t with five degrees of freedom."""
    chi_square = sum(draw.gauss(0, 1) ** 2 for _ in range(5))
    return draw.gauss(0, 1) / (chi_square / 5) ** 0.5


def _said(shelf: Shelf, true_base: float, draw: random.Random) -> str:
    """Say an amount as counters do: wholes and the rest, or tenths of the large one."""
    large_base = float(shelf.converter.unit_base(shelf.large))
    small_base = float(shelf.converter.unit_base(shelf.small))
    if draw.random() < 0.3:
        tenths = round(10 * true_base / large_base)
        return f"{tenths / 10:g} {shelf.large}" if tenths else "none"
    whole = floor(true_base / large_base)
    rest = round((true_base - whole * large_base) / small_base)
    if draw.random() < 0.3:  # all in the small unit
        whole, rest = 0, round(true_base / small_base)
    parts = [(whole, shelf.large), (rest, shelf.small)]
    said = " + ".join(f"{number} {word}" for number, word in parts if number)
    return said or "none"


def _slipped(shelf: Shelf, honest: str, draw: random.Random) -> tuple[str, str]:
    """Return the kind of slip and the entry with it; honest where none is possible."""
    if honest == "none":
        return "honest", honest
    kind = draw.choice(["pack", "pack", "digits"])
    slips = _packs(shelf, honest) if kind == "pack" else _swaps(honest)
    different = [said for said in slips if said != honest]
    return (kind, draw.choice(different)) if different else ("honest", honest)


def _packs(shelf: Shelf, honest: str) -> list[str]:
    """The largest part in the wrong word: cases as each, pounds as bags."""
    words = {shelf.large, shelf.small}
    if shelf.small == "oz" or shelf.large == "lb":
        words |= {"lb", "oz"}
    parts = honest.split(" + ")
    largest = max(range(len(parts)), key=lambda at: _base(shelf, parts[at]))
    number, word = parts[largest].split(" ", 1)
    return [
        " + ".join([*parts[:largest], f"{number} {other}", *parts[largest + 1 :]])
        for other in sorted(words - {word})
        if shelf.converter.unit_base(other) != shelf.converter.unit_base(word)
    ]


def _swaps(honest: str) -> list[str]:
    number, rest = honest.split(" ", 1)
    if len(number) < 2 or "." in number:
        return []
    return [f"{number[1]}{number[0]}{number[2:]} {rest}"]


def _base(shelf: Shelf, said: str) -> Fraction:
    spoken = read_spoken(said, shelf.converter)
    assert spoken is not None
    return spoken.amount_base


def _is_right(asked: Slip | None, honest: str, shelf: Shelf) -> bool:
    if asked is None or asked.instead is None:
        return False
    return asked.instead.amount_base == _base(shelf, honest)


if __name__ == "__main__":
    sys.exit(main())
