"""A plain day-by-day simulator of the shelves, to check the engine against.

It shares no code with the engine: dicts, lists and loops over days and lots, one item
at a time. It takes the kitchen's own rows, demand as a dict, and the trucks of any
order plan, and says what happens: the shelf, what is short, what spoils, what it
costs and what is left over.
"""

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

FAR_AWAY = date.max
CENT = Decimal("0.01")


@dataclass
class Lot:
    amount: float
    usable_from: date
    use_by: date


@dataclass
class Day:
    opening: float
    received: float
    used: float
    expired: float
    closing: float
    outstanding: float


@dataclass
class Truck:
    """One delivery of an order plan: packs by position in the kitchen's packs."""

    supplier: int
    deliver_on: date
    packs: dict[int, int]


@dataclass
class Outcome:
    days: dict[tuple[int, date], Day] = field(default_factory=dict)
    lots_left: dict[int, list[Lot]] = field(default_factory=dict)
    goods: Decimal = Decimal(0)
    fees: Decimal = Decimal(0)
    worth: float = 0.0
    broken_rules: list[str] = field(default_factory=list)

    def spoiled(self, node):
        return sum(day.expired for (of, _), day in self.days.items() if of == node)

    def most_outstanding(self, node):
        return max(day.outstanding for (of, _), day in self.days.items() if of == node)

    def least_closing(self, node):
        return min(day.closing for (of, _), day in self.days.items() if of == node)


def simulate(kitchen, window, used, trucks=()):
    """Return what happens; `used` is the demand by node and date."""
    outcome = Outcome()
    for node in nodes_on_the_shelf(kitchen):
        arrivals = arrivals_of(kitchen, window, node, trucks)
        simulate_item(kitchen, window, node, used, arrivals, outcome)
    pay(kitchen, trucks, outcome)
    for node in nodes_on_the_shelf(kitchen):
        outcome.worth += worth_of_leftovers(kitchen, window, node, used, outcome)
    return outcome


def nodes_on_the_shelf(kitchen):
    bought = 0
    return [
        node
        for node in range(len(kitchen.nodes.ids))
        if kitchen.nodes.kind[node] == bought and not kitchen.nodes.retired[node]
    ]


def arrivals_of(kitchen, window, node, trucks):
    """Return (day, supplier, amount) of all that comes for one item."""
    orders = kitchen.open_orders
    arrivals = [
        (orders.due_on[row], int(orders.supplier[row]), float(orders.amount_base[row]))
        for row in range(len(orders.due_on))
        if orders.node[row] == node and orders.due_on[row] >= window.from_on
    ]
    for truck in trucks:
        for place, count in truck.packs.items():
            pack = kitchen.packs[place]
            if pack.node == node:
                arrivals.append(
                    (truck.deliver_on, truck.supplier, count * pack.size_base)
                )
    return arrivals


def simulate_item(kitchen, window, node, used, arrivals, outcome):
    stock = kitchen.lots
    lots = []
    for row in range(len(stock.use_by)):
        if stock.node[row] == node:
            use_by = stock.use_by[row] or FAR_AWAY
            lots.append(Lot(float(stock.amount_base[row]), date.min, use_by))
    owed = 0.0
    today = window.from_on
    while today <= window.to_on:
        opening = sum(lot.amount for lot in lots) - owed
        expired = sum(lot.amount for lot in lots if lot.use_by < today)
        lots = [lot for lot in lots if lot.use_by >= today]
        received = 0.0
        for day, supplier, amount in arrivals:
            if day == today:
                received += amount
                lots.append(new_lot(kitchen, node, supplier, day, amount))
        needed = used.get((node, today), 0.0)
        owed = take(lots, owed + needed, today)
        closing = sum(lot.amount for lot in lots) - owed
        outcome.days[node, today] = Day(
            opening, received, needed, expired, closing, owed
        )
        today += timedelta(days=1)
    outcome.lots_left[node] = sorted(lots, key=lambda lot: lot.use_by)


def new_lot(kitchen, node, supplier, day, amount):
    keeps = int(kitchen.nodes.keeps_days[node])
    use_by = FAR_AWAY if keeps < 0 else day + timedelta(days=keeps - 1)
    waits = 1 if kitchen.suppliers[supplier].usable_next_day else 0
    return Lot(amount, day + timedelta(days=waits), use_by)


def take(lots, wanted, today):
    """Take from the earliest use-by on; return what could not be taken."""
    for lot in sorted(lots, key=lambda lot: lot.use_by):
        if lot.usable_from <= today:
            taken = min(lot.amount, wanted)
            lot.amount -= taken
            wanted -= taken
    return wanted


