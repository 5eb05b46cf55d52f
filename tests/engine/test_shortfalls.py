from datetime import date, timedelta

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.projection import project
from planning.engine.shortfalls.shortfalls import find_shortfalls
from tests.engine import shelves

MON = date(2026, 5, 4)


def day(number):
    return MON + timedelta(days=number)


def found(kitchen, used=(), *, days=7, cakes=()):
    window = shelves.window(MON, days)
    used = {
        (node, day(number)): amount for (node, number), amount in dict(used).items()
    }

    def cakes_behind(node, short_days):
        return [ref for ref, of, on in cakes if of == node and day(on) in short_days]

    projection = project(kitchen, window, shelves.demand(kitchen.nodes, used))
    deliveries = possible_deliveries(kitchen, window)
    return find_shortfalls(kitchen, window, projection, cakes_behind, deliveries)


def butter(lots=(), orders=(), suppliers=(), packs=(), **item):
    return shelves.kitchen(
        shelves.items({"name": "butter", **item}),
        lots=[(0, amount, None) for amount in lots],
        orders=[(0, amount, day(due), 0) for amount, due in orders],
        suppliers=suppliers or [shelves.supplier()],
        packs=packs,
    )


def test_enough_of_everything_is_no_shortfall():
    assert found(butter(lots=[10], safety=2, par=4), {(0, 1): 6}) == ()


def test_an_item_is_out_by_the_most_that_is_outstanding():
    kitchen = butter(lots=[10], orders=[(5, 4)])

    (shortfall,) = found(kitchen, {(0, 1): 8, (0, 2): 6, (0, 3): 2, (0, 5): 1})

    # 2 left on day 1; short 4 on day 2, 6 on day 3; 5 come on day 4; 2 on day 5.
    assert shortfall.kind == ShortfallKind.OUT
    assert shortfall.first_on == day(2)
    assert shortfall.short_base == 6


def test_the_gravest_kind_wins_even_where_it_comes_later():
    (shortfall,) = found(butter(lots=[10], safety=5, par=20), {(0, 1): 6, (0, 4): 5})

    assert shortfall.kind == ShortfallKind.OUT
    assert shortfall.first_on == day(4)
    assert shortfall.short_base == 1


def test_below_safety_counts_the_first_day_and_the_worst_one():
    kitchen = butter(lots=[4], safety=5, orders=[(3, 3)])

    (shortfall,) = found(kitchen, {(0, 2): 3})

    # Closes at 4, 4, 1, 4, 4 …: lacks 1, 1, 4, 1 …
    assert shortfall.kind == ShortfallKind.BELOW_SAFETY
    assert shortfall.first_on == MON
    assert shortfall.short_base == 4


def test_what_nobody_sells_is_asked_for_on_the_last_day_less_what_comes_later():
    kitchen = butter(lots=[10], par=20, orders=[(3, 9)])

    (shortfall,) = found(kitchen, {(0, 2): 4})

    assert shortfall.kind == ShortfallKind.BELOW_PAR
    assert shortfall.first_on == day(6)
    assert shortfall.short_base == 11  # 20 - 6 - 3
    assert shortfall.cakes == ()


def test_an_order_that_comes_later_can_fill_up_to_par():
    assert found(butter(lots=[10], par=20, orders=[(10, 9)])) == ()


@pytest.mark.parametrize(("lack", "count"), [(0.0009, 0), (0.0011, 1)])
def test_a_lack_under_a_thousandth_is_none(lack, count):
    assert len(found(butter(lots=[10], safety=10 + lack))) == count
    assert len(found(butter(lots=[9], par=(9 + lack) / 0.9))) == count


def test_nine_tenths_of_par_are_enough_and_less_lacks_all_of_it():
    assert found(butter(lots=[18], par=20)) == ()

    (shortfall,) = found(butter(lots=[17], par=20))

    assert (shortfall.kind, shortfall.short_base) == (ShortfallKind.BELOW_PAR, 3)


