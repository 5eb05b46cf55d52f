"""Two amounts and how far they are apart, in words that add up as they are said.

Each is said as everywhere else as far as that adds up: `1 case`, `2 cases`, `1 case`.
Where rounding would make the difference another one, the two are rounded to finer and
finer steps of the item's own units, never to what only the ledger can tell.
"""

from collections.abc import Iterator
from fractions import Fraction

from stock.measures.conversion import Converter
from stock.measures.reading.sayings import System, system_in, system_of
from stock.measures.resolution import Amount, round_half_up
from stock.measures.units import UNITS, Measure
from stock.measures.wording import say, say_short

# What figures are rounded to where short words do not add up, coarsest first.
STEPS = {
    (Measure.MASS, System.CUSTOMARY): (("lb", 1), ("oz", 1), ("oz", 4), ("oz", 8)),
    (Measure.MASS, System.METRIC): (("kg", 1), ("kg", 10), ("g", 1), ("g", 10)),
    (Measure.VOLUME, System.CUSTOMARY): (
        *(("quart", 1), ("cup", 1), ("cup", 4), ("tbsp", 2), ("tsp", 1), ("tsp", 8)),
    ),
    (Measure.VOLUME, System.METRIC): (("L", 1), ("L", 10), ("mL", 1), ("mL", 10)),
}
COUNT_STEPS = (("each", 1), ("each", 4))
ABOUT = "about "
# As far off may a figure be, and their difference, in a hundred. Our choice.
FIGURE_OFF = Fraction(10, 100)
DIFFERENCE_OFF = Fraction(2, 100)

NONE = "none"
Pair = tuple[Fraction, Fraction]


def say_compared(
    one_base: Amount, other_base: Amount, converter: Converter
) -> tuple[str, str, str]:
    """Return two amounts and the size of their difference, in words that add up.

    Below nothing an amount is said as one above it. Where nothing familiar adds up,
    the difference is said as about so much.
    """
    exact = (Fraction(one_base), Fraction(other_base))
    for shown, one, other in _ways(exact, converter):
        if apart := _difference(shown, exact, converter):
            return one, other, apart
    short = [_short(each, converter) for each in (*exact, exact[0] - exact[1])]
    return short[0], short[1], f"{ABOUT}{short[2].removeprefix(ABOUT)}"


def _ways(exact: Pair, converter: Converter) -> Iterator[tuple[Pair, str, str]]:
    """Yield what two amounts are shown as, in base units and in words, best first."""
    one, other = (_short(each, converter) for each in exact)
    shown = _come_to(exact[0], one, converter), _come_to(exact[1], other, converter)
    yield shown, one, other
    for step_base in _steps_base(converter):
        first, second = (step_base * round_half_up(x / step_base, 0) for x in exact)
        said = [
            _rounded(was, now, converter)
            for was, now in zip(exact, (first, second), strict=True)
        ]
        if said[0] and said[1]:
            yield (first, second), said[0], said[1]


def _difference(shown: Pair, exact: Pair, converter: Converter) -> str | None:
    """Return the words of the difference as shown; None where it is another one."""
    shown_base, exact_base = shown[0] - shown[1], exact[0] - exact[1]
    if abs(shown_base - exact_base) > DIFFERENCE_OFF * abs(exact_base):
        return None
    short = _short(shown_base, converter)
    if _come_to(shown_base, short, converter) == shown_base:
        return short.removeprefix(ABOUT)
    return _exactly(shown_base, converter)


def _rounded(exact_base: Fraction, base: Fraction, converter: Converter) -> str | None:
    """Return the words of a rounded amount; None where it is too far off."""
    off_base, size_base = abs(base - exact_base), abs(exact_base)
    words = _exactly(base, converter)
    if words is None or off_base > FIGURE_OFF * size_base:
        return None
    return words if off_base <= DIFFERENCE_OFF * size_base else f"{ABOUT}{words}"


def _exactly(base: Fraction, converter: Converter) -> str | None:
    """Return words that are not rounded; None where the item's own units have none."""
    if not base:
        return NONE
    system = system_of(converter)
    words = say(abs(base), converter, prefer=system)
    return words if system_in(words) in (system, None) else None


def _short(base: Fraction, converter: Converter) -> str:
    return say_short(abs(base), converter) if base else NONE


def _come_to(base: Fraction, words: str, converter: Converter) -> Fraction:
    """Return what words come to as they stand, with the sign of what they are of."""
    if not base:
        return Fraction(0)
    size_base = converter.to_base(words.removeprefix(ABOUT))
    return size_base if base > 0 else -size_base


def _steps_base(converter: Converter) -> Iterator[Fraction]:
    steps = STEPS.get((converter.measure, system_of(converter)), COUNT_STEPS)
    return (UNITS[word].per_unit_base / parts for word, parts in steps)
