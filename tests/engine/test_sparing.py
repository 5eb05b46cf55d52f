"""Goods that go out of date before a lack, used first, leave older stock for it."""

from tests.engine import shelves
from tests.engine.usual_questions import bought, day, lines_of


def cream(last_day=6, *, packs=None, **item):
    """20 g that keep to a day; Dairy's comes on Monday alone and keeps to Tuesday."""
    return shelves.kitchen(
        shelves.items({"name": "cream", "keeps": 2, **item}),
        lots=[(0, 20, day(last_day))],
        suppliers=[shelves.supplier("Dairy", days=(0,), cutoff_days=0)],
        packs=packs or [shelves.pack(0, 10, 5)],
    )


def test_half_a_gram_is_spared_too():
    purchasing = bought(cream(), {(0, 1): 15, (0, 4): 5.5})

    assert lines_of(purchasing) == [(0, 0, 1)]
    assert purchasing.warnings == ()


def test_a_millionth_of_a_pack_is_not():
    # A hundredth of a gram is short on Friday, and a pack holds 20 kg.
    kitchen = cream(packs=[shelves.pack(0, 20_000, 5)])

    purchasing = bought(kitchen, {(0, 1): 15, (0, 4): 5.01})

    assert (purchasing.orders, purchasing.warnings) == ((), ())


def test_stock_is_spared_for_its_last_day():
    assert lines_of(bought(cream(last_day=4), {(0, 1): 15, (0, 4): 15})) == [(0, 0, 1)]


def test_stock_that_is_out_of_date_by_then_is_not_spared():
    # Friday's 15 g cannot come from what keeps to Thursday, spared or not.
    assert lines_of(bought(cream(last_day=3), {(0, 1): 15, (0, 4): 15})) == []


def test_what_stands_at_the_close_of_the_day_is_spared_for_safety():
    # Tuesday closes at the safety of 15 g, Thursday at 10 g. Used on Tuesday, Monday's
    # leave 5 g.
    purchasing = bought(cream(safety=15.0), {(0, 1): 5, (0, 3): 5})

    assert lines_of(purchasing) == [(0, 0, 1)]
    assert purchasing.orders[0].lines[0].because[0] == (
        "Cream: below safety on Thu May 7; 5 g of that spared by what is used first."
    )
