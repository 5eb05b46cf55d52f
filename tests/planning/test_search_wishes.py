"""What a buyer wishes of a search: kept exactly, followed, and its price known."""

from datetime import timedelta
from decimal import Decimal

import pytest

from planning.engine.ordering.instance.wishes import (
    NOTHING_WISHED,
    FixedLine,
    KeptWishes,
)
from planning.models import OrderSearch
from planning.plan.planner import make_plan
from planning.search.errors import SearchMovedOnError
from planning.search.searching import (
    SearchRequest,
    found_without_wishes,
    last_search,
    start_search,
    with_found,
)
from planning.search.worker import look_for_orders
from stock.models import Bakery, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

TUESDAY, WEDNESDAY, FRIDAY, SATURDAY = (
    MONDAY + timedelta(days=days) for days in (1, 2, 4, 5)
)


@pytest.fixture
def dairy():
    return build.dairy_kitchen()


def search(wishes=NOTHING_WISHED, **asked):
    search_id = start_search(SearchRequest("quick", wishes), at=NOON, **asked)
    look_for_orders(search_id, now=lambda: NOON)
    return OrderSearch.objects.get(pk=search_id)


def fixed(label, deliver_on, packs):
    return FixedLine(Pack.objects.get(label=label).pk, deliver_on, packs)


def plan():
    return make_plan(bakery=Bakery(), as_of=NOON)


def bought(row):
    """The packs that a search found, by day."""
    orders = with_found(plan(), row).plan.purchasing.orders
    return [
        (order.deliver_on, line.pack.label, line.packs)
        for order in orders
        for line in order.lines
    ]


def test_wishes_are_kept_exactly(dairy):
    wishes = KeptWishes(
        fixed_lines=(fixed("brick", TUESDAY, 2), fixed("bag", FRIDAY, 0)),
        left_out=(dairy.pk,),
        preferred=(7, 9),
        forbidden_deliveries=((dairy.pk, TUESDAY),),
        preferred_deliveries=((dairy.pk, FRIDAY), (7, SATURDAY)),
    )

    start_search(SearchRequest("quick", wishes), at=NOON)

    assert last_search().kept_wishes == wishes


@pytest.mark.parametrize(
    ("label", "day", "packs", "expected"),
    [
        ("brick", TUESDAY, 3, [(TUESDAY, "brick", 3), (TUESDAY, "bag", 1)]),
        ("bag", TUESDAY, 0, [(TUESDAY, "brick", 1), (FRIDAY, "bag", 1)]),
        ("bag", FRIDAY, 1, [(TUESDAY, "brick", 1), (FRIDAY, "bag", 1)]),
    ],
)
def test_a_fixed_line_is_kept_and_the_rest_planned_around_it(
    dairy, label, day, packs, expected
):
    row = search(KeptWishes(fixed_lines=(fixed(label, day, packs),)))

    assert bought(row) == expected
    assert row.outcome["warnings"] == []


def test_an_item_comes_on_the_delivery_that_is_preferred(dairy):
    row = search(KeptWishes(preferred_deliveries=((dairy.pk, FRIDAY),)))

    # The brick is needed on Wednesday: that delivery would come too late for it.
    assert bought(row) == [(TUESDAY, "brick", 1), (FRIDAY, "bag", 1)]


def test_what_wishes_leave_short_is_put_down_to_them(dairy):
    row = search(KeptWishes(forbidden_deliveries=((dairy.pk, TUESDAY),)))

    assert row.outcome["warnings"] == [
        "Butter: out on Wed May 6, 500 g short, because of your wishes."
    ]


@pytest.mark.parametrize(
    ("level", "sentence"),
    [
        (
            "safety",
            "Cocoa: 200 g below its safety on Tue May 5, because of your wishes.",
        ),
        ("par", "Cocoa: 200 g below its par on Sun May 10, because of your wishes."),
    ],
)
def test_wishes_that_leave_less_than_safety_or_par_say_so(dairy, level, sentence):
    cocoa = build.item("cocoa", on_hand_base=100, **{f"{level}_base": 300})
    build.pack(cocoa, build.supplier("Beans"), size_base=300, label="tin")
    left_out = (Supplier.objects.get(name="Beans").pk,)

    row = search(KeptWishes(left_out=left_out))

    assert row.outcome["warnings"][0] == sentence
    # Nobody could have come on Monday; what lacks from Tuesday on is told once.
    assert row.outcome["warnings"][1:] == (
        [
            "Cocoa: below safety on Mon May 4, and no delivery that can still be "
            "ordered helps."
        ]
        if level == "safety"
        else []
    )


def test_what_no_delivery_saves_is_not_put_down_to_wishes(dairy):
    build.planned_cake(build.cake(lines=[(build.item("salt"), 5)]), due_on=WEDNESDAY)

    row = search(KeptWishes(preferred=(dairy.pk,)))

    (warning,) = row.outcome["warnings"]
    assert "wishes" not in warning


def test_a_fixed_line_that_cannot_reach_the_minimum_order_is_said_to_fall_away(dairy):
    far = build.supplier("Far Dairy", minimum_order=100)
    build.pack(build.item("salt"), far, size_base=500, price="10", label="box")

    row = search(KeptWishes(fixed_lines=(fixed("box", TUESDAY, 2),)))

    assert row.outcome["warnings"] == [
        "Far Dairy does not come on Tue May 5: with what you fixed the order there "
        "stays below its minimum of $100.00."
    ]


def test_wishes_stand_beside_the_best_without_them(dairy):
    free = search()

    bound = search(KeptWishes(preferred_deliveries=((dairy.pk, FRIDAY),)))

    found, without = found_without_wishes(plan())
    assert found == free
    assert without.plan.purchasing.total_cost == Decimal("28.00")
    assert bound.paid == Decimal("43.00")


def test_the_best_without_wishes_stays_while_wishes_change(dairy):
    free = search()
    for day in (TUESDAY, FRIDAY):
        search(KeptWishes(preferred_deliveries=((dairy.pk, day),)))

    assert OrderSearch.objects.count() == 2
    assert found_without_wishes(plan())[0] == free


def test_the_best_for_another_kitchen_is_no_comparison(dairy):
    search()
    Supplier.objects.update(delivery_fee=14)

    search(KeptWishes(preferred=(dairy.pk,)))

    assert found_without_wishes(plan()) is None


def test_a_search_that_nobody_has_seen_yet_is_not_replaced(dairy):
    seen = search()
    search(KeptWishes(preferred=(dairy.pk,)), seen_id=seen.pk)

    with pytest.raises(SearchMovedOnError):
        search(seen_id=seen.pk)

    assert last_search().kept_wishes.preferred == (dairy.pk,)
