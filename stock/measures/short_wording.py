"""An amount as a person would say it, rounded: `1 case + 10 3/4 lb`.

One word of the item's packs or own comes first, then one term in the largest familiar
unit; without such a word there may be two terms, as in `3 lb 7 oz`. No number is
above what the next unit up holds. Every step is nearer to the amount or fussier than
the one before; the first that is near enough is said. What is below a quarter ounce
is grams whatever the item is spoken of in: that is what a small scale shows.

A page says thousands of amounts, so this reckons in whole grains instead of fractions:
a grain is the share of the base unit of which the ledger's step, every unit of the
ladder and every word of the item is a whole number.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

from stock.measures.conversion import Converter
from stock.measures.item_units import OwnWord
from stock.measures.reading.sayings import (
    MOST_PACKS,
    System,
    counting_words,
    not_negative,
    said_words,
    shortest_metric,
    shortest_of,
    speaks_in_dozens,
    system_of,
)
from stock.measures.resolution import LEDGER_STEP, LEDGER_STEPS_PER_BASE, Amount
from stock.measures.units import UNITS, Measure


@dataclass(frozen=True, slots=True)
class Step:
    """A familiar unit, the fractions that people say of it, and how far it is used.

    `parts` are denominators from one unit on, `parts_of_one` below it.
    """

    word: str
    unit_base: Fraction
    parts: tuple[int, ...]
    parts_of_one: tuple[int, ...] = (1,)
    most: int = 10**9  # of this unit alone; more is said in a larger one
    pairs_with: str = ""  # the unit that a rest is said in: 3 lb 7 oz


def _step(
    word: str,
    parts: tuple[int, ...],
    parts_of_one: tuple[int, ...] = (1,),
    *,
    most: int = 10**9,
    pairs_with: str = "",
) -> Step:
    unit_base = UNITS[word].per_unit_base
    return Step(word, unit_base, parts, parts_of_one, most, pairs_with)


# Largest first. Which fractions are familiar, and what goes together, is our choice.
LADDERS = {
    Measure.MASS: (
        _step("lb", (1, 2, 4), (1, 2), pairs_with="oz"),
        _step("oz", (1, 2, 4), (1, 2, 4, 8), most=16),
    ),
    Measure.VOLUME: (
        _step("gallon", (1, 2), pairs_with="quart"),
        _step("quart", (1, 2), most=4, pairs_with="cup"),
        _step("cup", (1, 2, 3, 4), (1, 2, 3, 4), most=8, pairs_with="tbsp"),
        _step("tbsp", (1, 2), most=16, pairs_with="tsp"),
        _step("tsp", (1, 2, 4), (1, 2, 4, 8), most=3),
    ),
    Measure.COUNT: (
        _step("dozen", (1, 2), pairs_with="each"),
        _step("each", (1, 2, 4), (1, 2, 4), most=12),
    ),
}
# Beside packs: 1 case + 2 dozen, but 1 case + 19 each, as somebody would count them.
LOOSE_PIECES = (_step("dozen", (1, 2)), _step("each", (1, 2, 4), (1, 2, 4)))
ONE_BY_ONE = _step("each", (1, 2, 4), (1, 2, 4))
LADDER_GRAINS_PER_BASE = {
    measure: lcm(
        LEDGER_STEPS_PER_BASE, *(step.unit_base.denominator for step in ladder)
    )
    for measure, ladder in LADDERS.items()
}

# How far off the whole a saying may be, as one part in so many, our choice: at first;
# where only a second term comes nearer, unless pieces are counted; where only a fussy
# one does; and where it has to say "about", of what is counted less than of the rest.
NEAR = 200
EVEN = 100
NEAR_ENOUGH = 50
ABOUT = 20
ABOUT_AT_MOST = 10

# Below a quarter ounce no scale in ounces is read: 0.0075 oz of salt is 0.2 g. Below
# half a teaspoon only fractions that spoons come in are said.
LEAST_CUSTOMARY_BASE = {
    Measure.MASS: UNITS["oz"].per_unit_base / 4,
    Measure.VOLUME: UNITS["tsp"].per_unit_base / 2,
}


@dataclass(frozen=True, slots=True)
class _Saying:
    """Some terms, and how many grains short of the amount they are, times `bottom`."""

    terms: tuple[tuple[int, int, str], ...]  # top / bottom of a word
    short: int
    bottom: int = 1

    def is_within(self, one_in: int, whole: int) -> bool:
        return abs(self.short) * one_in <= whole * self.bottom

    def is_to_the_piece(self, piece: int) -> bool:
        """Whether no whole piece is left out: 247 eggs are no 20 1/2 dozen."""
        return 2 * abs(self.short) <= piece * self.bottom


@dataclass(frozen=True, slots=True)
class _Scale:
    """How many grains there are in one base unit."""

    per_base: int

    def grains(self, amount_base: Fraction) -> int:
        top, bottom = amount_base.as_integer_ratio()
        return top * (self.per_base // bottom)


def say_short(
    amount_base: Amount,
    converter: Converter,
    *,
    prefer: System | None = None,
    in_packs: bool = True,
) -> str:
    """Return the amount in at most two terms, for display: `2 cases + 6 lb`.

    It is rounded; from two percent on it says so: `about 3 tbsp`. Unless told
    otherwise it speaks as `system_of` says of the item, all through, but for what is
    too little for any familiar fraction: that is grams or milliliters. Without packs
    it says what is in them: `78 lb`.
    """
    target_base = not_negative(amount_base)
    if not target_base:
        return f"0 {converter.base_unit}"
    words = counting_words(converter) if in_packs else []
    scale = _scale(converter.measure, words)
    target = scale.grains(target_base)
    is_count = converter.measure is Measure.COUNT
    even = NEAR if is_count else EVEN
    packs = _whole_packs(target, even, words, scale)
    if packs.terms and packs.is_within(even, target):
        return _joined(packs)
    ladder = _ladder(converter, prefer)
    if packs.terms and len(ladder) > 1 and is_count:
        ladder = LOOSE_PIECES
    is_weighed = converter.measure is Measure.MASS
    if is_weighed and target_base < LEAST_CUSTOMARY_BASE[Measure.MASS]:
        ladder = ()
    ways = _Ways(packs.short, ladder, scale, is_count)
    for sayings, one_in in ways.plainest_first(even, may_pair=not packs.terms):
        for saying in sayings:
            if saying.is_within(one_in, target):
                is_near = saying.is_within(NEAR_ENOUGH, target)
                return f"{'' if is_near else 'about '}{_joined(packs, saying)}"
    rest_base = Fraction(packs.short, scale.per_base)
    rest = _in_decimals(rest_base, converter.measure, ladder, target_base)
    return _beside(packs, rest) if packs.terms else rest


def _beside(packs: _Saying, rest: str) -> str:
    """Return packs and the rest; where the rest is about so much, the whole is."""
    about = "about " if rest.startswith("about ") else ""
    return f"{about}{_joined(packs)} + {rest.removeprefix('about ')}"


def say_exactly(amount_base: Amount, converter: Converter) -> str:
    """Return an amount without packs and unrounded; blank where no words are familiar.

    For figures that have to add up with others: `say_short` says 45 3/4 lb as 46 lb.
    """
    target_base = not_negative(amount_base)
    ladder = _ladder(converter, None)
    if not ladder:
        allowed = LEDGER_STEP / 2
        return shortest_metric(target_base, converter.measure, off_base_allowed=allowed)
    scale = _scale(converter.measure, ())
    is_count = converter.measure is Measure.COUNT
    ways = _Ways(scale.grains(target_base), ladder, scale, is_count)
    step = scale.grains(LEDGER_STEP)
    for sayings, _ in ways.plainest_first(NEAR, may_pair=True):
        for saying in sayings:
            if 2 * abs(saying.short) <= step * saying.bottom:
                return _joined(saying)
    return ""


def _in_decimals(
    rest_base: Fraction,
    measure: Measure,
    ladder: tuple[Step, ...],
    target_base: Fraction,
) -> str:
    """Return what no familiar fraction is near, in the item's own kind of units.

    Very small weights and drops are metric, to the first decimal that a scale shows.
    """
    is_tiny = target_base < LEAST_CUSTOMARY_BASE.get(measure, 0)
    if ladder and not is_tiny:
        least = ladder[-1]
        off = target_base / (NEAR if measure is Measure.COUNT else NEAR_ENOUGH)
        return shortest_of(rest_base, least.word, least.unit_base, off_base_allowed=off)

    def within(one_in: int) -> str:
        allowed = target_base / one_in
        return shortest_metric(rest_base, measure, off_base_allowed=allowed)

    if not is_tiny:
        return within(NEAR)
    near = within(NEAR_ENOUGH)
    rough = within(ABOUT_AT_MOST)
    return near if _decimals(near) <= 1 or near == rough else f"about {rough}"


def _decimals(words: str) -> int:
    """Return how many decimals the number of one term has: 2 of `0.21 g`."""
    return len(words.partition(" ")[0].partition(".")[2])


def _scale(measure: Measure, words: Iterable[OwnWord]) -> _Scale:
    denominators = (own.holds_base.denominator for own in words)
    return _Scale(lcm(LADDER_GRAINS_PER_BASE[measure], *denominators))


def _joined(*sayings: _Saying) -> str:
    """Return the sayings as one: `3 lb 7 oz`, with a plus only behind packs."""
    return " + ".join(
        " ".join(
            said_words(Fraction(top, bottom), word)
            for top, bottom, word in saying.terms
        )
        for saying in sayings
        if saying.terms
    )


def _whole_packs(
    target: int, even: int, words: Iterable[OwnWord], scale: _Scale
) -> _Saying:
    """Take the largest word that people count in, as often as it goes in whole.

    A pack comes whether or not something is left over beside it; a word of the
    item's own only where it comes out even.
    """
    for own in words:
        holds = scale.grains(own.holds_base)
        whole = (target * even + target) // (holds * even)
        if own.is_spare or not 1 <= whole <= MOST_PACKS:
            continue
        saying = _Saying(((whole, 1, own.word),), target - whole * holds)
        if own.is_pack or saying.is_within(even, target):
            return saying
    return _Saying((), target)


def _ladder(converter: Converter, prefer: System | None) -> tuple[Step, ...]:
    if converter.measure is Measure.COUNT:
        if speaks_in_dozens(converter):
            return LADDERS[Measure.COUNT]
        for own in converter.own_words:
            if own.holds_base == 1:  # a ribbon's yard is what the ledger calls each
                return (replace(ONE_BY_ONE, word=own.word),)
        return (ONE_BY_ONE,)
    system = prefer or system_of(converter)
    return LADDERS[converter.measure] if system is System.CUSTOMARY else ()


@dataclass(frozen=True, slots=True)
class _Ways:
    """The ways to say an amount, in grains, in the units of a ladder."""

    amount: int
    ladder: tuple[Step, ...]
    scale: _Scale
    counts: bool

    def plainest_first(
        self, even: int, *, may_pair: bool
    ) -> Iterator[tuple[Iterable[_Saying], int]]:
        """Yield sayings, each with one part in how many of the whole it may be off."""
        alone = tuple(self._in_one_term())
        if self.counts and len(self.ladder) > 1:
            piece = self.scale.per_base
            alone = tuple(each for each in alone if each.is_to_the_piece(piece))
        yield alone, NEAR
        yield alone, even
        whole = tuple(self._in_two_terms(1)) if may_pair else ()
        yield whole, NEAR
        yield alone + whole, NEAR_ENOUGH
        halves = tuple(self._in_two_terms(2)) if may_pair else ()
        yield whole + halves, NEAR_ENOUGH
        yield alone + whole + halves, ABOUT
        if not self.counts:
            yield alone + whole + halves, ABOUT_AT_MOST

    def _in_one_term(self) -> Iterator[_Saying]:
        for step in self.ladder:
            unit = self.scale.grains(step.unit_base)
            for bottom in step.parts if self.amount >= unit else step.parts_of_one:
                top = _nearest(self.amount * bottom, unit)
                if 0 < top < step.most * bottom:
                    short = self.amount * bottom - top * unit
                    yield _Saying(((top, bottom, step.word),), short, bottom)

    def _in_two_terms(self, bottom: int) -> Iterator[_Saying]:
        """Yield a whole number of one unit and a rest that is no fraction of it."""
        for step in self.ladder:
            unit = self.scale.grains(step.unit_base)
            whole = self.amount // unit
            if not step.pairs_with or not 1 <= whole < step.most:
                continue
            rest_unit = self.scale.grains(UNITS[step.pairs_with].per_unit_base)
            rest = (self.amount - whole * unit) * bottom
            top = _nearest(rest, rest_unit)
            said = top * rest_unit
            if all(said * familiar % (unit * bottom) for familiar in step.parts):
                terms = ((whole, 1, step.word), (top, bottom, step.pairs_with))
                yield _Saying(terms, rest - said, bottom)


def _nearest(top: int, bottom: int) -> int:
    """Return the whole number nearest to a fraction; of two, the even one."""
    whole, rest = divmod(top, bottom)
    return whole + (2 * rest > bottom or (2 * rest == bottom and whole % 2))
