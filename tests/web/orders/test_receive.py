"""Receive: an order at the door, in one tap or line by line, and its undo."""

import re
from datetime import date, timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from planning.models import Delivery, Order
from stock.ledger.verifying import verify_ledger
from stock.models import Item
from tests import build
from tests.build import MONDAY, NOON
from tests.on_hand import on_hand_base_by_item
from tests.web.orders.pages import page, post, text
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(mill, flour):
    """Three bags of flour and two jugs of milk for today."""
    rack = build.place("rack")
    flour.item.place = rack
    flour.item.save()
    milk = build.item(
        "milk", measure="volume", keeps_days=5, minimum_days_left=3, place=rack
    )
    jug = build.pack(milk, mill, size_base=4_000, label="1 gal", called="jug")
    return build.order(mill, reference="2026-004", lines=[(flour, 3), (jug, 2)])


@pytest.fixture
def milk(order):
    return order.lines.get(pack__called="jug")


def on_hand():
    assert verify_ledger().is_whole
    return {
        name: on_hand_base_by_item()[pk]
        for pk, name in Item.objects.values_list("pk", "name")
        if pk in on_hand_base_by_item()
    }


def save_line(site, order, line, key="k", **typed):
    said = {"packs": "2", "rest": "come", "use_by": "", "lot_code": ""} | typed
    fields = {f"line_{line.pk}-{name}": value for name, value in said.items()}
    return post(
        site, "receive_line", order.pk, line.pk, **fields, key=key, **as_shown(order)
    )


def test_the_order_page_leads_to_the_door(site, order):
    shown = site.get(reverse("planning:order", args=[order.pk])).content.decode()

    assert reverse("planning:receive_order", args=[order.pk]) in shown


def test_the_door_shows_each_line_with_its_use_by(site, order):
    shown = page(site, "receive_order", order.pk)

    assert "Receive Mill, Sons & Co" in shown
    assert "due today. 2 lines, $" in shown
    assert "0 of 2 done" in shown
    assert "1 gal, use by Fri May 8" in shown
    assert "2 jugs" in shown
    assert "Accept use by Wed May 6 or later." in shown
    assert "local codes and licensed practice decide" in shown


def test_all_as_ordered_is_one_tap_with_undo_after_it(site, order):
    received = post(site, "receive_order", order.pk, key="k", **as_shown(order))

    assert (
        "3 \N{MULTIPLICATION SIGN} 1 kg bag of flour and 2 jugs of milk received."
        in text(received)
    )
    assert on_hand() == {"flour": Decimal(3_000), "milk": Decimal(8_000)}
    undo = post(
        site, "undo_delivery", order.pk, Delivery.objects.get().pk, **as_shown(order)
    )
    assert "2026-004: undone." in text(undo)
    assert on_hand() == {}
    assert "Undone today noon by Rosa" in text(undo)


def test_undo_is_offered_only_while_nothing_stands_on_the_delivery(
    site, order, flour, clock
):
    post(site, "receive_order", order.pk, key="k", **as_shown(order))
    delivery = Delivery.objects.get()
    address = reverse("planning:undo_delivery", args=[order.pk, delivery.pk])

    def markup():
        url = reverse("planning:order", args=[order.pk])
        return site.get(url).content.decode()

    assert address in markup()
    build.stock(flour.item, -100, place=flour.item.place, kind="used")
    assert address not in markup()
    assert "It can't be undone: flour in rack was used since." in unescape(markup())
    clock["now"] = NOON + timedelta(days=1)
    assert "be undone" not in markup()


def test_two_taps_on_one_page_count_once(site, order):
    seen = as_shown(order)
    post(site, "receive_order", order.pk, key="k", **seen)

    again = post(site, "receive_order", order.pk, key="k", **seen)

    assert "2 jugs of milk received." in text(again)
    assert on_hand()["flour"] == 3_000


def test_a_line_is_saved_and_the_rest_is_still_to_come(site, order, milk):
    saved = save_line(site, order, milk, packs="1")

    assert "1 jug of milk received." in text(saved)
    assert "Still to come: " in text(saved)
    assert "1 of 2 done" in text(saved)
    assert "1 jug came, the rest is to come" in text(saved)


def test_the_rest_as_ordered_brings_nothing_that_was_missing(site, order, milk):
    save_line(site, order, milk, packs="1")

    rest = post(site, "receive_order", order.pk, key="rest", **as_shown(order))

    assert "Still to come: 1 jug of milk." in text(rest)
    assert on_hand() == {"flour": Decimal(3_000), "milk": Decimal(4_000)}