def test_below_par_is_the_most_of_the_par_days_that_are_not_kept():
    """Par stands on Sundays (days 6 and 13) and on the last day, a Monday."""
    kitchen = butter(
        lots=[30],
        orders=[(4, 9), (3, 14)],
        par=20,
        packs=[shelves.pack(0, 5, 3)],
    )

    (shortfall,) = found(kitchen, {(0, 5): 20, (0, 12): 3, (0, 14): 6}, days=15)

    # Day 6 closes at 10, and 4 + 3 come later: 3 lacking. Day 13 closes at 11, and 3
    # come later: 6 lacking. Day 14 closes at 8: 12 lacking.
    assert shortfall.first_on == day(6)
    assert (shortfall.most_on, shortfall.short_base) == (day(14), 12)
    assert shortfall.remedy.deliver_on == day(6)


def test_flour_is_ordered_in_the_week_in_which_par_is_not_kept():
    """Par 50 lb on Sundays, 8 lb used each Friday, a truck each Tuesday."""

    def flour_on(first, on_hand):
        kitchen = shelves.kitchen(
            shelves.items({"name": "flour", "unit": "lb", "par": 50.0}),
            lots=[(0, on_hand, None)],
            suppliers=[shelves.supplier("Mill", [1])],
            packs=[shelves.pack(0, 10, 8)],
        )
        window = shelves.window(first, 14)
        days = [first + timedelta(days=n) for n in range(14)]
        used = {(0, on): 8.0 for on in days if on.weekday() == 4}
        projection = project(kitchen, window, shelves.demand(kitchen.nodes, used))
        deliveries = possible_deliveries(kitchen, window)
        return find_shortfalls(kitchen, window, projection, none_behind, deliveries)

    (on_sat_nov_28,) = flour_on(date(2026, 11, 28), 60)
    (on_sat_dec_5,) = flour_on(date(2026, 12, 5), 52)

    assert on_sat_nov_28.kind == ShortfallKind.BELOW_PAR
    assert (on_sat_nov_28.first_on, on_sat_nov_28.short_base) == (date(2026, 12, 11), 6)
    assert on_sat_nov_28.remedy.deliver_on == date(2026, 12, 8)
    # Sun Dec 6 is before the first truck, Sun Dec 13 closes at 44, Fri Dec 18 at 36.
    assert on_sat_dec_5.first_on == date(2026, 12, 13)
    assert on_sat_dec_5.remedy.deliver_on == date(2026, 12, 8)


def none_behind(node, days):
    return ()


def test_cakes_are_those_behind_the_short_days_only():
    cakes = [("W-2", 0, 3), ("W-1", 0, 3), ("A-9", 0, 1), ("B-1", 1, 3)]

    (shortfall,) = found(butter(lots=[5]), {(0, 1): 5, (0, 3): 1}, cakes=cakes)

    assert shortfall.cakes == ("W-1", "W-2")


def test_shortfalls_come_by_day_then_by_name():
    nodes = shelves.items({"name": "sugar"}, {"name": "Cocoa"}, {"name": "butter"})

    shortfalls = found(shelves.kitchen(nodes), {(0, 1): 1, (1, 1): 1, (2, 3): 1})

    assert [shortfall.node for shortfall in shortfalls] == [1, 0, 2]


def test_an_item_that_nobody_sells_has_no_remedy():
    (shortfall,) = found(butter(), {(0, 3): 1})

    assert shortfall.remedy is None


# From Monday noon UTC, 8:00 in New York; cut-off 14:00 the day before.
EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)


@pytest.mark.parametrize(
    ("next_day", "keeps", "short_on", "deliver_on"),
    [
        (False, -1, 3, day(3)),
        (True, -1, 3, day(2)),
        (True, 2, 3, day(2)),
        (True, 1, 3, None),  # out of date before it can be used
        (False, 1, 3, day(3)),
        (False, -1, 0, None),  # Monday's cut-off was on Sunday
        (True, -1, 1, None),
        (False, -1, 1, day(1)),
    ],
)
def test_the_remedy_is_usable_and_in_date_on_the_day(
    next_day, keeps, short_on, deliver_on
):
    kitchen = butter(
        suppliers=[shelves.supplier(usable_next_day=next_day)],
        packs=[shelves.pack(0, 10, 5)],
        keeps=keeps,
    )

    (shortfall,) = found(kitchen, {(0, short_on): 1})

    assert (shortfall.remedy and shortfall.remedy.deliver_on) == deliver_on


def test_for_safety_it_is_enough_that_a_delivery_is_there():
    kitchen = butter(
        lots=[5],
        safety=3,
        suppliers=[shelves.supplier(usable_next_day=True)],
        packs=[shelves.pack(0, 10, 5)],
    )

    (shortfall,) = found(kitchen, {(0, 3): 4})

    assert shortfall.remedy.deliver_on == day(3)


