"""The lines and deliveries of a whole programme: how many packs, and what they cost.

A line may bring more than is of any use: it can be what fills a delivery up to its
minimum order, or until it comes free.
"""

import math
from dataclasses import dataclass, field
from decimal import Decimal

from planning.engine.costing import cost_of_packs, line_cost, sellable
from planning.engine.kitchen import PackTerms
from planning.engine.ordering.compact_model.programmes import Entries, Programme
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import Problem, TruckTerms
from planning.engine.ordering.instance.usefulness import most_useful_base
from planning.engine.ordering.pricing.tasks import Offer, Task, follow
from stock.wording.money_words import CENT

# Beyond so many counts of a price in part-cents a cent's rounding is left open.
MOST_COUNTED = 40


@dataclass(frozen=True, slots=True)
class PriceLevel:
    """Counts of one line that have one price; none is between two multiples."""

    first: int
    last: int
    has_part_cents: bool


@dataclass(slots=True)
class OfferEntries:
    """What one offer is in a programme: its columns, and what each of them brings."""

    offer: Offer
    open_: Entries | None  # adds up to 1 when the delivery comes; None: it always does
    base: Entries = field(default_factory=list)  # what it brings
    goods: Entries = field(default_factory=list)  # what that costs


class WholeLines:
    """Adds the lines of a problem to a programme."""

    def __init__(self, problem: Problem, programme: Programme) -> None:
        self._problem, self._programme = problem, programme
        self._packs: dict[Cell, Entries] = {}
        self._open = [self._modes(terms) for terms in problem.terms]
        self._places: dict[tuple[int, int], list[int]] = {}
        for place, pack in enumerate(problem.kitchen.packs):
            self._places.setdefault((pack.node, pack.supplier), []).append(place)
        self.offers = [self._task(task) for task in problem.tasks]
        goods: list[Entries] = [[] for _ in problem.terms]
        for offers in self.offers:
            for columns in offers:
                goods[columns.offer.delivery] += columns.goods
        for terms, open_, there in zip(problem.terms, self._open, goods, strict=True):
            if open_ is not None:
                self._ask_goods(terms, open_, there)

    def counts(self, values: list[float]) -> dict[Cell, int]:
        """Return the packs of an answer."""
        found = {
            cell: round(sum(values[column] * packs for column, packs in entries))
            for cell, entries in self._packs.items()
        }
        return {cell: packs for cell, packs in found.items() if packs}

    def _modes(self, terms: TruckTerms) -> Entries | None:
        """Add how a delivery can come: with its fee, or free; None: it always does."""
        if not terms.is_shared:
            return None
        modes = [self._programme.column(terms.fee, 1.0, is_whole=True)]
        if terms.free_goods is not None:
            modes.append(self._programme.column(0.0, 1.0, is_whole=True))
            self._programme.row([(mode, 1.0) for mode in modes], upper=1.0)
        return [(mode, 1.0) for mode in modes]

    def _ask_goods(self, terms: TruckTerms, open_: Entries, goods: Entries) -> None:
        """Ask for goods enough to come, and to come free."""
        asked = [_in_cents(terms.minimum)]
        if terms.free_goods is not None:
            asked.append(_in_cents(terms.free_goods))
        modes = [
            (mode, -least)
            for (mode, _), least in zip(open_, asked, strict=True)
            if least > 0
        ]
        if modes:
            self._programme.row([*goods, *modes], lower=0.0)

    def _task(self, task: Task) -> list[OfferEntries]:
        none = follow(task, [0.0] * len(task.offers))
        found = []
        for offer in task.offers:
            truck = offer.delivery
            columns = OfferEntries(offer, self._open[truck])
            most_base = most_useful_base(task, offer, none)
            supplier = self._problem.trucks[truck].supplier
            for place in self._places.get((task.node, supplier), []):
                if (truck, place) in self._problem.fixed:
                    self._fixed(columns, place)
                elif (truck, place) in self._problem.decided:
                    self._decided(columns, place, most_base)
                else:
                    self._free(columns, place, most_base)
            found.append(columns)
        return found

    def _fixed(self, columns: OfferEntries, place: int) -> None:
        """Add a line that the buyer has decided on."""
        packs = dict(columns.offer.lines[0]).get(place, 0)
        if packs:
            column = self._single(columns, place, packs)
            self._programme.row([column], lower=1.0)
            self._link([column], columns.open_)

    def _decided(self, columns: OfferEntries, place: int, most_base: float) -> None:
        """Add a line of which so many packs come at least."""
        truck = columns.offer.delivery
        pack, least = (
            self._problem.pack((truck, place)),
            self._problem.decided[truck, place],
        )
        last = most_packs(pack, self._problem.terms[truck], most_base)
        is_taken = [self._single(columns, place, least)]
        for level in levels_of(pack, last, from_packs=least + 1):
            is_taken += self._level(columns, place, level)
        self._programme.row(is_taken, lower=1.0)
        self._link(is_taken, columns.open_ or [], 0.0 if columns.open_ else 1.0)

    def _free(self, columns: OfferEntries, place: int, most_base: float) -> None:
        """Add a line of as many packs as are sold."""
        pack = self._problem.pack((columns.offer.delivery, place))
        terms = self._problem.terms[columns.offer.delivery]
        last = most_packs(pack, terms, most_base)
        if not last:
            return
        levels = levels_of(pack, last)
        if levels[0] == PriceLevel(pack.multiple, last, has_part_cents=False):
            self._plain(columns, place, levels[0])
            return
        is_taken: Entries = []
        for level in levels:
            is_taken += self._level(columns, place, level)
        self._link(is_taken, columns.open_ or [], 0.0 if columns.open_ else 1.0)

    def _plain(self, columns: OfferEntries, place: int, level: PriceLevel) -> None:
        """Add a line of one price that starts from its first multiple."""
        pack = self._problem.pack((columns.offer.delivery, place))
        most = level.last // pack.multiple
        price = pack.price_at(level.first)
        column = self._column(columns, place, pack.multiple, price, most)
        self._link([(column, 1.0 / most)], columns.open_)

    def _level(self, columns: OfferEntries, place: int, level: PriceLevel) -> Entries:
        """Add the counts of one price; return what adds up to 1 when it is taken."""
        pack = self._problem.pack((columns.offer.delivery, place))
        counts = range(level.first, level.last + 1, pack.multiple)
        if level.has_part_cents and len(counts) <= MOST_COUNTED:
            return [self._single(columns, place, packs) for packs in counts]
        taken = self._single(columns, place, level.first)
        if len(counts) > 1:
            price = pack.price_at(level.first)
            most = len(counts) - 1
            more = self._column(columns, place, pack.multiple, price, most)
            self._programme.row([(more, 1.0), (taken[0], -float(most))], upper=0.0)
            if level.has_part_cents:
                self._round(columns, taken[0])
        return [taken]

    def _single(
        self, columns: OfferEntries, place: int, packs: int
    ) -> tuple[int, float]:
        """Add one number of packs, to be taken or not."""
        cost = line_cost(self._problem.pack((columns.offer.delivery, place)), packs)
        return self._column(columns, place, packs, cost / packs, 1), 1.0

    def _column(
        self, columns: OfferEntries, place: int, packs: int, price: Decimal, most: int
    ) -> int:
        """Add a column that stands for so many packs at a price, so often at most."""
        truck, cost = columns.offer.delivery, float(price * packs)
        column = self._programme.column(cost, most, is_whole=True)
        size_base = self._problem.kitchen.packs[place].size_base
        self._packs.setdefault((truck, place), []).append((column, packs))
        columns.base.append((column, packs * size_base))
        columns.goods.append((column, cost))
        return column

    def _round(self, columns: OfferEntries, taken: int) -> None:
        """Leave open what two roundings to the cent add to a line or take from it."""
        cent = float(CENT)
        column = self._programme.column(1.0, cent, lower=-cent)
        columns.goods.append((column, 1.0))
        self._programme.row([(column, 1.0), (taken, cent)], lower=0.0)
        self._programme.row([(column, 1.0), (taken, -cent)], upper=0.0)

    def _link(
        self, entries: Entries, open_: Entries | None, always: float = 0.0
    ) -> None:
        """Let nothing come on a delivery that does not."""
        if open_ is not None:
            shut = [(column, -factor) for column, factor in open_]
            self._programme.row([*entries, *shut], upper=always)


