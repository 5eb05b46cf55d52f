"""Orders around a buyer's wishes, on random kitchens: kept, and as cheap as can be."""

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.costing import sellable
from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.instance.wishes import FixedLine, Wishes
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, kitchens

DAYS = 6
WINDOW = shelves.window(MON, DAYS)


def ordered(kitchen, used, **kwargs):
    return best_orders(
        kitchen,
        WINDOW,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, WINDOW),
        effort=QUICK,
        **kwargs,
    )


def bought(kitchen, purchasing):
    """The packs of every line, by supplier, day and pack."""
    return {
        (order.supplier, order.deliver_on, line.pack.pack_id): line.packs
        for order in purchasing.orders
        for line in order.lines
    }


@st.composite
def fixed_lines(draw, kitchen, most=3):
    """Some lines to fix, each on a delivery of its own supplier."""
    trucks = possible_deliveries(kitchen, WINDOW)
    cells = [
        (pack, truck.deliver_on)
        for pack in kitchen.packs
        for truck in trucks
        if truck.supplier == pack.supplier
    ]
    assume(cells)
    chosen = draw(
        st.lists(
            st.sampled_from(range(len(cells))), min_size=1, max_size=most, unique=True
        )
    )
    return {
        (pack.supplier, on, pack.pack_id): draw(
            st.sampled_from([0, sellable(pack, 1), sellable(pack, 3)])
        )
        for pack, on in (cells[place] for place in chosen)
    }


def wishes_of(fixed):
    return Wishes(
        fixed_lines=tuple(
            FixedLine(pack_id, on, packs) for (_, on, pack_id), packs in fixed.items()
        )
    )


@settings(max_examples=60, deadline=None)
@given(st.data(), kitchens(items=3, most_packs=5))
def test_a_fixed_line_stays_as_it_is_unless_its_delivery_is_under_its_minimum(
    data, case
):
    kitchen, used = case
    fixed = data.draw(fixed_lines(kitchen))

    found = ordered(kitchen, used, wishes=wishes_of(fixed))

    lines = bought(kitchen, found)
    comes = {(supplier, on) for supplier, on, _ in lines}
    for (supplier, on, pack_id), packs in fixed.items():
        if (supplier, on) in comes:
            assert lines.get((supplier, on, pack_id), 0) == packs
        else:
            assert not packs or kitchen.suppliers[supplier].minimum_order > 0


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_fixing_what_is_best_changes_nothing_of_what_is_paid(case):
    kitchen, used = case
    free = ordered(kitchen, used)
    assume(free.proof.status == "proven")

    again = ordered(kitchen, used, wishes=wishes_of(bought(kitchen, free)))

    assert bought(kitchen, again).items() >= bought(kitchen, free).items()


@settings(max_examples=60, deadline=None)
@given(st.data(), kitchens(items=3, most_packs=5))
def test_nothing_comes_on_a_delivery_that_is_left_out(data, case):
    kitchen, used = case
    trucks = possible_deliveries(kitchen, WINDOW)
    assume(trucks)
    out = {(truck.supplier, truck.deliver_on) for truck in trucks}
    out = frozenset(data.draw(st.sets(st.sampled_from(sorted(out)), min_size=1)))

    found = ordered(kitchen, used, wishes=Wishes(forbidden_deliveries=out))

    assert not {(each.supplier, each.deliver_on) for each in found.orders} & out
