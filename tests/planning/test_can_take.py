"""Can we take it? From the database, and as the command says it."""

import json
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from planning.engine.scenarios.promise import PromiseAnswer
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    NoSuchCakeError,
    TakesRetiredError,
)
from planning.models import Order, OrderLine, PlannedCake
from planning.orders.drafting import draft_what_is_needed
from planning.plan.planner import make_plan, with_orders
from planning.scenarios.promise import AskedCake, can_take
from planning.wording.promise_words import (
    answer_words,
    horizon_words,
    line_words,
    order_notes,
    short_words,
)
from stock.models import Bakery, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.taking import (
    FRIDAY,
    SATURDAY,
    TELL,
    answer,
    answered,
    said,
    torte_kitchen,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def kitchen():
    return torte_kitchen()


def test_one_more_is_there_and_two_more_have_to_be_ordered(kitchen):
    # 1,000 - 400 for T-1: one more leaves 200, two more lack 200 on Saturday
    assert answer().answer is PromiseAnswer.FROM_THE_SHELVES
    assert answer(quantity=2.0, due_on=SATURDAY).answer is PromiseAnswer.IF_ORDERED


def test_names_are_compared_without_case(kitchen):
    assert answer(cake=" torte ").answer is PromiseAnswer.FROM_THE_SHELVES


def test_nothing_is_stored(kitchen):
    answer()

    assert PlannedCake.objects.count() == 1


@pytest.mark.parametrize(
    ("asked", "error"),
    [
        ({"cake": "Tort"}, NoSuchCakeError),
        ({"cake": "butter"}, NoSuchCakeError),
        ({"due_on": MONDAY - timedelta(days=1)}, DueInThePastError),
        ({"due_on": MONDAY + timedelta(days=366)}, DueTooFarAheadError),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(kitchen, asked, error):
    with pytest.raises(error):
        answer(**asked)


def test_a_cake_with_something_retired_in_it_gets_no_yes(kitchen):
    # Nobody watches what is retired, so whether there is enough of it is not known.
    paste = build.recipe("paste", lines=[(build.item("anise", retired=True), 5)])
    cake = build.cake("Anise cake", lines=[(paste, 100)])
    build.recipe_line(kitchen, build.item("rose", retired=True), 1)

    with pytest.raises(TakesRetiredError) as refusal:
        answer(cake=cake.item.name)

    assert str(refusal.value) == (
        "Anise cake takes anise. What is retired is not watched: remove it from its "
        "recipes, or bring it back on its page."
    )


def test_something_retired_that_a_cake_takes_no_more_of_is_no_matter(kitchen):
    # 1,000 g of the paste are there, and the cake takes 100.
    paste = build.recipe("paste", lines=[(build.item("anise", retired=True), 5)])
    build.stock(paste.item, 1_000)
    build.cake("Anise cake", lines=[(paste, 100)])

    assert answer(cake="Anise cake").answer is PromiseAnswer.FROM_THE_SHELVES


def test_a_day_beyond_the_horizon_is_looked_at_too(kitchen):
    # 600 are left for it; two of them take 800
    late = answer(due_on=MONDAY + timedelta(days=40), quantity=2.0)

    assert late.answer is PromiseAnswer.IF_ORDERED
    assert late.shorts[0].first_on == MONDAY + timedelta(days=40)


def test_it_reads_what_a_plan_reads(kitchen, django_assert_num_queries):
    planned = make_plan(bakery=Bakery.objects.get(), as_of=NOON)
    with django_assert_num_queries(1):  # and one for the lines of orders that wait
        can_take(planned, AskedCake("Torte", "", FRIDAY, 2.0))


def test_what_is_drafted_is_called_so_and_what_it_lacks_is_said(kitchen):
    build.planned_cake(kitchen, due_on=SATURDAY, quantity=2, reference="T-2")
    draft_what_is_needed(bakery=Bakery.objects.get(), at=NOON)
    asked = AskedCake("Torte", "", SATURDAY, 1.0)
    found = answered(asked)

    # 1,200 of 1,000 are planned, so a pack is suggested for Friday; 400 more fit in it.
    [order] = found.promise.orders
    [line] = order.lines
    assert answer_words(found, TELL) == (
        "Yes, if ordered as drafted: by Thu May 7, 2:00 pm from Dairy."
    )
    assert line_words(found, order, line) == (
        "1 \N{MULTIPLICATION SIGN} pack of 1000 g, butter: as drafted already"
    )
    reference = Order.objects.get().reference
    assert list(order_notes(found, order)) == [
        f"{reference} is a draft for this delivery."
    ]

    OrderLine.objects.update(packs=3)

    changed = answered(asked)
    assert line_words(changed, order, line) == (
        "1 \N{MULTIPLICATION SIGN} pack of 1000 g, butter: as suggested already; "
        f"{reference} has 3"
    )


def test_found_orders_that_people_go_by_are_asked_beside(kitchen):
    flour = build.item("flour", on_hand_base=500)
    build.pack(flour, build.supplier("Mill"), size_base=1_000, price="2")
    build.recipe_line(kitchen, flour, 300)
    build.planned_cake(kitchen, due_on=SATURDAY, reference="T-2")
    planned = make_plan(bakery=Bakery.objects.get(), as_of=NOON)
    [usual] = planned.plan.purchasing.orders
    twice = replace(usual.lines[0], packs=2)
    found = replace(planned.plan.purchasing, orders=(replace(usual, lines=(twice,)),))

    promise = can_take(
        with_orders(planned, found), AskedCake("Torte", "", SATURDAY, 2.0)
    ).promise

    # 600 of 500 are planned, 600 more asked: 1 pack of the usual rule has 900 to spare,
    # and the orders that people go by have two packs.
    lines = [line for order in promise.orders for line in order.lines]
    names = planned.kitchen.nodes.names
    assert [
        (line.packs, line.more_packs)
        for line in lines
        if names[line.pack.node] == "flour"
    ] == [(2, 0)]


def test_beyond_the_horizon_only_what_is_suggested_for_it_is_taken_as_suggested(
    kitchen,
):
    # Up to May 17 T-1's 400 of 1,000 are all; on May 20 another torte takes 400.
    late = MONDAY + timedelta(days=16)
    build.planned_cake(kitchen, due_on=late, quantity=2, reference="T-9")
    found = answered(AskedCake("Torte", "", late, 1.0))

    # 1,000 - 400 - 800 lack 200 without it, and no order is suggested for that yet.
    [order] = found.promise.orders
    [line] = order.lines
    assert (line.packs, line.more_packs, order.is_new) == (0, 1, True)
    assert order.more_cost == Decimal("9.99")
    assert horizon_words(found, TELL) == (
        "Orders are suggested up to Sun May 17 so far. What is to be ordered here "
        "beyond them is on no order yet."
    )


def test_cakes_that_are_short_anyway_are_not_put_down_to_this_one(kitchen, capsys):
    build.planned_cake(kitchen, due_on=SATURDAY, reference="T-2", quantity=2)

    lines = said("--cake", "Torte", "--on", "2026-05-08", capsys=capsys).splitlines()

    # 1,200 g of 1,000 on Saturday without it: the pack that is suggested for the 200
    # has 800 to spare.
    assert lines == [
        "Yes, from the shelves: stock and open orders are enough.",
        "Ingredients: $4.00, at the best price of each.",
        "Butter: 400 g shorter than without it, from Sat May 9; the suggested orders "
        "bring it.",
    ]


def test_what_it_takes_from_cakes_that_are_short_anyway_is_to_be_ordered(
    kitchen, capsys
):
    build.planned_cake(kitchen, due_on=SATURDAY, reference="T-2", quantity=4)

    lines = said("--cake", "Torte", "--on", "2026-05-08", capsys=capsys).splitlines()

    # 2,000 g of 1,000 on Saturday without it, and one pack is suggested for them.
    assert lines[:2] == [
        "Yes, from the shelves: stock and open orders are enough.",
        "To make up for what it takes, order by Thu May 7, 2:00 pm from Dairy; "
        "1 line grows.",
    ]
    assert not any("hurt" in line for line in lines)


def test_a_yes_that_hangs_on_a_minimum_says_so_and_counts_it(kitchen):
    Supplier.objects.update(minimum_order="25")
    found = answered(AskedCake("Torte", "", SATURDAY, 2.0))

    # 9.99 for the pack, and 15.01 for anything else
    assert answer_words(found, TELL) == (
        "Yes, if ordered by Thu May 7, 2:00 pm from Dairy, and filled up to the "
        "minimum of Dairy ($15.01 more); 1 order is new."
    )
    [order] = found.promise.orders
    assert order.more_cost == Decimal(25)
    assert list(order_notes(found, order)) == [
        "It is $15.01 under the minimum order of $25.00: fill it up with something, "
        "which is counted here, or it does not come."
    ]


def test_a_no_says_of_what_else_is_short_that_it_can_still_come(kitchen):
    # Nuts are sold by nobody: 50 g of none. Butter runs short on Saturday: T-1 takes
    # 400 and four more tortes 1,600 of 1,000, and Friday's delivery brings the rest.
    nuts = build.item("nuts", on_hand_base=0)
    build.recipe_line(kitchen, nuts, 50)
    PlannedCake.objects.update(due_on=SATURDAY + timedelta(days=1))

    found = answered(AskedCake("Torte", "", SATURDAY, 4.0))

    said = {
        found.kitchen.nodes.names[row.node]: short_words(found, row, TELL)
        for row in found.promise.shorts
    }
    assert found.promise.answer is PromiseAnswer.NO
    assert said["butter"] == (
        "1 kg short from Sat May 9; Torte, Sun May 10 (T-1), would lack it too; a "
        "delivery can still bring "
        "it."
    )
    assert said["nuts"].startswith("200 g")
    assert not said["nuts"].endswith("bring it.")


def test_later_cakes_are_not_said_to_lack_something_beside_a_cake_that_has_it(kitchen):
    # 800 of 1,000 on Friday are on the shelf; Saturday's T-1 lacks 200 of its 400.
    found = answered(AskedCake("Torte", "", FRIDAY, 2.0))

    [row] = found.promise.shorts
    assert short_words(found, row, TELL) == (
        "200 g short from Sat May 9; Torte, Sat May 9 (T-1), would lack it."
    )


def test_what_suggested_orders_bring_is_said_beside_the_cakes_that_hang_on_it(kitchen):
    # T-3's two on Monday lack 200 of 1,000 - 400, and Friday's pack is suggested for
    # them. Two more on Friday take 800: T-1 lacks 200 then, but for that pack.
    build.planned_cake(
        kitchen, due_on=MONDAY + timedelta(days=7), reference="T-3", quantity=2
    )

    found = answered(AskedCake("Torte", "", FRIDAY, 2.0))

    [row] = found.promise.shorts
    assert short_words(found, row, TELL) == (
        "800 g shorter than without it, from Sat May 9; Torte, Sat May 9 (T-1), "
        "would lack it, "
        "unless the suggested "
        "orders come."
    )


def test_the_json_names_the_cakes_that_are_short_already_and_shorter_with_it(
    kitchen, capsys
):
    build.planned_cake(kitchen, due_on=SATURDAY, reference="T-2", quantity=2)
    Pack.objects.all().delete()

    words = said("--cake", "torte", "--on", "2026-05-08", "--json", capsys=capsys)

    # Saturday takes 1,200 g of 1,000 without it, and nobody sells any.
    assert json.loads(words)["hurts"] == ["T-1", "T-2"]
