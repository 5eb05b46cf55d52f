"""A sent order is revised: what counts meanwhile, what changes, what is refused."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from planning.errors import (
    DeliveryDayError,
    OrderMovedOnError,
    OrderPackError,
    OrderQuestionsError,
    OrderStateError,
    RevisionError,
)
from planning.exports.order_csv import order_csv
from planning.exports.order_message import order_message
from planning.models import Revision
from planning.orders.delivery_checks import CameLine
from planning.orders.open_orders import keep_open_orders, open_order_entries
from planning.orders.order_book import booked_order
from planning.orders.orders import cancel_order
from planning.orders.receiving import Rest, receive_delivery
from planning.orders.revising import (
    Wanted,
    approve_revision,
    discard_revision,
    open_revision,
    return_revision,
    send_revision,
    set_revision,
)
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.planning.order_steps import FRIDAY, TUESDAY, drafted, hand, packs, sent

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOON)


@pytest.fixture
def bakery(mill):
    return Bakery.current()


@pytest.fixture
def sugar(mill):
    return build.pack(build.item("sugar"), mill, label="2 kg bag", called="bag")


@pytest.fixture
def order(flour, mill, sugar):
    """Three bags of flour and two of sugar, sent for Tuesday."""
    order = drafted(flour, mill)
    build.order_line(order, sugar, 2)
    sent(order)
    return order


def revised(order, bakery, wanted, day=TUESDAY, note=""):
    open_revision(hand(order), bakery=bakery)
    given = {pack.pk: count for pack, count in wanted.items()}
    return set_revision(hand(order), Wanted(given, day, note), bakery=bakery)


def put_through(order, bakery):
    approve_revision(hand(order), bakery=bakery)
    return send_revision(hand(order), bakery=bakery)


def on_order(bakery):
    """Return what the plan counts as on order: base units and days, by name."""
    kitchen = load_kitchen(bakery=bakery, as_of=NOON)
    lines, names = kitchen.open_orders, kitchen.nodes.names
    return {
        names[int(node)]: (float(amount), day)
        for node, amount, day in zip(
            lines.node, lines.amount_base, lines.due_on, strict=True
        )
    }


def test_what_was_sent_counts_until_the_revision_is_sent(order, flour, sugar, bakery):
    honey = build.pack(build.item("honey"), order.supplier, label="1 kg jar")
    before = on_order(bakery)

    revised(order, bakery, {flour: 5, sugar: 0, honey: 1})
    approve_revision(hand(order), bakery=bakery)
    assert (
        on_order(bakery)
        == before
        == {
            "flour": (3_000, TUESDAY),
            "sugar": (2_000, TUESDAY),
        }
    )
    send_revision(hand(order), bakery=bakery)

    assert on_order(bakery) == {"flour": (5_000, TUESDAY), "honey": (1_000, TUESDAY)}
    order.refresh_from_db()
    # From 4 on flour is 9.00: 45.00 and honey at 10.00, with 15.00 for the truck.
    assert booked_order(order, bakery=bakery).sheet.total_cost == Decimal("70.00")
    assert (order.state, order.revision, order.reference) == (
        "sent",
        1,
        order.reference,
    )


def test_its_sheet_and_message_mark_what_changed(order, flour, sugar, bakery):
    honey = build.pack(build.item("honey"), order.supplier, label="1 kg jar")
    revised(order, bakery, {flour: 5, sugar: 0, honey: 1}, FRIDAY, "Ring twice")
    put_through(order, bakery)
    order.refresh_from_db()

    sheet = booked_order(order, bakery=bakery).sheet
    message, table = order_message(sheet), order_csv(sheet)

    assert sheet.number == f"{order.reference}, revision 1"
    assert f"Replaces {order.reference}\n" in message
    assert "Friday, May 8, 2026 (was Tuesday, May 5, 2026)" in message
    assert "Note: Ring twice" in message
    assert (
        "5 x 1 kg bag, flour (was 3 \N{MULTIPLICATION SIGN} 1 kg bag, now 5)" in message
    )
    assert "1 x 1 kg jar, honey (added)" in message
    assert "0 x 2 kg bag, sugar (removed, was 2 bags)" in message
    assert [row.rsplit(",", 1)[-1] for row in table.split("\r\n")[1:3]] == [
        ' now 5"',
        "added",
    ]


def test_a_second_revision_replaces_the_first_and_no_number_comes_twice(
    order, flour, bakery
):
    revised(order, bakery, {flour: 5})
    discard_revision(hand(order), bakery=bakery)
    revised(order, bakery, {flour: 4})
    put_through(order, bakery)
    revised(order, bakery, {flour: 6})
    put_through(order, bakery)
    order.refresh_from_db()

    sheet = booked_order(order, bakery=bakery).sheet

    assert list(order.revisions.values_list("number", "state")) == [
        (1, "cancelled"),
        (2, "sent"),
        (3, "sent"),
    ]
    assert sheet.replaces == f"{order.reference}, revision 2"
    assert "was 4 \N{MULTIPLICATION SIGN} 1 kg bag, now 6" in [
        line.change for line in sheet.lines
    ]


def test_an_order_can_be_revised_more_than_ten_times(order, flour, bakery):
    for count in range(4, 16):
        revised(order, bakery, {flour: count})
        put_through(order, bakery)

    order.refresh_from_db()
    assert (order.revision, packs(order)["1 kg bag"]) == (12, 15)


def test_what_was_received_stays_and_cannot_be_revised_away(
    order, flour, sugar, bakery
):
    _receive(order, flour, 2, bakery)

    with pytest.raises(OrderPackError, match=r"2 came already\. Enter 2 or more\."):
        revised(order, bakery, {flour: 1})
    with pytest.raises(OrderPackError, match="2 came already"):
        revised(order, bakery, {flour: 0})
    revised(order, bakery, {flour: 2, sugar: 0})
    put_through(order, bakery)

    order.refresh_from_db()
    assert order.state == "received"
    assert booked_order(order, bakery=bakery).last_step.state == "received"
    assert on_order(bakery) == {}


def _receive(order, pack, count, bakery, **fields):
    item = pack.item
    item.place = build.place(f"shelf of {item.name}")
    item.save()
    line = order.lines.get(pack=pack)
    came = [CameLine(line.pk, count, **fields)] if count else []
    rest = Rest.STAYS if came else Rest.CLOSED
    return receive_delivery(
        hand(order), came, key=f"{pack.pk}-{count}", bakery=bakery, rest=rest
    )


def test_a_delivery_that_comes_meanwhile_is_seen_first(order, flour, bakery):
    revised(order, bakery, {flour: 1})
    page = hand(order)
    _receive(order, flour, 2, bakery)

    with pytest.raises(OrderMovedOnError):
        approve_revision(page, bakery=bakery)
    with pytest.raises(OrderPackError, match="2 came already"):
        approve_revision(hand(order), bakery=bakery)
    assert Revision.objects.get().state == "draft"


def test_two_open_one_revision_and_the_second_to_save_sees_the_first(
    order, flour, bakery
):
    page = hand(order)
    first = open_revision(page, bakery=bakery)
    assert open_revision(page, bakery=bakery) == first
    both = hand(order)
    set_revision(both, Wanted({flour.pk: 5}, TUESDAY), bakery=bakery)
    set_revision(both, Wanted({flour.pk: 5}, TUESDAY), bakery=bakery)  # a double tap

    with pytest.raises(OrderMovedOnError):
        set_revision(both, Wanted({flour.pk: 6}, TUESDAY), bakery=bakery)


def test_sending_twice_sends_once(order, flour, bakery):
    revised(order, bakery, {flour: 5})
    approve_revision(hand(order), bakery=bakery)
    page = hand(order)

    send_revision(page, bakery=bakery)
    send_revision(page, bakery=bakery)

    assert order.steps.filter(state="sent", revision=1).count() == 1


def test_a_cut_off_that_is_over_is_asked_about(order, flour, bakery):
    revised(order, bakery, {flour: 5})
    late = NOON + timedelta(hours=3)

    with pytest.raises(OrderQuestionsError, match="Will Mill still bring it"):
        approve_revision(hand(order, at=late), bakery=bakery)
    approve_revision(hand(order, at=late), ["cut-off"], bakery=bakery)


def test_no_day_that_is_over_and_nothing_that_changes_nothing(order, flour, bakery):
    with pytest.raises(DeliveryDayError):
        revised(order, bakery, {}, date(2026, 5, 3))
    with pytest.raises(RevisionError, match="changes nothing yet"):
        approve_revision(hand(order), bakery=bakery)
    revised(order, bakery, {line.pack: 0 for line in order.lines.all()})
    with pytest.raises(RevisionError, match="Nothing is left"):
        approve_revision(hand(order), bakery=bakery)


def test_only_an_open_order_is_revised(order, flour, bakery):
    revised(order, bakery, {flour: 5})
    cancel_order(hand(order))

    with pytest.raises(OrderStateError, match="is cancelled, so it cannot be revised"):
        approve_revision(hand(order), bakery=bakery)
    discard_revision(hand(order), bakery=bakery)
    with pytest.raises(OrderStateError, match="cannot be revised"):
        open_revision(hand(order), bakery=bakery)


def test_an_approved_revision_is_not_changed_and_can_be_a_draft_again(
    order, flour, bakery
):
    revised(order, bakery, {flour: 5})
    approve_revision(hand(order), bakery=bakery)

    with pytest.raises(RevisionError, match="Make it a draft again first"):
        set_revision(hand(order), Wanted({flour.pk: 6}, TUESDAY), bakery=bakery)
    return_revision(hand(order), bakery=bakery)
    set_revision(hand(order), Wanted({flour.pk: 6}, TUESDAY), bakery=bakery)
    with pytest.raises(RevisionError, match="is not approved yet"):
        send_revision(hand(order), bakery=bakery)


def test_another_day_moves_what_is_still_to_come(order, flour, bakery):
    revised(order, bakery, {}, FRIDAY)
    put_through(order, bakery)

    order.refresh_from_db()
    assert order.deliver_on == FRIDAY
    assert {day for _, day in on_order(bakery).values()} == {FRIDAY}
    assert order.order_by == datetime(2026, 5, 7, 14, tzinfo=NOON.tzinfo)


def test_a_closed_line_stays_closed(order, flour, sugar, bakery):
    line = order.lines.get(pack=sugar)
    receive_delivery(
        hand(order), [CameLine(line.pk, 0, closes=True)], key="close", bakery=bakery
    )

    with pytest.raises(OrderPackError, match="It is closed, or a substitute"):
        revised(order, bakery, {sugar: 4})
    revised(order, bakery, {flour: 5})
    put_through(order, bakery)

    order.refresh_from_db()
    assert order.state == "part received"
    assert on_order(bakery) == {"flour": (5_000, TUESDAY)}


def test_an_order_of_a_workbook_is_revised_and_comes_back_unchanged(
    mill, flour, bakery
):
    values = {"order": "A-7", "supplier": "Mill", "item": "flour"}
    values |= {"pack": "1 kg bag", "packs": 2, "due": TUESDAY}
    keep_open_orders([values])
    order = mill.orders.get()
    revised(order, bakery, {flour: 3})
    assert booked_order(order, bakery=bakery).was_sent
    put_through(order, bakery)

    [row] = open_order_entries()
    kept = keep_open_orders([row])

    assert row["packs"] == 3
    assert (kept.added, kept.changed, kept.unchanged) == ((), (), 1)
