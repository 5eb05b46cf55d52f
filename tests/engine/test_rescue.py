"""What no delivery saves, and what could be done instead, by figures by hand."""

from dataclasses import replace

import numpy as np

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NO_LIMIT_DAYS, OpenOrderLines
from planning.engine.scenarios.one_more import leave_out
from planning.engine.scenarios.rescue import find_lost, find_unsaved
from planning.engine.shelves.supplies import read_shelf
from tests.benchmarks import kitchens
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, floats, ints, window


def torte_kitchen():
    """A torte takes 400 g of butter; Dairy comes on Tuesday and Friday."""
    return SmallKitchen().item("butter").cake("Torte", {"butter": 400})


def unsaved(small, *, sold=True, keeps_days=NO_LIMIT_DAYS, on_order=None):
    butter = small.index("butter")
    pack = shelves.pack(butter, 1_000, 10)
    kitchen = small.build()
    kitchen.nodes.keeps_days[butter] = keeps_days
    if on_order:
        due_on, amount_base = on_order
        coming = OpenOrderLines(
            ["O-1"], ints([0]), ints([butter]), floats([amount_base]), [due_on]
        )
        kitchen = replace(kitchen, open_orders=coming)
    kitchen = replace(
        kitchen,
        suppliers=(shelves.supplier("Dairy", days=(1, 4)),),
        packs=(pack,) if sold else (),
    )
    days_ahead = window()
    plan = (
        explode(kitchen, days_ahead),
        days_ahead,
        possible_deliveries(kitchen, days_ahead),
    )
    return find_unsaved(*plan, find_lost(*plan))


def test_only_what_is_lacking_before_the_first_delivery_counts():
    small = torte_kitchen().stock("butter", 500)
    small.plan("T-1", "Torte", day(0), 2).plan("T-2", "Torte", day(2), 5)

    [row] = unsaved(small)

    # 800 today of 500; Wednesday's comes on Tuesday
    lost = row.lost
    assert (lost.first_on, lost.short_base, lost.cakes) == (day(0), 300, ("T-1",))
    assert lost.is_sold


def test_what_a_delivery_can_bring_needs_no_rescue():
    assert unsaved(torte_kitchen().plan("T-1", "Torte", day(1))) == ()


def test_what_nobody_sells_is_lacking_whenever_it_is_needed():
    small = torte_kitchen().stock("butter", 500)
    small.plan("T-1", "Torte", day(2)).plan("T-2", "Torte", day(9))

    [row] = unsaved(small, sold=False)

    lost = row.lost
    assert (lost.first_on, lost.short_base, lost.is_sold) == (day(9), 300, False)


def test_what_is_lacking_is_counted_on_the_day_it_begins_and_once():
    small = torte_kitchen().stock("butter", 500)
    small.plan("T-1", "Torte", day(0), 2).plan("T-2", "Torte", day(3))

    [row] = unsaved(small, sold=False)

    # 800 of 500 on Monday; the 400 of Thursday are all new
    assert row.lost.by_day == ((day(0), 300), (day(3), 400))
    assert row.lost.short_base == 700


def test_what_keeps_a_day_is_lacking_again_between_deliveries():
    small = torte_kitchen()
    small.plan("T-1", "Torte", day(0)).plan("T-2", "Torte", day(3), 2)

    # what Tuesday's truck brings is out of date on Thursday, before Friday's
    [row] = unsaved(small, keeps_days=2)

    assert row.lost.by_day == ((day(0), 400), (day(3), 800))


def test_what_comes_on_order_pays_for_no_lack_that_was_bought_for():
    small = torte_kitchen().stock("butter", 100)
    small.plan("T-1", "Torte", day(0)).plan("T-2", "Torte", day(2))

    [row] = unsaved(small, sold=False, on_order=(day(1), 500))

    # 300 short today; what is bought for them leaves all of Tuesday's 500 for T-2
    assert row.lost.by_day == ((day(0), 300),)


def test_dropping_a_tentative_cake_is_said_with_what_is_lacking_then():
    small = torte_kitchen().stock("butter", 500)
    small.plan("T-1", "Torte", day(0))
    small.plan("T-2", "Torte", day(0), tentative=True)
    small.plan("T-3", "Torte", day(0), 2, tentative=True)

    [row] = unsaved(small)

    # 1,600 of 500; without T-2 700 are lacking, without T-3 300
    assert row.lost.short_base == 1_100
    assert [(drop.reference, drop.left_base) for drop in row.drops] == [
        ("T-2", 700),
        ("T-3", 300),
    ]


def test_a_batch_rounded_up_is_said_with_what_a_smaller_one_spares():
    small = SmallKitchen().item("butter").stock("butter", 500)
    small.recipe("cream", {"butter": 600}, yields=1_000, batch_step=1)
    small.cake("Torte", {"cream": 900}).plan("T-1", "Torte", day(0))

    [row] = unsaved(small)

    # a batch for 900 leaves 100 of cream over: a tenth of 600 g of butter
    assert row.lost.short_base == 100
    [batch] = row.smaller
    assert (batch.on, batch.surplus_base) == (day(0), 100)
    assert batch.spared_base == 60


def test_leaving_a_cake_out_is_the_same_as_a_plan_without_it():
    kitchen = kitchens.kitchen_of(kitchens.SMALL)
    days_ahead = kitchens.window_of(kitchens.SMALL)
    explosion, shelf = explode(kitchen, days_ahead), read_shelf(kitchen, days_ahead)

    for place, reference in enumerate(kitchen.cakes.references):
        change = leave_out(explosion, days_ahead, shelf, reference)

        quantity = kitchen.cakes.quantity.copy()
        quantity[place] = 0.0
        without = replace(kitchen, cakes=replace(kitchen.cakes, quantity=quantity))
        whole = explode(without, days_ahead)
        needed_base = change.figures.needed_base
        assert np.array_equal(needed_base, whole.figures.needed_base)


def test_dropping_a_cake_that_spares_next_to_nothing_is_no_way_out():
    small = torte_kitchen().cake("Bun", {"butter": 15}).stock("butter", 0)
    small.plan("T-1", "Torte", day(0))
    small.plan("B-1", "Bun", day(0), tentative=True)
    small.plan("B-2", "Bun", day(0), 2, tentative=True)

    [row] = unsaved(small)

    # 445 g are lacking; a bun spares 15, under a twentieth of that, and two spare 30
    assert row.lost.short_base == 445
    assert [(drop.reference, drop.left_base) for drop in row.drops] == [("B-2", 415)]
