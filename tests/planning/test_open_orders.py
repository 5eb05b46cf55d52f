from datetime import date
from decimal import Decimal
from functools import partial

import pytest

from planning.interchange.kitchens import SheetRows, keep_kitchen
from planning.models import Order, OrderLine, OrderStep
from planning.orders.held_packs import held_packs
from planning.orders.open_orders import keep_open_orders, open_order_entries
from planning.orders.order_book import booked_order
from planning.orders.orders import Hand, approve_order, send_order
from stock.entry.entries import EntryFaultsError
from stock.models import Item, Pack, Place
from tests import build, faults
from tests.build import NOON
from tests.planning.deliveries import receive, undo

pytestmark = pytest.mark.django_db

LINE = {
    "order": "PO-1",
    "supplier": "Mill",
    "item": "flour",
    "pack": "sack",
    "packs": "4",
    "due": "2026-05-08",
}


@pytest.fixture(autouse=True)
def mill():
    mill = build.supplier("Mill")
    build.supplier("Dairy")
    build.pack(build.item("flour"), mill, label="sack", price="23.40")
    build.pack(build.item("sugar"), mill, label="bag")
    return mill


faults_of = partial(faults.of, keep_open_orders)


def test_lines_of_one_number_are_one_order_that_was_sent(mill):
    keep_open_orders(
        [LINE, LINE | {"item": "sugar", "pack": "BAG", "due": "2026-05-06"}]
    )

    order = Order.objects.get()
    assert (order.supplier, order.state) == (mill, "sent")
    assert order.deliver_on == date(2026, 5, 6)
    flour = order.lines.get(pack__item__name="flour")
    assert (flour.packs, flour.due_on) == (4, date(2026, 5, 8))
    assert flour.price == Decimal("23.4")


def test_the_same_lines_again_change_nothing():
    keep_open_orders([LINE])

    assert keep_open_orders([LINE | {"order": "po-1"}]).unchanged == 1


def test_what_has_been_received_stands_beside_what_was_ordered():
    keep_open_orders([LINE])
    OrderLine.objects.update(received_packs=1)

    [entry] = open_order_entries()
    assert (entry["packs"], entry["received_packs"]) == (4, 1)
    assert keep_open_orders(open_order_entries()).unchanged == 1


def test_more_than_was_ordered_cannot_have_been_received():
    found = faults_of([LINE | {"received_packs": "5"}])

    assert list(found) == [(1, "received_packs")]
    assert "Only 4 were ordered" in found[1, "received_packs"]


def test_a_later_day_moves_the_order():
    keep_open_orders([LINE])

    keep_open_orders([LINE | {"due": "2026-05-12"}])

    assert Order.objects.get().deliver_on == date(2026, 5, 12)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("supplier", "Mil", "Did you mean Mill?"),
        ("item", "flower", 'There is no item "flower".'),
        ("pack", "sacks", 'no pack of flour from Mill "sacks". Did you mean sack?'),
        ("pack", "bag", 'There is no pack of flour from Mill "bag".'),
        ("packs", "0", "1 or more"),
        ("due", "soon", "isn't a date"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(column, value, words):
    faults = faults_of([LINE | {column: value}])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]
    assert not Order.objects.exists()


def test_one_order_has_one_supplier():
    build.pack(build.item("milk"), build.supplier("Farm"), label="jug")

    faults = faults_of(
        [LINE, LINE | {"supplier": "Farm", "item": "milk", "pack": "jug"}]
    )

    assert faults == {
        (2, "supplier"): "PO-1 is an order to Mill; one order has one supplier."
    }


@pytest.mark.parametrize("state", ["draft", "received", "cancelled"])
def test_an_order_that_is_not_open_is_not_opened_by_a_row(mill, state):
    build.order(mill, reference="PO-1", state=state)

    faults = faults_of([LINE])

    assert faults[1, "order"].startswith(f"PO-1 is {state} here")