def test_for_par_the_last_delivery_has_to_be_in_date_when_the_plan_ends():
    suppliers = [shelves.supplier(days=(3,))]  # Thursday, three days before the end
    fresh = butter(par=5, keeps=4, suppliers=suppliers, packs=[shelves.pack(0, 10, 5)])
    stale = butter(par=5, keeps=3, suppliers=suppliers, packs=[shelves.pack(0, 10, 5)])

    assert found(fresh)[0].remedy.deliver_on == day(3)
    assert found(stale) == ()  # nothing that can still come would be in date


def test_what_cannot_be_ordered_at_all_is_below_par_without_a_remedy():
    late = butter(par=5, suppliers=[shelves.supplier(days=())])

    assert found(late)[0].remedy is None


@pytest.mark.parametrize(
    ("terms", "chosen"),
    [
        # The later order-by moment wins over everything.
        ([{"cutoff_days": 2, "preferred": True}, {"price": 9}], 1),
        # Then the preferred pack, then the cheapest by what it holds, then the name.
        ([{"price": 4}, {"price": 9, "preferred": True}], 1),
        ([{"price": 5, "size": 10}, {"price": 9, "size": 20}], 1),
        ([{"supplier": "Zest"}, {"supplier": "apples"}], 1),
        ([{"supplier": "Apples"}, {"supplier": "zest"}], 0),
        # A minimum order is no matter here.
        ([{"price": 4, "minimum_order": 1000}, {"price": 5}], 0),
    ],
)
def test_between_suppliers_the_remedy_leaves_most_time(terms, chosen):
    suppliers = [
        shelves.supplier(
            row.get("supplier", f"Mill {number}"),
            cutoff_days=row.get("cutoff_days", 1),
            minimum_order=row.get("minimum_order", 0),
        )
        for number, row in enumerate(terms)
    ]
    packs = [
        shelves.pack(
            0,
            row.get("size", 10),
            row.get("price", 5),
            supplier=number,
            preferred=row.get("preferred", False),
        )
        for number, row in enumerate(terms)
    ]
    kitchen = butter(suppliers=suppliers, packs=packs)

    (shortfall,) = found(kitchen, {(0, 4): 1})

    assert shortfall.remedy.supplier == chosen
    assert shortfall.remedy.pack == packs[chosen]


def berries(*truck_days, lots=((20, 6),), keeps=2, **terms):
    """Berries that keep a day beyond the one they come on, and older ones."""
    return shelves.kitchen(
        shelves.items({"name": "berries", "keeps": keeps}),
        lots=[(0, amount, day(use_by)) for amount, use_by in lots],
        suppliers=[shelves.supplier(days=truck_days, cutoff_days=0, **terms)],
        packs=[shelves.pack(0, 10, 5)],
    )


def remedy_day(kitchen, used):
    (shortfall,) = found(kitchen, used)
    return shortfall.remedy and shortfall.remedy.deliver_on


def test_a_delivery_used_first_that_spares_older_stock_is_a_remedy():
    # Friday lacks 10: nothing fresh is in date then, but what comes on Monday or
    # Tuesday is used on Tuesday, so that 15 of the older 20 are left.
    used = {(0, 1): 15, (0, 4): 15}

    assert remedy_day(berries(0, 1), used) == day(1)
    assert remedy_day(berries(0), used) == day(0)


def test_a_delivery_that_spares_nothing_is_no_remedy():
    used = {(0, 1): 15, (0, 4): 15}

    # Wednesday's and Thursday's go out of date unused by Friday.
    assert remedy_day(berries(2), used) is None
    # The older stock is out of date by then itself.
    assert remedy_day(berries(0, lots=[(20, 3)]), used) is None
    # Only 5 of the 10 that Friday lacks can be spared.
    assert remedy_day(berries(0), {(0, 1): 5, (0, 4): 25}) is None


def test_deliveries_that_save_it_only_together_are_ordered_by_the_first():
    # Monday's berries leave 10 of the older 20, Wednesday's the other 10.
    used = {(0, 0): 10, (0, 2): 10, (0, 6): 20}
    kitchen = berries(0, 2, keeps=1)

    assert remedy_day(kitchen, used) == day(0)
