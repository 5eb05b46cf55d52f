"""What one more cake asks for in random kitchens: enough, and never more than that."""

import itertools
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NodeKind, OpenOrderLines, PriceBreak
from planning.engine.scenarios.one_more import OneMore, with_cake
from planning.engine.scenarios.promise import Cause, Promiser
from planning.engine.shelves.projection import LEAST_LACK_BASE, project
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.benchmarks import kitchens
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, window


def with_orders(kitchen, bought):
    """The kitchen with packs on open orders: (pack, packs, delivery)."""
    known = kitchen.open_orders
    return replace(
        kitchen,
        open_orders=OpenOrderLines(
            [*known.references, *("new" for _ in bought)],
            np.append(known.supplier, [pack.supplier for pack, _, _ in bought]).astype(
                np.int64
            ),
            np.append(known.node, [pack.node for pack, _, _ in bought]).astype(
                np.int64
            ),
            np.append(known.amount_base, [p.size_base * n for p, n, _ in bought]),
            [*known.due_on, *(deliver_on for _, _, deliver_on in bought)],
        ),
    )


def outstanding(kitchen, days_ahead):
    return project(kitchen, days_ahead, explode(kitchen, days_ahead).demand)


@settings(max_examples=80, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    number=st.integers(0, 20),
    days=st.integers(0, 13),
    quantity=st.sampled_from([1.0, 6.0]),
)
@example(seed=8282, number=0, days=0, quantity=1.0)  # short without the cake as well
@example(seed=9539, number=1, days=0, quantity=6.0)  # a later pack makes one needless
def test_what_has_to_be_ordered_is_enough_and_one_pack_less_is_not(
    seed, number, days, quantity
):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kitchens, "SEED", seed)
        kitchen = kitchens.kitchen_of(kitchens.SMALL)
    days_ahead = kitchens.window_of(kitchens.SMALL)
    cakes = np.flatnonzero(kitchen.nodes.kind == NodeKind.CAKE).tolist()
    due_on = kitchens.FROM_ON + timedelta(days=days)
    one_more = OneMore(cakes[number % len(cakes)], "", due_on, quantity)
    explosion = explode(kitchen, days_ahead)
    deliveries = possible_deliveries(kitchen, days_ahead)
    orders = usual_rule(kitchen, days_ahead, explosion.demand, deliveries).orders

    promise = Promiser(explosion, days_ahead, deliveries, orders).ask(one_more)

    suggested = [
        (line.pack, line.packs, order.deliver_on)
        for order in orders
        for line in order.lines
    ]
    more = [
        (line.pack, line.more_packs, order.delivery.deliver_on)
        for order in promise.orders
        for line in order.lines
        if line.more_packs
    ]
    before = outstanding(with_orders(kitchen, suggested), days_ahead)
    asked = with_cake(kitchen, days_ahead, one_more)

    def lacking(bought):
        after = outstanding(with_orders(asked, [*suggested, *bought]), days_ahead)
        more_base = after.outstanding_base - before.outstanding_base
        rows = np.flatnonzero((more_base >= LEAST_LACK_BASE).any(axis=1)).tolist()
        return {after.nodes[row] for row in rows}

    unsaved = {row.node for row in promise.blocks if row.cause != Cause.MADE_TOO_LATE}
    assert lacking(more) == unsaved
    for place, (pack, count, deliver_on) in enumerate(more):
        if pack.node not in unsaved:
            fewer = [*more[:place], (pack, count - 1, deliver_on), *more[place + 1 :]]
            is_dearer = spent(fewer, suggested) > spent(more, suggested)
            assert is_dearer or pack.node in lacking(fewer)
    for node in {pack.node for pack, _, _ in more} - unsaved:
        others = [each for each in more if each[0].node != node]
        mine = on_the_same_deliveries(kitchen, node, more)
        for counts in other_numbers(mine, suggested):
            tried = [(p, n, on) for (p, _, on), n in zip(mine, counts, strict=True)]
            if spent(tried, suggested) < spent(mine, suggested):
                assert node in lacking([*others, *(each for each in tried if each[1])])


def on_the_same_deliveries(kitchen, node, more):
    """The lines of an item, and those that its deliveries could have besides."""
    counts = {(pack.pack_id, on): count for pack, count, on in more}
    trucks = {(pack.supplier, on) for pack, _, on in more if pack.node == node}
    return [
        (pack, counts.get((pack.pack_id, on), 0), on)
        for supplier, on in sorted(trucks)
        for pack in kitchen.packs
        if (pack.node, pack.supplier) == (node, supplier)
    ]


