"""What a supplier answers, line by line: what the plan counts, what is refused."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from planning.errors import AnswerError, OrderMovedOnError, OrderStateError
from planning.models import Answer, OrderLine
from planning.orders.answering import Said, answer_order
from planning.orders.delivery_checks import CameLine
from planning.orders.open_orders import keep_open_orders, open_order_entries
from planning.orders.order_book import booked_order
from planning.orders.orders import cancel_order
from planning.orders.receiving import Rest, receive_delivery
from planning.orders.revising import (
    Wanted,
    approve_revision,
    open_revision,
    send_revision,
    set_revision,
)
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.planning.order_steps import FRIDAY, TUESDAY, hand

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOON)


@pytest.fixture
def honey(mill):
    return build.pack(build.item("honey"), mill, label="1 kg jar")


@pytest.fixture
def order(flour, mill):
    """Five bags of flour, on order for Tuesday."""
    return build.order(mill, deliver_on=TUESDAY, lines=[(flour, 5)])


def said(order, kind, **fields):
    line = order.lines.get(stands_for=None)
    told = [Said(line.pk, kind, **fields)]
    return answer_order(hand(order), told, bakery=Bakery.current())


def on_order():
    """Return what the plan counts as on order: base units and days, by name."""
    kitchen = load_kitchen(bakery=Bakery.current(), as_of=NOON)
    lines, names = kitchen.open_orders, kitchen.nodes.names
    rows = zip(lines.node, lines.amount_base, lines.due_on, strict=True)
    return {names[int(node)]: (float(amount), day) for node, amount, day in rows}


@pytest.mark.parametrize(
    ("kind", "fields", "counted"),
    [
        ("confirmed", {}, {"flour": (5_000, TUESDAY)}),
        ("short", {"packs": 3}, {"flour": (3_000, TUESDAY)}),
        ("refused", {}, {}),
        ("later", {"due_on": FRIDAY}, {"flour": (5_000, FRIDAY)}),
    ],
)
def test_the_plan_counts_what_was_confirmed_until_it_is_undone(
    order, kind, fields, counted
):
    said(order, kind, **fields)
    assert on_order() == counted
    order.refresh_from_db()
    assert order.state == "sent"

    said(order, "")

    assert on_order() == {"flour": (5_000, TUESDAY)}


def test_a_substitute_is_counted_in_its_place_and_gone_when_undone(order, honey):
    said(order, "substituted", packs=2, pack_id=honey.pk)
    assert on_order() == {"honey": (2_000, TUESDAY)}
    sheet = booked_order(order, bakery=Bakery.current()).sheet
    assert [line.item for line in sheet.lines] == ["flour"]

    said(order, "short", packs=4)

    assert on_order() == {"flour": (4_000, TUESDAY)}
    assert OrderLine.objects.count() == 1


def test_the_same_again_changes_nothing_and_another_corrects(order):
    page = hand(order)
    told = [Said(order.lines.get().pk, "short", packs=3)]
    answer_order(page, told, bakery=Bakery.current())
    answer_order(page, told, bakery=Bakery.current())  # a double tap
    with pytest.raises(OrderMovedOnError):  # somebody with an older page
        answer_order(
            page, [Said(order.lines.get().pk, "refused")], bakery=Bakery.current()
        )
    said(order, "later", due_on=FRIDAY)

    rows = Answer.objects.order_by("pk").values_list("kind", "undone_at")
    assert list(rows) == [("short", NOON), ("later", None)]


@pytest.mark.parametrize(
    ("kind", "fields", "field"),
    [
        ("short", {}, "packs"),
        ("short", {"packs": 0}, "packs"),
        ("short", {"packs": 5}, "packs"),
        ("later", {}, "due_on"),
        ("later", {"due_on": date(2026, 5, 3)}, "due_on"),
        ("confirmed", {"packs": 3}, "packs"),
        ("refused", {"due_on": FRIDAY}, "due_on"),
        ("substituted", {"packs": 2}, "pack_id"),
        ("substituted", {"packs": 2, "pack_id": 999_999}, "pack_id"),
        ("maybe", {}, "kind"),
    ],
)
def test_an_answer_that_cannot_be_says_where(order, kind, fields, field):
    with pytest.raises(AnswerError) as caught:
        said(order, kind, **fields)

    assert caught.value.field == field
    assert not Answer.objects.exists()


def test_no_substitute_of_another_supplier_or_of_the_order_itself(order, flour, honey):
    other = build.pack(build.item("rye"), build.supplier("Other"))
    for pack, packs, field in [
        (other, 1, "pack_id"),
        (flour, 1, "pack_id"),
        (honey, 0, "packs"),
        (honey, 100_001, "pack_id"),
    ]:
        with pytest.raises(AnswerError) as caught:
            said(order, "substituted", packs=packs, pack_id=pack.pk)
        assert caught.value.field == field


def test_a_cancelled_order_takes_no_answer(order):
    cancel_order(hand(order))

    with pytest.raises(OrderStateError, match="cancelled, so it cannot be answered"):
        said(order, "confirmed")


def received(order, came=(), key="first"):
    for line in order.lines.select_related("pack__item"):
        line.pack.item.place = build.place()
        line.pack.item.save()
    return receive_delivery(
        hand(order), came, key=key, bakery=Bakery.current(), rest=Rest.AS_ORDERED
    )


def test_all_as_confirmed_takes_that_and_closes_the_rest(order):
    said(order, "short", packs=3)

    received(order)

    order.refresh_from_db()
    line = order.lines.get()
    assert (line.received_packs, line.closed, order.state) == (3, True, "closed")


def test_an_answer_whose_substitute_came_stays(order, honey):
    said(order, "substituted", packs=2, pack_id=honey.pk)
    substitute = order.lines.get(pack=honey)
    line = order.lines.get(stands_for=None)
    received(order, [CameLine(line.pk, 0), CameLine(substitute.pk, 2)])

    with pytest.raises(AnswerError, match="Its substitute came already"):
        said(order, "")


def test_a_revision_of_a_line_forgets_its_answer(order, flour, honey):
    said(order, "substituted", packs=2, pack_id=honey.pk)
    bakery = Bakery.current()
    open_revision(hand(order), bakery=bakery)
    set_revision(hand(order), Wanted({flour.pk: 4}, TUESDAY), bakery=bakery)
    approve_revision(hand(order), bakery=bakery)
    assert on_order() == {"honey": (2_000, TUESDAY)}

    send_revision(hand(order), bakery=bakery)

    assert on_order() == {"flour": (4_000, TUESDAY)}


def test_what_was_refused_is_late_only_as_a_whole(order):
    said(order, "later", due_on=FRIDAY)
    booked = booked_order(order, bakery=Bakery.current())

    assert not booked.is_overdue(TUESDAY + timedelta(days=1))
    assert booked.is_overdue(FRIDAY + timedelta(days=1))


def test_the_workbook_of_an_answered_order_changes_nothing_here(order, honey):
    said(order, "substituted", packs=2, pack_id=honey.pk)

    kept = keep_open_orders(open_order_entries())

    assert (kept.added, kept.changed, kept.unchanged) == ((), (), 2)
    assert on_order() == {"honey": (2_000, TUESDAY)}