class TestSentFromHere:
    """Four sacks of flour for Friday were drafted, approved and sent from here."""

    @pytest.fixture
    def sent(self, mill):
        sack = mill.packs.get(label="sack")
        order = build.order(
            mill,
            reference="PO-1",
            deliver_on=date(2026, 5, 8),
            state="draft",
            lines=[(sack, 4)],
        )
        approved = approve_order(Hand(order.pk, order.version, at=NOON))
        return send_order(Hand(order.pk, approved.version, at=NOON))

    @pytest.mark.parametrize(
        ("column", "value", "stands"),
        [("packs", "40", "packs 4"), ("due", "2026-05-15", "due 2026-05-08")],
    )
    def test_its_packs_and_its_day_are_not_changed(self, sent, column, value, stands):
        before = open_order_entries()

        faults = faults_of([LINE | {column: value}])

        assert faults == {
            (1, column): f"PO-1 was sent from here with {stands}. Leave it as it is, "
            "or cancel that order and send another one."
        }
        assert open_order_entries() == before
        assert Order.objects.get().deliver_on == date(2026, 5, 8)

    def test_nothing_is_added_to_it(self, sent):
        faults = faults_of([LINE, LINE | {"item": "sugar", "pack": "bag"}])

        assert list(faults) == [(2, "pack")]
        assert faults[2, "pack"].startswith("PO-1 was sent without this.")
        assert OrderLine.objects.count() == 1

    def test_all_of_its_faults_are_named(self, sent):
        faults = faults_of([LINE | {"packs": "3", "due": "2026-05-15"}])

        assert list(faults) == [(1, "packs"), (1, "due")]

    def test_what_was_received_may_grow_and_be_corrected(self, sent):
        keep_open_orders([LINE | {"received_packs": "3"}])
        assert OrderLine.objects.get().received_packs == 3

        kept = keep_open_orders([LINE | {"received_packs": "1"}])

        assert OrderLine.objects.get().received_packs == 1
        assert [(c.column, c.before, c.after) for c in kept.changed] == [
            ("received_packs", "3", "1")
        ]

    def test_less_than_deliveries_brought_is_refused_and_a_file_is_corrected(
        self, sent
    ):
        keep_open_orders([LINE | {"received_packs": "1"}])
        build.bakery(time_zone="UTC")
        Item.objects.filter(name="flour").update(place=build.place("rack"))
        delivery = receive(Order.objects.get(), 2, closes=False)
        before = open_order_entries()

        for stale in ("0", "1"):
            assert faults_of([LINE | {"received_packs": stale}]) == {
                (1, "received_packs"): "PO-1 was received here: deliveries brought 2 "
                "of this. Enter 2 or more. A wrong delivery is undone on the order's "
                "page, on its own day only."
            }
        assert open_order_entries() == before
        assert keep_open_orders([LINE | {"received_packs": "3"}]).unchanged == 1
        keep_open_orders([LINE | {"received_packs": "2"}])
        assert OrderLine.objects.get().received_packs == 2
        undo(delivery)
        assert OrderLine.objects.get().received_packs == 0

    def test_what_all_came_here_is_left_as_it_is(self, sent):
        build.bakery(time_zone="UTC")
        Item.objects.filter(name="flour").update(place=build.place("rack"))
        keep_open_orders([LINE | {"received_packs": "1"}])
        receive(Order.objects.get(), 3)

        assert keep_open_orders([LINE | {"received_packs": "4"}]).unchanged == 1
        faults = faults_of([LINE | {"received_packs": "3"}])
        assert faults[1, "order"].startswith("PO-1 is received here")
        assert state() == "received"

    def test_a_row_that_leaves_out_what_was_received_leaves_it_as_it_is(self, sent):
        keep_open_orders([LINE | {"received_packs": "3"}])

        assert keep_open_orders([LINE]).unchanged == 1
        assert OrderLine.objects.get().received_packs == 3

    def test_the_same_again_is_fine(self, sent):
        assert keep_open_orders([LINE]).unchanged == 1
        assert keep_open_orders(open_order_entries()).unchanged == 1
        assert Order.objects.get().version == sent.version

    def test_a_whole_kitchen_names_the_cell_and_stores_nothing(self, sent):
        sheet = SheetRows([LINE | {"packs": "40"}], rows=[7])
        places = SheetRows([{"place": "cellar"}])

        with pytest.raises(EntryFaultsError) as caught:
            keep_kitchen({"Places": places, "Open orders": sheet})

        [fault] = caught.value.faults
        assert (fault.sheet, fault.row, fault.column) == ("Open orders", 7, "packs")
        assert not Place.objects.exists()


