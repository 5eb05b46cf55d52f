"""The ordering question as one plain integer programme, to check the engine against.

It shares no code with the engine and is written from the rules of ordering alone.
Every lot, bought or not, may be used on any day on which it is in date, and any lot
may count as left over. The kitchen itself has less choice, it goes by use-by, so the
programme's least cost is never above the best orders' cost. Where nothing goes out of
date the two are the same.
"""

from dataclasses import dataclass
from datetime import timedelta
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from tests.engine.simulator import (
    Truck,
    least_for_par,
    nodes_on_the_shelf,
    par_days_of,
    simulate,
)

MOST_BASE = 1e5
DAYS_AHEAD = 28
SO_MUCH_PACKS = 6_000


@dataclass
class Lot:
    arrives: int  # day of the window
    usable: int
    last: int
    there: float  # in it already
    bought: list  # (column, base units) of packs that add to it


class Programme:
    """Rows and columns, one after the other."""

    def __init__(self):
        self.cost, self.upper, self.whole = [], [], []
        self.rows, self.low, self.high = [], [], []
        self.row([(self.column(), 1.0)])  # the solver wants at least one of each

    def column(self, cost=0.0, upper=np.inf, *, whole=False):
        self.cost.append(cost)
        self.upper.append(upper)
        self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, entries, low=-np.inf, high=np.inf):
        """Entries are (column, factor); a column may come more than once."""
        self.rows.append(entries)
        self.low.append(low)
        self.high.append(high)

    def solve(self, **options):
        cells = [
            (number, column, factor)
            for number, entries in enumerate(self.rows)
            for column, factor in entries
        ]
        numbers, columns, factors = zip(*cells, strict=True)
        matrix = csr_array(
            (factors, (numbers, columns)), shape=(len(self.rows), len(self.cost))
        )
        return milp(
            self.cost,
            integrality=np.array(self.whole, dtype=int),
            bounds=Bounds(0.0, np.array(self.upper)),
            constraints=LinearConstraint(matrix, self.low, self.high),
            options=options,
        )


def deliveries_of(kitchen, window):
    """Every supplier's days but the first: they are ordered a day ahead."""
    return [
        (supplier, day)
        for day in range(1, window.days)
        for supplier, terms in enumerate(kitchen.suppliers)
        if (window.from_on + timedelta(days=day)).weekday() in terms.delivery_weekdays
        and window.from_on + timedelta(days=day) not in terms.closed_on
    ]


def least_cost(kitchen, window, used):
    """Return the least cost and the trucks that have it."""
    deliveries = deliveries_of(kitchen, window)
    programme, packs = whole_model(kitchen, window, used, deliveries)
    answer = programme.solve(mip_rel_gap=0.0)
    assert answer.status == 0, answer.message
    return answer.fun, trucks_in(kitchen, window, packs, answer.x)


def whole_model(kitchen, window, used, deliveries):
    """Return the programme, and its columns of packs by supplier, day and place."""
    programme = Programme()
    packs = {}
    for supplier, day in deliveries:
        add_delivery(programme, kitchen, window, used, (supplier, day), packs)
    trucks = flood_of(kitchen, window, deliveries)
    flood = simulate(kitchen, window, used, trucks)
    for node in nodes_on_the_shelf(kitchen):
        add_item(programme, kitchen, window, node, used, packs, flood)
    return programme, packs


def trucks_in(kitchen, window, packs, taken):
    """Return the trucks of an answer."""
    trucks = {}
    for (supplier, day, place), columns in packs.items():
        count = round(sum(taken[columns])) * kitchen.packs[place].multiple
        if count:
            trucks.setdefault((supplier, day), {})[place] = count
    return [
        Truck(supplier, window.from_on + timedelta(days=day), mine)
        for (supplier, day), mine in trucks.items()
    ]


def flood_of(kitchen, window, deliveries):
    """More than anybody could use on every delivery that brings what can be used."""
    return [
        Truck(
            supplier,
            window.from_on + timedelta(days=day),
            {
                place: SO_MUCH_PACKS
                for place, pack in enumerate(kitchen.packs)
                if pack.supplier == supplier and is_ever_usable(kitchen, pack)
            },
        )
        for supplier, day in deliveries
    ]