def test_what_was_missing_comes_with_all_as_ordered_on_another_day(
    site, order, milk, clock
):
    save_line(site, order, milk, packs="1")
    clock["now"] = NOON + timedelta(days=1)

    post(site, "receive_order", order.pk, key="tuesday", **as_shown(order))

    assert on_hand() == {"flour": Decimal(3_000), "milk": Decimal(8_000)}


def test_a_closed_line_is_done(site, order, milk):
    saved = save_line(site, order, milk, packs="1", rest="close", lot_code="L7")

    assert "Closed: 1 jug of milk." in text(saved)
    assert "1 of 2 done" in text(saved)
    assert "1 jug of 2 came, the rest is closed" in text(saved)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"packs": ""}, "Enter how many packs came, or 0."),
        ({"packs": "some"}, "some"),
        ({"use_by": "June 31"}, "June 31"),
        ({"use_by": "2026-05-03"}, "use by Sun May 3 has passed"),
        ({"packs": "20"}, "20 packs came, but 2 were ordered"),
    ],
)
def test_what_is_wrong_stands_at_its_field_and_the_entry_is_kept(
    site, order, milk, typed, sentence
):
    shown = save_line(site, order, milk, **typed)

    assert sentence in text(shown)
    assert "Nothing was saved yet." in text(shown)
    assert f'value="{next(iter(typed.values()))}"' in shown.content.decode()
    assert on_hand() == {}


def test_what_was_asked_about_stands_once_somebody_says_so(site, order, milk):
    asked = save_line(site, order, milk, packs="20")
    assert "Yes, it is so" in text(asked)

    save_line(site, order, milk, packs="20", confirmed="on")

    assert on_hand() == {"milk": Decimal(80_000)}


def test_the_tap_names_the_line_that_stands_in_its_way(site, order, flour):
    flour.item.place = None
    flour.item.save()

    shown = post(site, "receive_order", order.pk, key="k", **as_shown(order))

    assert "Flour has no place yet. Give it one on its page." in text(shown)
    assert on_hand() == {}


def test_the_second_of_two_sees_what_the_first_took(site, order, client):
    seen = as_shown(order)
    post(site, "receive_order", order.pk, key="rosa", **seen)

    shown = post(site, "receive_order", order.pk, key="ada", **seen)

    assert "Rosa has received 2026-004 already" in text(shown)
    assert on_hand()["flour"] == 3_000


def test_a_late_order_gets_a_new_day_or_is_closed(site, order, clock):
    clock["now"] = NOON + timedelta(days=2)
    late = page(site, "receive_order", order.pk)
    assert "was due last Monday" in late or "was due Mon" in late

    moved = post(
        site, "order_new_day", order.pk, due_on="2026-05-08", **as_shown(order)
    )
    assert "2026-004 comes on Friday now." in text(moved)

    closed = post(site, "close_order", order.pk, key="c", **as_shown(order))
    assert (
        "Closed: 3 \N{MULTIPLICATION SIGN} 1 kg bag of flour and 2 jugs of milk."
        in text(closed)
    )
    assert Order.objects.get().state == "closed"
    assert on_hand() == {}


def test_a_day_that_cannot_be_read_moves_nothing(site, order):
    shown = post(site, "order_new_day", order.pk, due_on="", **as_shown(order))

    assert "New day: " in text(shown)
    assert set(order.lines.values_list("due_on", flat=True)) == {MONDAY}


def test_a_delivery_of_yesterday_keeps_from_yesterday_on(site, order):
    shown = site.get(
        reverse("planning:receive_order", args=[order.pk]), {"on": "2026-05-03"}
    )
    assert "It came yesterday." in text(shown)
    assert "use by Thu May 7" in text(shown)

    post(site, "receive_order", order.pk, key="k", on="2026-05-03", **as_shown(order))

    assert Delivery.objects.get().received_on == date(2026, 5, 3)


def test_a_page_left_open_overnight_takes_today(site, order, clock):
    sent = all_as_ordered(site, order)
    clock["now"] = NOON + timedelta(days=1)

    site.post(reverse("planning:receive_order", args=[order.pk]), sent)

    assert Delivery.objects.get().received_on == MONDAY + timedelta(days=1)


def line_as_shown(site, order, line, **typed):
    """What the line's own button sends, as the page shows it now."""
    shown = site.get(reverse("planning:receive_order", args=[order.pk]))
    [form] = [row.form for row in shown.context["rows"] if row.line == line]
    fields = {each.html_name: each.value() or "" for each in form if each.value()}
    typed = {f"line_{line.pk}-{name}": value for name, value in typed.items()}
    return fields | typed | as_shown(order)