def other_numbers(lines, suggested, most_tried=60):
    """Other numbers of packs, a few above what is asked for and those of a break."""
    sold = [
        [
            packs
            for packs in range(last_number(pack, count) + 1)
            if packs == 0 or is_sold(pack, packs + there(pack, on, suggested))
        ]
        for pack, count, on in lines
    ]
    if np.prod([len(numbers) for numbers in sold]) > most_tried:
        return []
    return itertools.product(*sold)


def last_number(pack, count):
    return max(count, *(step.from_packs for step in pack.breaks), 0) + 2 * pack.multiple


def is_sold(pack, packs):
    return packs >= pack.minimum_packs and packs % pack.multiple == 0


def there(pack, on, suggested):
    """How many packs of a line are suggested."""
    return sum(
        packs
        for other, packs, day_of in suggested
        if (other.pack_id, day_of) == (pack.pack_id, on)
    )


def spent(lines, suggested):
    """What some lines cost on top of those that are suggested."""
    cost = Decimal(0)
    for pack, count, on in lines:
        before = there(pack, on, suggested)
        for packs, sign in ((before + count, 1), (before, -1)):
            cost += sign * (pack.price_at(packs) * packs).quantize(Decimal("0.01"))
    return cost


@st.composite
def butter_questions(draw):
    """Butter for a torte and, days before, for its cream; and one torte more."""
    small = SmallKitchen().item("butter")
    small.nodes["butter"]["keeps_days"] = draw(st.sampled_from([1, 1, 2, 2, 3, 5]))
    small.recipe("cream", {"butter": 1}, yields=1.0, lead_days=draw(st.integers(1, 3)))
    small.cake("Torte", {"butter": 10, "cream": 8})
    due = st.integers(0, 6)
    for number, on in enumerate(draw(st.lists(due, max_size=4))):
        small.plan(f"T-{number}", "Torte", day(on), draw(st.sampled_from([1.0, 2.0])))
    for _ in range(draw(st.integers(0, 2))):
        use_by = draw(st.one_of(st.none(), due.map(day)))
        small.stock("butter", draw(st.integers(1, 90)), use_by)
    sold = [
        shelves.pack(
            0,
            draw(st.integers(3, 15)),
            draw(st.integers(1, 9)),
            supplier=draw(st.integers(0, 1)),
            pack_id=number,
            minimum_packs=draw(st.sampled_from([1, 1, 2])),
            multiple=draw(st.sampled_from([1, 1, 2])),
            breaks=draw(BREAKS),
        )
        for number in range(draw(st.integers(1, 3)))
    ]
    suppliers = [
        shelves.supplier(name, days=draw(st.sets(due, min_size=3)))
        for name in ("Dairy", "Mill")
    ]
    kitchen = replace(small.build(), suppliers=tuple(suppliers), packs=tuple(sold))
    asked_for = day(draw(st.integers(3, 6)))
    asked = OneMore(small.index("Torte"), "", asked_for, draw(QUANTITIES))
    return kitchen, asked


QUANTITIES = st.sampled_from([1.0, 3.0, 6.0])
BREAKS = st.one_of(
    st.just(()),
    st.builds(
        lambda from_packs, cents: (PriceBreak(from_packs, Decimal(cents) / 100),),
        st.integers(2, 12),
        st.integers(1, 400),
    ),
)


@settings(max_examples=300, deadline=None)
@given(butter_questions())
def test_no_cheaper_packs_of_the_lines_asked_for_would_do(case):
    kitchen, asked = case
    days_ahead = window()
    explosion = explode(kitchen, days_ahead)
    deliveries = possible_deliveries(kitchen, days_ahead)
    orders = usual_rule(kitchen, days_ahead, explosion.demand, deliveries).orders
    suggested = [
        (line.pack, line.packs, order.deliver_on)
        for order in orders
        for line in order.lines
    ]

    promise = Promiser(explosion, days_ahead, deliveries, orders).ask(asked)

    more = [
        (line.pack, line.more_packs, order.delivery.deliver_on)
        for order in promise.orders
        for line in order.lines
        if line.more_packs
    ]
    before = outstanding(with_orders(kitchen, suggested), days_ahead)
    with_it = with_cake(kitchen, days_ahead, asked)

    def owed(bought):
        after = outstanding(with_orders(with_it, [*suggested, *bought]), days_ahead)
        more_base = after.outstanding_base[0] - before.outstanding_base[0]
        return np.maximum(more_base, 0.0)

    left = owed(more)
    lines = on_the_same_deliveries(kitchen, 0, more)
    for counts in other_numbers(lines, suggested, most_tried=2_000):
        tried = [(p, n, on) for (p, _, on), n in zip(lines, counts, strict=True)]
        if spent(tried, suggested) < spent(more, suggested):
            fewer = owed([each for each in tried if each[1]])
            assert (fewer - left).max() >= LEAST_LACK_BASE