def is_ever_usable(kitchen, pack):
    """What keeps one day and waits until the next never is."""
    waits = kitchen.suppliers[pack.supplier].usable_next_day
    return not (waits and kitchen.nodes.keeps_days[pack.node] == 1)


def add_delivery(programme, kitchen, window, used, delivery, packs):
    supplier, day = delivery
    terms = kitchen.suppliers[supplier]
    fee = float(terms.delivery_fee)
    is_open = programme.column(fee, 1, whole=True)
    is_free = programme.column(-fee, 1, whole=True)
    goods = []
    for place, pack in enumerate(kitchen.packs):
        if pack.supplier == supplier:
            decided = decided_packs(kitchen, window, day, pack)
            if not decided and not is_ever_usable(kitchen, pack):
                continue  # what can never be used fills no minimum up
            most = most_packs(kitchen, window, used, pack) + decided
            columns = add_packs(programme, pack, most, is_open, goods)
            packs[supplier, day, place] = columns
            counts = [(column, pack.multiple) for column in columns]
            programme.row(counts, low=float(decided))
    programme.row([*goods, (is_open, -float(terms.minimum_order))], low=0.0)
    programme.row([(is_free, 1), (is_open, -1)], high=0.0)
    if terms.free_delivery_from is None:
        programme.row([(is_free, 1)], high=0.0)
    else:
        programme.row([*goods, (is_free, -float(terms.free_delivery_from))], low=0.0)


def decided_packs(kitchen, window, day, pack):
    """How many packs come on a day whatever else is ordered."""
    return sum(
        line.packs
        for line in kitchen.decided
        if line.pack_id == pack.pack_id
        and (line.deliver_on - window.from_on).days == day
    )


def most_packs(kitchen, window, used, pack):
    """Enough for all that can be of use, and for every break and limit on top."""
    node, terms = pack.node, kitchen.suppliers[pack.supplier]
    needed = sum(amount for (of, _), amount in used.items() if of == node)
    needed += needed * DAYS_AHEAD / window.days
    needed += kitchen.nodes.par_base[node] + kitchen.nodes.safety_base[node]
    prices = [pack.price, *(step.price for step in pack.breaks)]
    limit = max(terms.minimum_order, terms.free_delivery_from or 0)
    packs = needed / pack.size_base + float(limit / min(prices))
    packs += sum(step.from_packs for step in pack.breaks)
    return ceil(packs) + pack.minimum_packs + pack.multiple


def add_packs(programme, pack, most, is_open, goods):
    """Add a column for each price of a pack; add what it costs to the goods."""
    steps = [(1, pack.price), *((step.from_packs, step.price) for step in pack.breaks)]
    ends = [from_packs - 1 for from_packs, _ in steps[1:]] + [most]
    columns, prices = [], []
    for (from_packs, price), last in zip(steps, ends, strict=True):
        column = programme.column(float(price) * pack.multiple, whole=True)
        has_price = programme.column(upper=1, whole=True)
        fewest = max(from_packs, pack.minimum_packs)
        programme.row([(column, pack.multiple), (has_price, -fewest)], low=0.0)
        programme.row([(column, pack.multiple), (has_price, -last)], high=0.0)
        goods.append((column, float(price) * pack.multiple))
        columns.append(column)
        prices.append((has_price, 1))
    programme.row([*prices, (is_open, -1)], high=0.0)
    return columns


def lots_of(kitchen, window, node, packs):
    def day(on):
        return (on - window.from_on).days

    stock, orders = kitchen.lots, kitchen.open_orders
    keeps = int(kitchen.nodes.keeps_days[node])
    far = window.days + DAYS_AHEAD
    for row, use_by in enumerate(stock.use_by):
        if stock.node[row] == node:
            last = far if use_by is None else day(use_by)
            yield Lot(0, 0, last, float(stock.amount_base[row]), [])
    comes = [
        (day(due), orders.supplier[row], float(orders.amount_base[row]), [])
        for row, due in enumerate(orders.due_on)
        if orders.node[row] == node and window.from_on <= due <= window.to_on
    ]
    for (supplier, on, place), columns in packs.items():
        pack = kitchen.packs[place]
        if pack.node == node:
            base = pack.size_base * pack.multiple
            comes.append((on, supplier, 0.0, [(column, base) for column in columns]))
    for on, supplier, amount, bought in comes:
        usable = on + kitchen.suppliers[supplier].usable_next_day
        yield Lot(on, usable, far if keeps < 0 else on + keeps - 1, amount, bought)