@pytest.mark.parametrize(
    ("typed", "use_by"),
    [
        ({}, date(2026, 5, 9)),  # five days, the day it came counts
        ({"use_by": "2026-05-07"}, date(2026, 5, 7)),  # as the label says
        ({"use_by": ""}, date(2026, 5, 9)),
    ],
)
def test_a_line_of_a_page_left_open_overnight_keeps_from_the_day_it_came(
    site, order, milk, clock, typed, use_by
):
    sent = line_as_shown(site, order, milk, **typed)
    clock["now"] = NOON + timedelta(days=1)

    post(site, "receive_line", order.pk, milk.pk, **sent, key="k")

    line = Delivery.objects.get().lines.get()
    assert (line.lot.use_by, line.delivery.received_on) == (use_by, date(2026, 5, 5))


def test_a_line_that_is_asked_about_overnight_keeps_from_the_day_it_came(
    site, order, milk, clock
):
    sent = line_as_shown(site, order, milk, packs="20")
    clock["now"] = NOON + timedelta(days=1)

    asked = post(site, "receive_line", order.pk, milk.pk, **sent, key="k")
    assert "20 packs came" in text(asked)
    [form] = [row.form for row in asked.context["rows"] if row.line == milk]
    again = {each.html_name: each.value() or "" for each in form if each.value()}
    again[f"line_{milk.pk}-confirmed"] = "on"
    post(site, "receive_line", order.pk, milk.pk, **again, **as_shown(order), key="l")

    assert Delivery.objects.get().lines.get().lot.use_by == date(2026, 5, 9)


def test_a_retry_after_midnight_is_the_same_delivery(site, order, clock):
    sent = all_as_ordered(site, order)
    site.post(reverse("planning:receive_order", args=[order.pk]), sent)
    clock["now"] = NOON + timedelta(days=1)

    again = site.post(
        reverse("planning:receive_order", args=[order.pk]), sent, follow=True
    )

    assert "2 jugs of milk received." in text(again)
    assert Delivery.objects.get().received_on == MONDAY
    assert on_hand()["flour"] == 3_000


def test_a_line_saved_again_after_midnight_is_the_same_delivery(
    site, order, milk, clock
):
    seen = as_shown(order)
    for days in (0, 1):
        clock["now"] = NOON + timedelta(days=days)
        said = {f"line_{milk.pk}-{name}": "" for name in ("use_by", "lot_code")}
        said |= {f"line_{milk.pk}-packs": "2", f"line_{milk.pk}-rest": "come"}
        post(site, "receive_line", order.pk, milk.pk, **said, key="k", **seen)

    assert Delivery.objects.get().received_on == MONDAY
    assert on_hand() == {"milk": Decimal(8_000)}


def test_another_day_that_was_chosen_stays_overnight(site, order, clock):
    sent = all_as_ordered(site, order, on="2026-05-03")
    clock["now"] = NOON + timedelta(days=1)

    site.post(reverse("planning:receive_order", args=[order.pk]), sent)

    assert Delivery.objects.get().received_on == date(2026, 5, 3)


def all_as_ordered(site, order, **asked):
    """What the first button of the page sends, as the page shows it now."""
    address = reverse("planning:receive_order", args=[order.pk])
    markup = site.get(address, asked).content.decode()
    form = markup.split(f'action="{address}"')[1].split("</form>")[0]
    return dict(re.findall(r'name="(version|key|on)" value="([^"]*)"', form))


def test_only_an_order_that_was_sent_has_a_door(site, order):
    Order.objects.update(state="approved")

    response = site.get(reverse("planning:receive_order", args=[order.pk]))

    assert response.url == reverse("planning:order", args=[order.pk])


def test_a_line_of_another_order_is_not_received(site, order, mill, flour):
    other = build.order(mill, lines=[(flour, 1)])

    save_line(site, order, other.lines.get())

    assert on_hand() == {}


def test_past_orders_list_what_was_closed(site, order):
    post(site, "close_order", order.pk, key="c", **as_shown(order))

    assert "2026-004" in page(site, "past_orders")


@pytest.mark.parametrize("count", [2, 30])
def test_the_door_reads_as_much_however_many_lines(
    site, order, mill, count, django_assert_max_num_queries
):
    for _ in range(count):
        build.order_line(order, build.pack(build.item(), mill))

    with django_assert_max_num_queries(8):
        page(site, "receive_order", order.pk)