def pay(kitchen, trucks, outcome):
    for truck in trucks:
        terms = kitchen.suppliers[truck.supplier]
        goods = Decimal(0)
        for place, count in truck.packs.items():
            pack = kitchen.packs[place]
            price = pack.price
            for step in pack.breaks:
                if count >= step.from_packs:
                    price = step.price
            goods += (price * count).quantize(CENT, ROUND_HALF_UP)
            if pack.supplier != truck.supplier:
                outcome.broken_rules.append(f"{terms.name} does not sell {pack.label}")
            if count < pack.minimum_packs or count % pack.multiple:
                outcome.broken_rules.append(f"{count} x {pack.label} are not sold")
            if kitchen.nodes.retired[pack.node]:
                outcome.broken_rules.append(f"{pack.label} is retired")
        if goods < terms.minimum_order:
            outcome.broken_rules.append(f"{terms.name} does not come for {goods}")
        is_free = (
            terms.free_delivery_from is not None and goods >= terms.free_delivery_from
        )
        outcome.goods += goods
        outcome.fees += Decimal(0) if is_free else terms.delivery_fee


def worth_of_leftovers(kitchen, window, node, used, outcome):
    prices = [
        float(price) / pack.size_base
        for pack in kitchen.packs
        if pack.node == node
        for price in [pack.price, *[step.price for step in pack.breaks]]
    ]
    if not prices:
        return 0.0
    total_used = sum(
        amount
        for (of, day), amount in used.items()
        if of == node and window.from_on <= day <= window.to_on
    )
    daily = total_used / window.days
    par = float(kitchen.nodes.par_base[node])
    if par:
        daily = min(daily, par / 7)
    closing = outcome.days[node, window.to_on].closing
    spare = max(0.0, closing - par)
    left_over = []
    for lot in outcome.lots_left[node]:
        taken = min(lot.amount, spare)
        spare -= taken
        left_over.append([taken, lot.use_by])
    useful = 0.0
    for ahead in range(1, 29):
        appetite = daily
        for lot in left_over:
            if lot[1] == FAR_AWAY or lot[1] >= window.to_on + timedelta(days=ahead):
                eaten = min(lot[0], appetite)
                lot[0] -= eaten
                appetite -= eaten
                useful += eaten
    return useful * min(prices) * kitchen.bakery.leftover_worth


def par_days_of(kitchen, window, node, deliveries):
    """Return the days on which an item's par is asked for.

    Deliveries are (supplier, date) of all that can still be ordered.
    """
    par, keeps = kitchen.nodes.par_base[node], int(kitchen.nodes.keeps_days[node])
    packs = [pack for pack in kitchen.packs if pack.node == node]
    if not par:
        return []
    days = [window.from_on + timedelta(days=n) for n in range(window.days)]
    weekdays = kitchen.bakery.par_weekdays
    usual = min(
        packs,
        key=lambda pack: (
            not pack.preferred,
            pack.price / Decimal(str(pack.size_base)),
            kitchen.suppliers[pack.supplier].name.casefold(),
        ),
        default=None,
    )
    mine = [day for supplier, day in deliveries if usual and supplier == usual.supplier]
    asked = [day for day in days if mine and day >= min(mine)]
    asked = [day for day in asked if day.weekday() in weekdays]
    if not 0 <= keeps < 7 or window.to_on.weekday() in weekdays:
        asked = sorted({*asked, window.to_on})
    sellers = {pack.supplier for pack in packs}
    coming = [day for supplier, day in deliveries if supplier in sellers]
    if keeps < 0 or not coming:
        return asked
    return [day for day in asked if any(0 <= (day - on).days < keeps for on in coming)]


def least_for_par(kitchen, node, on):
    """Return what must stand there at a par day's close, less what is due later.

    Decided lines are due like open orders; all of them have to be possible.
    """
    orders = kitchen.open_orders
    later = sum(
        float(orders.amount_base[row])
        for row, due in enumerate(orders.due_on)
        if orders.node[row] == node and due > on
    )
    size_of = {
        pack.pack_id: pack.size_base for pack in kitchen.packs if pack.node == node
    }
    later += sum(
        line.packs * size_of.get(line.pack_id, 0.0)
        for line in kitchen.decided
        if line.deliver_on > on
    )
    return 0.9 * float(kitchen.nodes.par_base[node]) - later


def trucks_of(kitchen, orders):
    """Return a plan's suggested orders as trucks."""
    place_of = {pack.pack_id: place for place, pack in enumerate(kitchen.packs)}
    trucks = []
    for order in orders:
        packs = defaultdict(int)
        for line in order.lines:
            packs[place_of[line.pack.pack_id]] += line.packs
        trucks.append(Truck(order.supplier, order.deliver_on, dict(packs)))
    return trucks


def flood_trucks(kitchen, deliveries):
    """Every pack on every delivery that can be used, far more than anybody needs."""
    return [
        Truck(
            delivery.supplier,
            delivery.deliver_on,
            {
                place: 6_000
                for place, pack in enumerate(kitchen.packs)
                if pack.supplier == delivery.supplier
                and not (
                    kitchen.nodes.keeps_days[pack.node] == 1
                    and delivery.usable_on > delivery.deliver_on
                )
            },
        )
        for delivery in deliveries
    ]
