"""What still lacks after some orders: what a delivery could help and what none does."""

from planning.engine.deliveries import possible_deliveries
from planning.engine.plan import ShortfallKind
from planning.engine.shortfalls.after_orders import still_lacking
from planning.engine.shortfalls.situations import read_situation
from tests.engine import shelves
from tests.engine.usual_questions import MON, bought, butter, day

OUT, SAFETY, PAR = ShortfallKind


def lacking(kitchen, used=(), *, orders=(), days=7):
    """What still lacks: kind, first days as numbers, how much, whether avoidable."""
    window = shelves.window(MON, days)
    used = {
        (node, day(number)): amount for (node, number), amount in dict(used).items()
    }
    demand = shelves.demand(kitchen.nodes, used)
    deliveries = possible_deliveries(kitchen, window)
    situation = read_situation(kitchen, window, demand, deliveries)
    return [
        (
            each.kind,
            [(on - MON).days for on in each.starts_on],
            each.short_base,
            each.is_avoidable,
        )
        for each in still_lacking(situation, orders)
    ]


def twice_a_week(**item):
    """Butter in packs of 1 g, brought on Tuesdays and Fridays."""
    suppliers = [shelves.supplier(days=(1, 4))]
    return butter(suppliers=suppliers, packs=[shelves.pack(0, 1, 5)], **item)


def test_a_level_that_a_delivery_reaches_is_avoidable_though_nothing_is_used():
    # Nothing lies there and nothing is used; Tuesday's truck comes too late for Monday.
    assert lacking(twice_a_week(safety=500)) == [
        (SAFETY, [0], 500, False),
        (SAFETY, [1], 500, True),
    ]
    assert lacking(twice_a_week(par=500)) == [(PAR, [6], 500, True)]


def test_what_was_owed_before_the_plan_is_avoidable_though_nothing_is_used():
    kitchen = twice_a_week(lots=[-500])

    assert lacking(kitchen)[:2] == [(OUT, [0], 500, False), (OUT, [1], 500, True)]


def test_a_day_is_told_once_in_the_gravest_way():
    # 5 of 8 g are used up on Monday, 10 g on Thursday: out by 7 g then, and below the
    # safety of 6 g from Monday on. Only Thursday could still be helped by Tuesday's.
    kitchen = twice_a_week(lots=[8], safety=6)

    assert lacking(kitchen, {(0, 0): 5, (0, 3): 10}) == [
        (OUT, [3], 7, True),
        (SAFETY, [0], 3, False),
        (SAFETY, [1], 3, True),
    ]


def test_after_orders_that_are_enough_nothing_lacks():
    kitchen = butter(par=40, safety=10, suppliers=[shelves.supplier(cutoff_days=0)])
    used = {(0, 3): 25}

    assert lacking(kitchen, used, orders=bought(kitchen, used).orders) == []
