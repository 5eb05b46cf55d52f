"""The cheapest packs that are enough, chosen among what each delivery can bring.

What one delivery brings is an option: so many packs of each kind, their amount and
what they cost. Costs need not rise with the packs: from a price break on more can cost
less, and beside what is suggested already they can even cost less than nothing.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

Choice = tuple[int, ...]  # the place of an option, one for each delivery

# So many are tried one by one; beyond that each delivery is taken down by itself.
MOST_COMBINATIONS = 200
SAME_AMOUNT_BASE = 1e-9


@dataclass(frozen=True, slots=True)
class Option:
    """Packs that one delivery can bring."""

    packs: tuple[int, ...]  # one number for each kind
    amount_base: float
    cost: Decimal


NOTHING_BOUGHT = Option((), 0.0, Decimal(0))


def options_of(kinds: Sequence[Sequence[Option]]) -> list[Option]:
    """Return what a delivery can bring of some kinds of packs, the least amount first.

    `kinds` has the numbers in which each kind can be taken, as options of one kind, 0
    first. What another option beats in cost and amount is left out, so that costs rise
    with the amounts; of equals the first stays.
    """
    found = [NOTHING_BOUGHT]
    for numbers in kinds:
        found = _unbeaten(
            Option(
                (*before.packs, *more.packs),
                before.amount_base + more.amount_base,
                before.cost + more.cost,
            )
            for before in found
            for more in numbers
        )
    return found


def _unbeaten(options: Iterable[Option]) -> list[Option]:
    """Return the options that no other beats, by amount and then by cost."""
    found: list[Option] = []
    for option in sorted(options, key=_rank):
        last = found[-1] if found else None
        if last is None or _is_better(option, last):
            found.append(option)
    return found[::-1]


def _rank(option: Option) -> tuple[float, Decimal, tuple[int, ...]]:
    """Return what options are sorted by: the most first, then the cheapest.

    Of equals the one with more of the kinds that come first.
    """
    return -option.amount_base, option.cost, tuple(-count for count in option.packs)


def _is_better(option: Option, larger: Option) -> bool:
    """Whether an option is less than a larger one, and does not cost more."""
    is_less = larger.amount_base - option.amount_base > SAME_AMOUNT_BASE
    return is_less and option.cost <= larger.cost


def least_choice(
    deliveries: Sequence[Sequence[Option]], is_enough: Callable[[Choice], bool]
) -> Choice:
    """Return the cheapest options that are enough, one for each delivery.

    Each delivery's amounts and costs rise; its last options together have to be enough,
    and more must never do less. Where there are very many combinations, what is
    returned has nothing that could be left out, though another may be cheaper.
    """
    most = tuple(len(options) - 1 for options in deliveries)
    heads = [range(len(options)) for options in deliveries[:-2]]
    if math.prod(len(numbers) for numbers in heads) > MOST_COMBINATIONS:
        return _one_by_one(most, is_enough)
    best, best_cost = most, _cost(deliveries, most)
    for head in itertools.product(*heads):
        for choice in _walk(deliveries, head, is_enough):
            cost = _cost(deliveries, choice)
            if cost < best_cost:
                best, best_cost = choice, cost
    return _one_by_one(best, is_enough)


def _walk(
    deliveries: Sequence[Sequence[Option]],
    head: Choice,
    is_enough: Callable[[Choice], bool],
) -> Iterator[Choice]:
    """Yield choices that begin with `head` and are just enough.

    The more the last but one delivery brings, the less the last one has to.
    """
    *before, last = deliveries[len(head) :]
    high = len(last) - 1
    for place in range(len(before[0]) if before else 1):
        first = (*head, place) if before else head
        if not is_enough((*first, high)):
            continue
        high = _fewest(first, high, is_enough)
        yield (*first, high)


def _fewest(first: Choice, high: int, is_enough: Callable[[Choice], bool]) -> int:
    """Return the lowest place of the last option that is enough, up to one that is."""
    low = 0
    while low < high:
        middle = (low + high) // 2
        if is_enough((*first, middle)):
            high = middle
        else:
            low = middle + 1
    return high


def _one_by_one(choice: Choice, is_enough: Callable[[Choice], bool]) -> Choice:
    """Return a choice with each delivery by itself taken down as far as is enough."""
    for place in range(len(choice)):
        before, after = choice[:place], choice[place + 1 :]

        def is_enough_with(
            mine: Choice, before: Choice = before, after: Choice = after
        ) -> bool:
            return is_enough((*before, *mine, *after))

        choice = (*before, _fewest((), choice[place], is_enough_with), *after)
    return choice


def _cost(deliveries: Sequence[Sequence[Option]], choice: Choice) -> Decimal:
    return sum(
        (
            options[place].cost
            for options, place in zip(deliveries, choice, strict=True)
        ),
        Decimal(0),
    )
