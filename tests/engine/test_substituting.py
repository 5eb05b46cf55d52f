"""What can stand in for what is lost, by figures by hand and by a simulator."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.scenarios.rescue import Lost
from planning.engine.scenarios.substituting import UsableSubstitute, find_stand_ins
from tests.engine import shelves
from tests.engine.simulator import simulate

MON = date(2026, 5, 4)
HAZELNUTS, WALNUTS, PECANS, ALMONDS = range(4)
ONE_FOR_ONE = UsableSubstitute(HAZELNUTS, PECANS, 1.0)


def day(number):
    return MON + timedelta(days=number)


def lost(node, *by_day):
    return Lost(
        node,
        tuple((day(number), amount) for number, amount in by_day),
        is_sold=True,
        cakes=("T-1",),
    )


def nuts(lots, *, safety=0, keeps=-1, orders=(), packs=(), suppliers=None):
    """Lots are (node, amount, use-by day); of the hazelnuts there are none."""
    return shelves.kitchen(
        shelves.items(
            {"name": "hazelnuts"},
            {"name": "walnuts"},
            {"name": "pecans", "safety": safety, "keeps": keeps},
            {"name": "almonds"},
        ),
        lots=[
            (node, amount, None if use_by is None else day(use_by))
            for node, amount, use_by in lots
        ],
        orders=[(node, amount, day(due), 0) for node, amount, due in orders],
        suppliers=suppliers or [shelves.supplier()],
        packs=packs,
    )


def stand_ins(kitchen, lacking, substitutes=(ONE_FOR_ONE,), used=None, days=7):
    window = shelves.window(MON, days)
    by_date = {(node, day(n)): amount for (node, n), amount in (used or {}).items()}
    return find_stand_ins(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, by_date),
        possible_deliveries(kitchen, window),
        lacking,
        substitutes,
    )


def one(kitchen, by_day, *, used=None, per_base=1.0):
    substitute = UsableSubstitute(HAZELNUTS, PECANS, per_base)
    found = stand_ins(kitchen, [lost(HAZELNUTS, *by_day)], [substitute], used)
    [answer] = found[HAZELNUTS]
    return answer


def test_what_lies_there_covers_a_lack_at_its_ratio():
    answer = one(nuts([(PECANS, 1_000, None)]), [(0, 400)], per_base=1.5)

    assert (answer.takes_base, answer.covers_base, answer.left_base) == (600, 400, 0)
    assert not answer.is_instead
    assert answer.ordered is None


def test_what_other_cakes_need_later_is_not_free():
    shelf = nuts([(PECANS, 1_000, None)])

    answer = one(shelf, [(0, 400)], used={(PECANS, 2): 500, (PECANS, 6): 200})

    # 700 of the 1,000 are needed up to Sunday
    assert (answer.takes_base, answer.left_base) == (300, 100)


def test_what_is_needed_after_the_last_day_is_free():
    shelf = nuts([(PECANS, 400, None)])

    assert one(shelf, [(0, 400)], used={(PECANS, 7): 400}).covers_base == 400


def test_its_own_safety_stays():
    shelf = nuts([(PECANS, 1_000, None)], safety=800)

    assert one(shelf, [(0, 400)]).takes_base == 200


def test_below_its_safety_already_nothing_is_free():
    shelf = nuts([(PECANS, 500, None)], safety=800)

    answer = one(shelf, [(0, 400)])

    assert (answer.takes_base, answer.covers_base, answer.left_base) == (0, 0, 400)


def test_what_goes_out_of_date_unused_is_free_up_to_its_last_day():
    shelf = nuts([(PECANS, 500, 1)])

    assert one(shelf, [(1, 400)]).takes_base == 400
    assert one(shelf, [(2, 400)]).takes_base == 0


def test_out_of_date_tomorrow_it_is_free_though_other_lots_are_needed():
    shelf = nuts([(PECANS, 500, 0), (PECANS, 300, None)], safety=100)

    answer = one(shelf, [(0, 900)], used={(PECANS, 5): 150})

    # the lot of today, and 50 of the other: 150 are used later, 100 are safety
    assert answer.takes_base == 550


def test_what_comes_on_order_is_free_from_its_day_on():
    shelf = nuts([], orders=[(PECANS, 500, 2)])

    answer = one(shelf, [(1, 400), (3, 400)])

    assert (answer.takes_base, answer.left_base) == (400, 400)


def test_short_itself_nothing_of_it_is_free():
    shelf = nuts([(PECANS, 100, None)])

    assert one(shelf, [(0, 400)], used={(PECANS, 3): 300}).takes_base == 0


def test_two_lacks_never_count_the_same_amount():
    shelf = nuts([(PECANS, 500, None)])
    both = [ONE_FOR_ONE, UsableSubstitute(WALNUTS, PECANS, 2.0)]

    found = stand_ins(shelf, [lost(HAZELNUTS, (0, 400)), lost(WALNUTS, (3, 400))], both)

    # 400 for hazelnuts; the other 100 stand for 50 of the walnuts
    assert [row.takes_base for row in found[HAZELNUTS]] == [400]
    assert [(r.takes_base, r.covers_base) for r in found[WALNUTS]] == [(100, 50)]


def test_a_second_substitute_covers_what_the_first_leaves():
    shelf = nuts([(PECANS, 300, None), (ALMONDS, 500, None)])
    two = [ONE_FOR_ONE, UsableSubstitute(HAZELNUTS, ALMONDS, 1.0)]

    [first, second] = stand_ins(shelf, [lost(HAZELNUTS, (0, 400))], two)[HAZELNUTS]

    assert (first.covers_base, first.left_base) == (300, 100)
    assert (second.covers_base, second.left_base) == (100, 0)
    assert not second.is_instead


def test_what_is_left_of_a_second_one_could_serve_instead():
    shelf = nuts([(PECANS, 900, None), (ALMONDS, 500, None)])
    three = [
        ONE_FOR_ONE,
        UsableSubstitute(HAZELNUTS, ALMONDS, 1.0),
        UsableSubstitute(WALNUTS, ALMONDS, 1.0),
    ]

    found = stand_ins(
        shelf, [lost(HAZELNUTS, (0, 400)), lost(WALNUTS, (0, 300))], three
    )

    # walnuts have nothing else, so 300 of the almonds are theirs
    [pecans, almonds] = found[HAZELNUTS]
    assert (pecans.covers_base, pecans.is_instead) == (400, False)
    assert (almonds.covers_base, almonds.is_instead) == (200, True)
    assert [row.covers_base for row in found[WALNUTS]] == [300]


def test_what_it_costs_more_is_said_at_the_best_prices():
    packs = [
        shelves.pack(HAZELNUTS, 1_000, 10),
        shelves.pack(PECANS, 1_000, 14),
        shelves.pack(PECANS, 500, 8),
    ]
    shelf = nuts([(PECANS, 1_000, None)], packs=packs)

    # 600 g at 14.00 a kg for 400 g at 10.00
    assert one(shelf, [(0, 400)], per_base=1.5).dearer == Decimal("4.40")


@pytest.mark.parametrize("sold", [HAZELNUTS, PECANS])
def test_without_both_prices_nothing_is_said_of_the_cost(sold):
    shelf = nuts([(PECANS, 1_000, None)], packs=[shelves.pack(sold, 1_000, 10)])

    assert one(shelf, [(0, 400)]).dearer is None


def test_what_is_left_can_be_ordered_where_a_truck_is_in_time():
    # noon on Monday: Tuesday's truck can be had up to 14:00
    shelf = nuts([(PECANS, 100, None)], packs=[shelves.pack(PECANS, 250, 3)])

    answer = one(shelf, [(0, 50), (2, 600)])

    # 550 are left on Wednesday: three packs of 250
    ordered = answer.ordered
    assert (answer.covers_base, answer.left_base) == (100, 550)
    assert (ordered.packs, ordered.cost) == (3, Decimal("9.00"))
    assert (ordered.covers_base, ordered.from_on) == (550, day(2))
    assert ordered.remedy.deliver_on == day(2)


def test_an_order_serves_only_the_days_on_which_it_comes_and_is_in_date():
    shelf = nuts([], keeps=2, packs=[shelves.pack(PECANS, 1_000, 3)])

    ordered = one(shelf, [(0, 100), (2, 200), (3, 300), (5, 400)]).ordered

    # nothing comes today; Wednesday's keeps up to Thursday
    assert (ordered.from_on, ordered.covers_base) == (day(2), 500)


def test_nothing_is_ordered_that_comes_too_late():
    shelf = nuts([], packs=[shelves.pack(PECANS, 1_000, 3)])

    assert one(shelf, [(0, 400)]).ordered is None


def test_what_is_retired_stands_in_for_nothing():
    shelf = nuts([(PECANS, 1_000, None)], packs=[shelves.pack(PECANS, 1_000, 3)])
    shelf.nodes.retired[PECANS] = True

    answer = one(shelf, [(3, 400)])

    assert (answer.takes_base, answer.ordered) == (0, None)


def test_what_is_not_lost_needs_no_substitute():
    assert stand_ins(nuts([(PECANS, 1_000, None)]), []) == {}


LOTS = st.lists(
    st.tuples(
        st.just(PECANS),
        st.integers(1, 9),
        st.one_of(st.none(), st.integers(0, 6)),
    ),
    max_size=4,
)


def hurt(kitchen, used, extra):
    """How much more is lacking, or missing to the safety, on the worst day."""
    window = shelves.window(MON, 7)

    def gaps(taken):
        by_date = {(PECANS, day(n)): amount for n, amount in taken.items()}
        days = simulate(kitchen, window, by_date).days
        safety = float(kitchen.nodes.safety_base[PECANS])
        rows = [days[PECANS, day(n)] for n in range(7)]
        return [
            *(row.outstanding for row in rows),
            *(max(safety - row.closing, 0) for row in rows),
        ]

    more = {n: used.get(n, 0) + extra.get(n, 0) for n in range(7)}
    pairs = zip(gaps(used), gaps(more), strict=True)
    return max(after - before for before, after in pairs)


@settings(max_examples=200, deadline=None)
@given(
    lots=LOTS,
    orders=st.lists(st.tuples(st.just(PECANS), st.integers(1, 9), st.integers(0, 6))),
    used=st.dictionaries(st.integers(0, 6), st.integers(1, 9), max_size=4),
    safety=st.integers(0, 6),
    keeps=st.sampled_from([-1, 1, 3]),
    on=st.integers(0, 6),
    wanted=st.integers(1, 12),
)
def test_all_that_is_free_is_taken_and_nobody_is_hurt(
    lots, orders, used, safety, keeps, on, wanted
):
    kitchen = nuts(lots, safety=safety, keeps=keeps, orders=orders)

    taken = one(
        kitchen, [(on, wanted)], used={(PECANS, n): used[n] for n in used}
    ).takes_base

    assert hurt(kitchen, used, {on: taken}) < 0.001
    assume(taken < wanted)
    assert hurt(kitchen, used, {on: taken + 0.5}) == pytest.approx(0.5)