def most_packs(pack: PackTerms, terms: TruckTerms, most_base: float) -> int:
    """Return the most packs of a line that can be worth a thought; 0 where none are.

    Enough for all that can be of use, for every price break, and for a minimum order
    or a free delivery by this line alone: more can always be left out at no loss.
    """
    most = math.ceil(most_base / pack.size_base)
    limit = max(terms.minimum, terms.free_goods or 0.0)
    prices = [pack.price, *(step.price for step in pack.breaks)]
    cheapest = min((float(price) for price in prices if price), default=0.0)
    if limit > 0 and cheapest:
        most = max(most, math.ceil(limit / cheapest))
    if not most:
        return 0
    return sellable(pack, max(most, *(step.from_packs for step in pack.breaks), 1))


def levels_of(pack: PackTerms, last: int, from_packs: int = 1) -> list[PriceLevel]:
    """Return the counts that are sold, from some packs up to the last, by price."""
    starts = [1, *(step.from_packs for step in pack.breaks)]
    ends = [*(start - 1 for start in starts[1:]), last]
    found = []
    for start, end in zip(starts, ends, strict=True):
        first = sellable(pack, max(start, from_packs))
        final = end // pack.multiple * pack.multiple
        if first <= final:
            price = pack.price_at(first) * pack.multiple
            has_part_cents = price != cost_of_packs(price, 1)
            found.append(PriceLevel(first, final, has_part_cents))
    return found


def _in_cents(goods: float) -> float:
    """Return the fewest whole cents that count as so much."""
    return math.ceil((goods - HALF_CENT) * 100 - 1e-6) / 100