def steps():
    rows = OrderStep.objects.values_list("state", "imported", "by__username")
    return list(rows)


def test_a_state_that_a_file_brings_about_is_a_step_of_the_order():
    ada = build.user("ada")
    keep_open_orders([LINE], by_id=ada.pk)
    assert steps() == []  # it came in as sent: nobody took a step

    for _ in range(2):
        keep_open_orders([LINE | {"received_packs": "4"}], by_id=ada.pk)
    keep_open_orders([LINE | {"received_packs": "0"}], by_id=ada.pk)

    assert steps() == [("received", True, "ada"), ("sent", True, "ada")]
    # A file that says it is still to come has not sent it from here.
    keep_open_orders([LINE | {"packs": "6"}])
    assert OrderLine.objects.get().packs == 6
    pack = Pack.objects.get(label="sack")
    assert held_packs([pack.pk]) == {}


def test_the_steps_of_a_whole_kitchen_say_whose_file_it_was():
    ada = build.user("ada")
    for received in ("0", "4"):
        sheet = SheetRows([LINE | {"received_packs": received}])
        keep_kitchen({"Open orders": sheet}, by_id=ada.pk)

    assert steps() == [("received", True, "ada")]


def test_an_order_known_by_import_alone_may_change_and_counts_its_changes():
    keep_open_orders([LINE])

    keep_open_orders([LINE | {"packs": "6", "due": "2026-05-12"}])

    order, line = Order.objects.get(), OrderLine.objects.get()
    assert (line.packs, order.deliver_on) == (6, date(2026, 5, 12))
    assert order.version == 2


def state():
    return Order.objects.get().state


@pytest.mark.parametrize("start", ["0", "3"])
def test_an_order_whose_lines_all_came_is_received(start):
    keep_open_orders([LINE | {"received_packs": start}])
    assert state() == ("part received" if start == "3" else "sent")

    keep_open_orders([LINE | {"received_packs": "4"}])

    assert state() == "received"
    assert open_order_entries() == []
    booked = booked_order(Order.objects.get(), bakery=build.bakery())
    assert not booked.is_overdue(date(2026, 6, 1))
    assert keep_open_orders([LINE | {"received_packs": "4"}]).unchanged == 1


def test_packs_lowered_to_what_came_settle_the_order():
    keep_open_orders([LINE | {"received_packs": "3"}])

    keep_open_orders([LINE | {"packs": "3"}])

    assert state() == "received"


def test_an_order_that_was_left_open_is_settled_by_the_same_again():
    keep_open_orders([LINE | {"received_packs": "4"}])
    Order.objects.update(state="sent")

    assert keep_open_orders([LINE | {"received_packs": "4"}]).unchanged == 1

    assert state() == "received"


def test_a_line_that_is_still_to_come_keeps_its_order_open():
    sugar = LINE | {"item": "sugar", "pack": "bag"}
    keep_open_orders([LINE, sugar])

    keep_open_orders([LINE | {"received_packs": "4"}])
    assert state() == "part received"
    keep_open_orders([sugar | {"received_packs": "4"}])
    assert state() == "received"


def test_a_mistake_of_a_file_about_a_received_order_is_corrected_by_a_file():
    keep_open_orders([LINE | {"received_packs": "4"}])

    keep_open_orders([LINE | {"received_packs": "0"}])

    assert state() == "sent"
    assert open_order_entries()[0]["received_packs"] == 0


def test_what_is_not_open_is_left_out_of_the_entries(mill):
    keep_open_orders([LINE])
    Order.objects.update(state="received")

    assert open_order_entries() == []


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    def entries(word, count):
        return [LINE | {"order": f"{word} {number}"} for number in range(count)]

    with django_assert_num_queries(12):
        keep_open_orders(entries("few", 2))
    with django_assert_num_queries(12):
        keep_open_orders(entries("many", 90))
