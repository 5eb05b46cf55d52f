"""Random quantities and sizes, spelled in all the ways people write them."""

from fractions import Fraction
from random import Random

VULGAR = {
    Fraction(1, 4): "¼",
    Fraction(1, 2): "½",
    Fraction(3, 4): "¾",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
    Fraction(1, 8): "⅛",
}
# unit: about how much of the base unit one is, to keep amounts of one order
OF_KIND = {
    "mass": {"g": 1, "kg": 1000, "lb": 454, "oz": 28},
    "volume": {
        "mL": 1,
        "L": 1000,
        "cup": 237,
        "pint": 473,
        "quart": 946,
        "fl oz": 30,
        "tbsp": 15,
        "tsp": 5,
    },
    "count": {"each": 1, "dozen": 12},
}
ROUNDS_IN = [6, 8, 9, 10, 12]


def number(rng: Random, about: float) -> str:
    """A number near `about`, never 0."""
    if about >= 20:
        return str(round(about))
    whole = int(about)
    part = rng.choice([*VULGAR, Fraction(0)])
    style = rng.choice(["decimal", "mixed", "vulgar"])
    if style == "decimal":
        return f"{max(about, 0.1):.{rng.choice([1, 2])}f}"
    if not part:
        return str(max(whole, 1))
    spelled = str(part) if style == "mixed" else VULGAR[part]
    if not whole:
        return spelled
    return f"{whole} {spelled}" if style == "mixed" else f"{whole}{spelled}"


def in_one_sign(text: str) -> str:
    """The text with ¾ for a 3/4 that no whole number stands before."""
    for part, sign in VULGAR.items():
        if text.startswith(f"{part} "):
            return text.replace(str(part), sign, 1)
    return text


def quantity(
    rng: Random, units: dict[str, float], about: float, *, terms: int = 2
) -> str:
    """A sum of one or more terms worth about so many base units."""
    count = rng.randint(1, terms)
    pieces = []
    for _ in range(count):
        fitting = [u for u, size in units.items() if 0.1 <= about / count / size <= 900]
        unit = rng.choice(fitting or list(units))
        amount = number(rng, max(about / count / units[unit], 0.1))
        plural = "s" if rng.random() < 0.3 and unit in {"cup", "quart", "lb"} else ""
        pieces.append(f"{amount} {unit}{plural}")
    return rng.choice([" + ", "+"]).join(pieces)


def size(rng: Random, *, tiers: int) -> str:
    return " + ".join(tier(rng) for _ in range(tiers))


def tier(rng: Random) -> str:
    layers = rng.randint(2, 4)
    shape = rng.choice(["round", "round", "square", "sheet"])
    if shape == "sheet":
        return rng.choice(
            [f"9 x 13 in sheet x {layers}", f"30 x 40 cm sheet x {layers}"]
        )
    across = rng.choice(ROUNDS_IN)
    if rng.random() < 0.3:
        return f"{across * 2.5:g} cm {shape} x {layers}"
    return f"{across} in {shape} x {layers}"
