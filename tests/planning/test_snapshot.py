"""What the loader hands to the engine is what is stored, in five queries."""

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest

from planning.engine.demand.explosion import explode
from planning.engine.plan import Demand
from planning.engine.shelves.projection import project
from planning.plan.snapshot import bakery_terms, load_kitchen
from stock.models import Bakery, Movement
from tests import build
from tests.benchmarks.kitchens import MEDIUM, SMALL, kitchen_of, window_of
from tests.benchmarks.stored_kitchens import store, without_repeats
from tests.build import NOON

pytestmark = pytest.mark.django_db


def test_a_kitchen_comes_back_from_the_database_as_it_went_in():
    kitchen = without_repeats(kitchen_of(SMALL))
    window = window_of(SMALL)
    bakery = store(kitchen, SMALL)

    loaded = load_kitchen(bakery=bakery, as_of=window.as_of)

    expected, found = explode(kitchen, window), explode(loaded, window)
    for column in Demand.__dataclass_fields__:
        np.testing.assert_allclose(
            getattr(found.demand, column), getattr(expected.demand, column), rtol=1e-12
        )
    assert found.making == expected.making
    shelf, expected_shelf = (
        project(one, window, expected.demand) for one in (loaded, kitchen)
    )
    np.testing.assert_allclose(
        shelf.closing_base, expected_shelf.closing_base, rtol=1e-12
    )


@pytest.mark.parametrize("size", [SMALL, MEDIUM], ids=["S", "M"])
def test_it_takes_five_queries_whatever_the_size(size, django_assert_num_queries):
    bakery = store(without_repeats(kitchen_of(size)), size)

    with django_assert_num_queries(5):
        load_kitchen(bakery=bakery, as_of=window_of(size).as_of)


def test_an_empty_kitchen_is_one_too():
    kitchen = load_kitchen(bakery=Bakery(), as_of=NOON)

    assert list(kitchen.nodes.ids) == []
    assert kitchen.packs == ()


def test_stock_is_what_was_on_hand_at_the_moment():
    shelf = build.place()
    flour = build.item("flour", on_hand_base=9_000, place=shelf, at=NOON)
    build.stock(flour, 4_000, place=shelf, at=NOON + timedelta(hours=2))

    def on_hand_base(at):
        return load_kitchen(bakery=Bakery(), as_of=at).lots.amount_base.tolist()

    assert on_hand_base(NOON) == [9_000]
    assert on_hand_base(NOON + timedelta(hours=1)) == [9_000]
    assert on_hand_base(NOON + timedelta(hours=2)) == [13_000]


def test_before_anything_was_written_down_stock_is_as_it_was_first_known():
    shelf = build.place()
    flour = build.item("flour", on_hand_base=9_000, place=shelf, at=NOON)
    build.stock(flour, 4_000, place=shelf, at=NOON + timedelta(hours=2))

    kitchen = load_kitchen(bakery=Bakery(), as_of=NOON - timedelta(days=30))

    assert kitchen.lots.amount_base.tolist() == [9_000]


def test_what_has_been_received_of_an_order_is_no_longer_to_come():
    flour = build.item("flour")
    pack = build.pack(flour, size_base=1_000)
    build.order(pack.supplier, lines=[(pack, 5)]).lines.update(received_packs=2)

    kitchen = load_kitchen(bakery=Bakery(), as_of=NOON)

    assert kitchen.open_orders.amount_base.tolist() == [3_000]


def test_retired_packs_are_not_bought_but_still_arrive():
    flour = build.item("flour")
    pack = build.pack(flour, size_base=1_000, retired=True)
    build.order(pack.supplier, lines=[(pack, 1)])

    kitchen = load_kitchen(bakery=Bakery(), as_of=NOON)

    assert kitchen.packs == ()
    assert kitchen.open_orders.amount_base.tolist() == [1_000]


def test_prices_and_breaks_arrive_exactly():
    flour = build.item("flour")
    build.pack(flour, price=Decimal("118.8000"), price_breaks="10: 92.50; 20: 90")

    (pack,) = load_kitchen(bakery=Bakery(), as_of=NOON).packs

    assert [pack.price_at(packs) for packs in (1, 9, 10, 20)] == [
        Decimal("118.8"),
        Decimal("118.8"),
        Decimal("92.5"),
        Decimal(90),
    ]


def test_a_correction_below_zero_is_kept_as_it_is():
    shelf = build.place()
    flour = build.item("flour", on_hand_base=1_000, place=shelf)
    build.stock(flour, -1_500, place=shelf, kind=Movement.Kind.USED)

    lots = load_kitchen(bakery=Bakery(), as_of=NOON).lots

    assert lots.amount_base.tolist() == [-500]


def test_the_weekdays_at_whose_close_par_stands_reach_the_plan():
    bakery = build.bakery(par_days="Wed Sat")

    assert bakery_terms(bakery).par_weekdays == frozenset({2, 5})


def test_what_a_shop_sells_is_kept_apart_from_what_is_delivered():
    flour = build.item("flour")
    mill = build.supplier("Mill", cutoff_days="Tue 2; Fri 3")
    build.pack(flour, mill, label="sack")
    build.pack(flour, build.supplier("Corner", kind="shop"), label="bag")

    kitchen = load_kitchen(bakery=Bakery(), as_of=NOON)

    assert [pack.label for pack in kitchen.packs] == ["sack"]
    assert [pack.label for pack in kitchen.shop_packs] == ["bag"]
    assert [
        (terms.name, terms.is_shop, terms.cutoff_days_by_weekday)
        for terms in kitchen.suppliers
    ] == [("Corner", True, ()), ("Mill", False, ((1, 2), (4, 3)))]
