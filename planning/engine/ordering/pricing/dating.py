"""The cheapest way to buy what goes out of date, by way of two quick questions.

The first question is too easy: what is bought counts only as far as it can be used
before it goes out of date, or stand there as safety or par; but what stands there as
safety never has to be replaced. Its answer is a bound, and mostly can be carried out
as it is. Where not, the second question is too strict: nothing that will be thrown
away counts as safety. What still has no certain answer is worked out day by day.
(A relaxation, a restriction, and the exact dynamic programme, which is cut short where
it has too many states.)

The cheapest way to buy what goes out of date.

A state is the shelf at the end of a day, by class of use-by, with what it has cost.
From day to day every state is carried on with every option; a state that has no less
of any freshness than another and has cost no more beats it. (Label-setting dynamic
programming with dominance; cut short it is a beam search that still knows a bound.)
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering import kernels
from planning.engine.ordering.kernels.columns import CostToGo, Guide, Prices
from planning.engine.ordering.pricing.keeping import KeepingStock, all_helped
from planning.engine.ordering.pricing.tasks import Choice, PricedChoice, Task
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD
from planning.engine.shelves.supplies import NEVER


class PerishingStock:
    """Prices any task, day by day.

    Beyond `most_states` only the most promising states go on; the bound is then what
    the others promised.
    """

    def __init__(self, task: Task, most_states: int) -> None:
        self._task = task
        self._most_states = most_states
        self._most_useful = _most_useful_after(task)

    def cheapest(self, prices: Prices, guide: Guide | None = None) -> PricedChoice:
        """Return the cheapest choice; the prices have a row an offer."""
        value, bound, way = kernels.walk(
            self._task.columns,
            self._task.offer_columns,
            prices,
            guide or _knowing_nothing(self._task),
            self._most_states,
            self._most_useful,
        )
        if value == np.inf:
            return PricedChoice(None, np.inf, bound)
        return PricedChoice(tuple(way.tolist()), value, min(value, bound))


def _knowing_nothing(task: Task) -> Guide:
    to_go = CostToGo(1.0, np.zeros((len(task.offers) + 1, 1)))
    return Guide(to_go, np.zeros(task.days), np.zeros(task.days), np.inf)


def _most_useful_after(task: Task) -> FloatColumn:
    """Return the most stock that can be of use after each day."""
    still_used = task.used_base.sum() - np.cumsum(task.used_base)
    floor = np.maximum.accumulate(np.maximum(task.least_closing_base, 0.0)[::-1])[::-1]
    ahead = MOST_DAYS_AHEAD * task.daily_base
    floor = np.maximum(floor, task.par_base)
    return np.asarray(still_used + floor + ahead + task.most_owed_base.max())


# States that go on from a delivery: in each round, in a closer look, in the last one.
MOST_STATES = 300
MANY_MORE_STATES = 4_000
STILL_MORE_STATES = 30_000
SAME_MONEY = 1e-7


class DatedStock:
    """Prices a task whose goods go out of date."""

    def __init__(self, task: Task, net_cost: Callable[[Choice], float]) -> None:
        self._task, self._net_cost = task, net_cost
        undated = without_dates(task)
        easy, strict = caps_base(task, undated)
        self._easy = KeepingStock(undated, easy)
        self._strict = KeepingStock(undated, strict)
        options = sum(len(offer.cost) for offer in task.offers)
        many_more = min(MANY_MORE_STATES, 5_000_000 // max(1, options))
        still_more = min(STILL_MORE_STATES, 20_000_000 // max(1, options))
        self._by_day = PerishingStock(task, MOST_STATES)
        self._thoroughly = PerishingStock(task, max(MOST_STATES, many_more))
        self._most_thoroughly = PerishingStock(task, max(MOST_STATES, still_more))
        self._bought_base = _bought_less_shelf_base(undated)

    def cheapest(self, prices: Prices, *, most_value: float = np.inf) -> PricedChoice:
        """Return a cheap choice and a bound; the prices have a row an offer.

        Some choice is known to be no dearer than `most_value`.
        """
        to_go = self._easy.reader.read(prices)
        easy = self._easy.cheapest(prices, to_go, most_value=most_value)
        if easy.choice is None:
            return easy
        value = self._value(easy.choice, prices)
        if value <= easy.bound + SAME_MONEY:
            return PricedChoice(easy.choice, value, min(value, easy.bound))
        best = PricedChoice(easy.choice, value, easy.bound)
        most_value = min(most_value, value)
        strict = self._strict.cheapest(prices, to_go, most_value=most_value)
        if strict.choice is not None:
            value = self._value(strict.choice, prices)
            if value < best.value:
                best = PricedChoice(strict.choice, value, easy.bound)
        best = self._day_by_day(best, self._by_day, to_go, prices)
        if best.value == np.inf:
            bound, best = best.bound, self._trimmed(prices)
            best = PricedChoice(best.choice, best.value, bound)
        return PricedChoice(best.choice, best.value, min(best.bound, best.value))

    def closer(
        self, found: PricedChoice, prices: Prices, *, is_longest: bool
    ) -> PricedChoice:
        """Return what a longer look makes of a choice found at the same prices."""
        stock = self._most_thoroughly if is_longest else self._thoroughly
        to_go = self._easy.reader.read(prices)
        best = self._day_by_day(found, stock, to_go, prices)
        return PricedChoice(best.choice, best.value, min(best.bound, best.value))

    def _day_by_day(
        self, best: PricedChoice, stock: PerishingStock, to_go: CostToGo, prices: Prices
    ) -> PricedChoice:
        """Return the better of a choice and one worked out day by day, with a bound."""
        guide = Guide(to_go, *self._bought_base, most_value=best.value)
        found = stock.cheapest(prices, guide)
        bound = max(best.bound, min(found.bound, best.value))
        if found.choice is not None and found.value < best.value:
            best = found
        return PricedChoice(best.choice, best.value, bound)

    def _trimmed(self, prices: Prices) -> PricedChoice:
        """Return the most of every offer, less what is not needed, the last first."""
        offers = self._task.offers
        choice = [
            0 if closed else int(np.argmax(offer.amount_base))
            for offer, closed in zip(offers, prices.is_closed, strict=True)
        ]
        if self._net_cost(tuple(choice)) == np.inf:
            return PricedChoice(None, np.inf, -np.inf)
        for place in range(len(offers) - 1, -1, -1):
            low, high = 0, choice[place]
            while low < high:
                choice[place] = (low + high) // 2
                if self._net_cost(tuple(choice)) == np.inf:
                    low = choice[place] + 1
                else:
                    high = choice[place]
            choice[place] = low
        trimmed = tuple(choice)
        return PricedChoice(trimmed, self._value(trimmed, prices), -np.inf)

    def _value(self, choice: Choice, prices: Prices) -> float:
        value = self._net_cost(choice)
        for place, (offer, option) in enumerate(
            zip(self._task.offers, choice, strict=True)
        ):
            if option or offer.is_used[0]:
                value += float((prices.rate[place] - 1) * offer.cost[option])
                value += float(prices.charge[place] * offer.is_used[option])
        return value


def without_dates(task: Task) -> Task:
    """Return a task in which nothing that is bought goes out of date."""
    use_by = np.union1d(task.use_by, [NEVER])
    place = np.searchsorted(use_by, task.use_by)
    same_day, next_day = (np.zeros((task.days, len(use_by))) for _ in range(2))
    opening = np.zeros(len(use_by))
    same_day[:, place] = task.same_day_base
    next_day[:, place] = task.next_day_base
    opening[place] = task.opening_base
    last = len(use_by) - 1
    return replace(
        task,
        use_by=use_by,
        opening_base=opening,
        same_day_base=same_day,
        next_day_base=next_day,
        offers=tuple(replace(offer, stock_class=last) for offer in task.offers),
    )


def _bought_less_shelf_base(undated: Task) -> tuple[FloatColumn, FloatColumn]:
    """Return by day what the shelf says of how much was bought: before use, after it.

    What is on the shelf less these figures is what has been bought and not yet wasted.
    """
    brought = np.zeros(undated.days)
    for offer in undated.offers:
        brought[offer.arrives] += float(offer.amount_base.max())
    after = all_helped(undated).closing_base - np.cumsum(brought)
    before = after + undated.used_base - undated.next_day_base.sum(axis=1)
    return before, after


def caps_base(task: Task, undated: Task) -> tuple[FloatColumn, FloatColumn]:
    """Return how much of all bought up to each offer can be of use: easily, strictly.

    What is used of goods is counted as if stock that was there before went first; the
    easy caps add stock that could wait for later.
    """
    used = np.cumsum(all_helped(undated).last_used_base)
    last = task.days - 1
    easy, strict = np.zeros(len(task.offers)), np.zeros(len(task.offers))
    floor = np.maximum(task.least_closing_base + task.most_owed_base, 0.0)
    for place, offer in enumerate(task.offers):
        use_by = int(task.use_by[offer.stock_class])
        stop = min(use_by, last)
        can_wait = _outlasting_base(task, offer.stock_class, stop)
        level = float(floor[offer.arrives : stop + 1].max(initial=0.0))
        ahead = 0.0
        if use_by >= last:
            level = max(level, task.par_base + float(task.most_owed_base[-1]))
            ahead = min(MOST_DAYS_AHEAD, use_by - last) * task.daily_base
        easy[place] = used[stop] + can_wait + level + ahead
        strict[place] = used[stop] + (level + ahead if use_by >= last else 0.0)
    return np.maximum.accumulate(easy), np.maximum.accumulate(strict)


def _outlasting_base(task: Task, stock_class: int, day: int) -> float:
    """Return what is there by a day, unbought, and keeps longer than a class."""
    comes = task.opening_base + task.same_day_base[: day + 1].sum(axis=0)
    comes = comes + task.next_day_base[: day + 1].sum(axis=0)
    return float(comes[stock_class + 1 :].sum())