def add_item(programme, kitchen, window, node, used, packs, flood):
    lots = list(lots_of(kitchen, window, node, packs))
    days = [window.from_on + timedelta(days=n) for n in range(window.days)]
    uses = [
        {
            day: programme.column()
            for day in range(lot.usable, min(lot.last + 1, window.days))
        }
        for lot in lots
    ]
    for lot, mine in zip(lots, uses, strict=True):
        taken = [(column, 1) for column in mine.values()]
        bought = [(column, -base) for column, base in lot.bought]
        if taken:
            programme.row([*taken, *bought], high=lot.there)
    needed = 0.0
    pairs = {(supplier, days[on]) for supplier, on, _ in packs}
    par_days = par_days_of(kitchen, window, node, pairs)
    for number, on in enumerate(days):
        needed += used.get((node, on), 0.0)
        served = [
            (column, 1.0)
            for mine in uses
            for day, column in mine.items()
            if day <= number
        ]
        best = flood.days[node, on]
        least = min(level_on(kitchen, node, on, par_days), best.closing)
        if served:
            programme.row(served, low=needed - best.outstanding, high=needed)
        # What is owed is needed less what is served.
        stock, there = on_shelf(lots, uses, number)
        if stock or served:
            programme.row([*stock, *served], low=least - there + needed)
    add_leftovers(programme, kitchen, window, node, lots, uses, used)


def level_on(kitchen, node, on, par_days):
    """Safety; on par days what is enough for par as well."""
    level = float(kitchen.nodes.safety_base[node])
    return max(level, least_for_par(kitchen, node, on)) if on in par_days else level


def on_shelf(lots, uses, number):
    """Return what is left in date at the end of a day: entries, and what is given."""
    entries, there = [], 0.0
    for lot, mine in zip(lots, uses, strict=True):
        if lot.arrives <= number <= lot.last:
            there += lot.there
            entries += lot.bought
            entries += [(column, -1.0) for day, column in mine.items() if day <= number]
    return entries, there


def add_leftovers(programme, kitchen, window, node, lots, uses, used):
    prices = [
        float(price) / pack.size_base
        for pack in kitchen.packs
        if pack.node == node
        for price in (pack.price, *(step.price for step in pack.breaks))
    ]
    if not prices:
        return
    worth = min(prices) * kitchen.bakery.leftover_worth
    last = window.days - 1
    needed = sum(
        amount
        for (of, on), amount in used.items()
        if of == node and window.from_on <= on <= window.to_on
    )
    daily, par = needed / window.days, float(kitchen.nodes.par_base[node])
    daily = min(daily, par / 7) if par else daily
    later = [programme.column(-worth, daily) for _ in range(DAYS_AHEAD)]
    eaten = [[] for _ in later]
    for lot, mine in zip(lots, uses, strict=True):
        ahead = max(0, min(lot.last - last, DAYS_AHEAD))
        from_lot = [programme.column() for _ in range(ahead)]
        for number, column in enumerate(from_lot):
            eaten[number].append((column, -1.0))
        gone = [(column, 1.0) for column in (*from_lot, *mine.values())]
        bought = [(column, -base) for column, base in lot.bought]
        if from_lot:
            programme.row([*gone, *bought], high=lot.there)
    for column, mine in zip(later, eaten, strict=True):
        programme.row([(column, 1.0), *mine], high=0.0)
    has_spare = programme.column(upper=1, whole=True)
    left = [(column, 1.0) for column in later]
    programme.row([*left, (has_spare, -MOST_BASE)], high=0.0)
    stock, there = on_shelf(lots, uses, last)
    served = [(column, 1.0) for mine in uses for column in mine.values()]
    spare = there - needed - par
    programme.row(
        [
            *left,
            *((column, -factor) for column, factor in (*stock, *served)),
            (has_spare, MOST_BASE),
        ],
        high=spare + MOST_BASE,
    )
