"""Somebody plans every week and orders what is due before the next time.

The bake plan is fixed. Each time the shelf stands where the weeks before have left it,
and orders are placed whose cut-off lies before the next planning.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.par_days import days_to_par_weekday
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves

MON, TUE, WED, THU, FRI, SAT, SUN = range(7)
FIRST = date(2026, 11, 30)  # a Monday
WEEKS = 10
HORIZON_DAYS = 14


@dataclass
class Case:
    """One item: what is used on which weekdays, and who brings it."""

    par: float
    on_hand: float
    used: dict  # by weekday
    suppliers: list
    packs: list
    keeps: int = -1

    def kitchen(self, lots, orders):
        return shelves.kitchen(
            shelves.items({"name": "flour", "par": self.par, "keeps": self.keeps}),
            lots=[(0, amount, use_by) for amount, use_by in lots],
            orders=[(0, amount, due_on, who) for amount, due_on, who in orders],
            suppliers=self.suppliers,
            packs=self.packs,
            zone_key="UTC",
        )

    def orders(self, lots, open_orders, at, find):
        kitchen = self.kitchen(lots, open_orders)
        days = days_to_par_weekday(at.date(), HORIZON_DAYS, {SUN})
        window = shelves.window(at.date(), days, at)
        window_days = [at.date() + timedelta(days=n) for n in range(days)]
        demand = shelves.demand(
            kitchen.nodes,
            {(0, on): self.used.get(on.weekday(), 0.0) for on in window_days},
        )
        return find(kitchen, window, demand, possible_deliveries(kitchen, window))


def weeks(case, find, planned_at):
    """Yield each day, what stands there at its close, and whether something came."""
    lots = [(case.on_hand, None if case.keeps < 0 else FIRST + timedelta(days=1))]
    open_orders = []
    for week in range(WEEKS):
        start = FIRST + timedelta(weeks=week)
        at = datetime.combine(start, planned_at, UTC)
        for order in case.orders(lots, open_orders, at, find).orders:
            if order.order_by < at + timedelta(weeks=1):
                amount = sum(line.packs * line.pack.size_base for line in order.lines)
                open_orders.append((amount, order.deliver_on, order.supplier))
        for on in (start + timedelta(days=n) for n in range(7)):
            lots = [(a, last) for a, last in lots if last is None or last >= on]
            for amount, due_on, _ in open_orders:
                if due_on == on:
                    last = (
                        None if case.keeps < 0 else on + timedelta(days=case.keeps - 1)
                    )
                    lots.append((amount, last))
            has_come = any(due_on == on for _, due_on, _ in open_orders)
            open_orders = [order for order in open_orders if order[1] > on]
            lots = left_after(lots, case.used.get(on.weekday(), 0.0))
            yield on, sum(amount for amount, _ in lots), has_come


def left_after(lots, used):
    """The lots after a day's use, earliest use-by first; all of it must be there."""
    left = []
    for amount, last in sorted(lots, key=lambda lot: lot[1] or date.max):
        taken = min(amount, used)
        used -= taken
        if amount > taken:
            left.append((amount - taken, last))
    assert used < 1e-9, "a planned cake went short"
    return left


def by_rule(kitchen, window, demand, deliveries):
    return usual_rule(kitchen, window, demand, deliveries)


def by_search(kitchen, window, demand, deliveries):
    return best_orders(kitchen, window, demand, deliveries, effort=QUICK)


WEEKLY_TRUCK = Case(
    par=50.0,
    on_hand=60.0,
    used={FRI: 8.0},
    suppliers=[shelves.supplier("Mill", [TUE])],
    packs=[shelves.pack(0, 5, 4)],
)
# The cheapest is ordered three days ahead, the preferred one asks for a minimum.
THREE_SUPPLIERS = Case(
    par=50.0,
    on_hand=60.0,
    used={WED: 3.0, FRI: 8.0},
    suppliers=[
        shelves.supplier("Far Mill", [THU], cutoff_days=3, delivery_fee=6),
        shelves.supplier("Mill", [TUE, FRI], minimum_order=15),
        shelves.supplier("Corner", [MON, TUE, WED, THU, FRI, SAT], delivery_fee=2),
    ],
    packs=[
        shelves.pack(0, 25, 14, supplier=0),
        shelves.pack(0, 5, 4, supplier=1, preferred=True),
        shelves.pack(0, 2, 3, supplier=2),
    ],
)
KEEPS_THREE_DAYS = Case(
    par=12.0,
    on_hand=10.0,
    used={TUE: 4.0, SAT: 6.0},
    suppliers=[shelves.supplier("Dairy", [TUE, FRI])],
    packs=[shelves.pack(0, 4, 3)],
    keeps=3,
)


@pytest.mark.parametrize("find", [by_rule, by_search])
@pytest.mark.parametrize("hour", [9, 16], ids=["before the cut-off", "after it"])
@pytest.mark.parametrize(
    "case",
    [WEEKLY_TRUCK, THREE_SUPPLIERS, KEEPS_THREE_DAYS],
    ids=["a weekly truck", "three suppliers", "keeps three days"],
)
def test_par_is_kept_on_every_par_day_from_the_first_delivery_on(case, hour, find):
    planned_at = datetime(2026, 1, 1, hour, tzinfo=UTC).time()
    sundays, is_supplied = [], False
    for on, closing, has_come in weeks(case, find, planned_at):
        is_supplied |= has_come
        if is_supplied and on.weekday() == SUN:
            sundays.append((f"{on:%b %d}", closing))

    assert len(sundays) >= WEEKS - 3
    assert [sunday for sunday in sundays if sunday[1] < 0.9 * case.par] == []
