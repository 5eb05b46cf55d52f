"""Orders: from what the plan suggests to a file that goes out."""

import csv
import io
import json
import re
import zipfile
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from html import unescape

import openpyxl
import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from planning.models import Order
from planning.orders import Hand, approve_order, send_order
from tests import build

pytestmark = pytest.mark.django_db

State = Order.State
MONDAY_NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
TUESDAY, FRIDAY = date(2026, 5, 5), date(2026, 5, 8)


@pytest.fixture(autouse=True)
def noon(monkeypatch):
    """The pages ask the clock; here it is Monday, noon."""
    clock = {"now": MONDAY_NOON}
    monkeypatch.setattr(timezone, "now", lambda: clock["now"])
    return clock


@pytest.fixture
def rosa():
    return build.user("rosa", first_name="Rosa")


@pytest.fixture
def site(client, rosa):
    client.force_login(rosa)
    return client


@pytest.fixture
def mill():
    """Tuesdays and Fridays by 2 pm of the day before, from 25.00 on."""
    build.bakery(time_zone="UTC", name="Quince & Rye")
    return build.supplier(
        "Mill, Sons & Co", minimum_order=Decimal(25), email="desk@mill.example"
    )


@pytest.fixture
def flour(mill):
    """1 kg bags at 10.00; sold from 2 on; from 4 on 9.00 each."""
    return build.pack(
        build.item("flour"),
        mill,
        label="1 kg bag",
        code="00-7",
        price="10",
        minimum_packs=2,
        price_breaks="4: 9",
    )


@pytest.fixture
def cakes(flour):
    """Cakes for Friday that take 3,000 g of flour: three bags."""
    cake = build.cake("Plain cake", lines=[(flour.item, 1_000)])
    return build.planned_cake(cake, due_on=FRIDAY, quantity=3)


def page(site, name, *args):
    response = site.get(reverse(f"planning:{name}", args=args))
    assert response.status_code == 200
    return text(response)


def text(response):
    """What is read on a page: its words, without tags and doubled spaces."""
    words = re.sub(r"<[^>]+>", " ", response.content.decode())
    return re.sub(r"\s+", " ", unescape(words))


def post(site, name, *args, **data):
    return site.post(reverse(f"planning:{name}", args=args), data, follow=True)


def draft(mill, *lines):
    return build.order(
        mill,
        reference="2026-014",
        deliver_on=TUESDAY,
        order_by=datetime(2026, 5, 4, 14, tzinfo=UTC),
        state=State.DRAFT,
        lines=lines,
    )


# What the plan suggests


def test_an_empty_kitchen_needs_no_order(site, mill):
    shown = page(site, "orders")

    assert "The plan asks for nothing" in shown
    assert "Nothing is on its way." in shown


def test_the_page_says_what_to_buy_from_whom_by_when_and_why(site, cakes):
    shown = page(site, "orders")

    assert "Mill, Sons & Co , tomorrow Order by today 2:00 pm" in shown
    assert "3 \N{MULTIPLICATION SIGN} 1 kg bag" in shown
    assert "Mill, Sons & Co on Tue May 5 is the last delivery in time" in shown
    assert "Goods $30.00 Delivery is free Total $30.00" in shown
    assert "1 order for $30.00 in all" in shown
    assert "That is what a buyer's usual rule comes to." in shown


def test_drafting_stores_what_was_suggested(site, cakes):
    response = post(site, "draft_orders")

    assert "Drafted: 2026-001." in text(response)
    assert "All of it is drafted: review it below." in text(response)
    assert "Draft these orders" not in text(response)
    [line] = Order.objects.get(reference="2026-001").lines.all()
    assert (line.packs, line.price) == (3, Decimal(10))


def test_a_draft_that_somebody_changed_is_shown_beside_what_is_suggested(site, cakes):
    post(site, "draft_orders")
    order = Order.objects.get()
    field = f"packs_{order.lines.get().pack_id}"
    post(site, "order", order.pk, version=1, **{field: "2"})

    shown = page(site, "orders")

    assert "2026-001 was changed by hand, so it stays as it is." in shown
    assert "Changed today 12:00 pm by Rosa" in shown


def test_a_plan_that_cannot_be_made_says_why_and_keeps_the_orders(site, flour, cakes):
    first, second = build.recipe("Dough"), build.recipe("Starter")
    build.recipe_lines(first, [(second, 10)])
    build.recipe_lines(second, [(first, 10)])
    build.order(flour.supplier, reference="PO-7", lines=[(flour, 1)])

    shown = page(site, "orders")

    assert "contains itself" in shown
    assert "PO-7" in shown


def test_what_is_late_is_said_plainly(site, flour):
    build.order(
        flour.supplier,
        reference="PO-7",
        deliver_on=MONDAY_NOON.date() - timedelta(days=3),
        lines=[(flour, 2)],
    )

    shown = page(site, "orders")

    assert "1 order should have come by now." in shown
    assert "Was due last Friday, 3 days late" in shown


def test_past_orders_are_behind_a_link(site, mill):
    build.order(mill, reference="OLD-1", state=State.RECEIVED)
    build.order(mill, reference="OLD-2", state=State.CANCELLED)

    assert "OLD-1" not in page(site, "orders")
    assert "Orders that came or were cancelled" in page(site, "orders")
    assert "OLD-1" in page(site, "past_orders")
    assert "OLD-2" in page(site, "past_orders")


@pytest.mark.parametrize("more_orders", [0, 12])
def test_the_page_reads_with_as_many_queries_however_many_orders(
    site, cakes, flour, django_assert_num_queries, more_orders
):
    for number in range(1 + more_orders):
        order = build.order(
            flour.supplier,
            deliver_on=FRIDAY + timedelta(days=number),
            state=State.DRAFT,
            lines=[(flour, 1)],
        )
        order.steps.create(state=State.DRAFT, at=MONDAY_NOON)
    page(site, "orders")

    # session, user, bakery; the plan's 7; searches 2; what waits 2; the orders 3;
    # any past one
    with django_assert_num_queries(18):
        page(site, "orders")


# One order


def test_an_order_shows_its_figures_its_cut_off_and_its_message(site, mill, flour):
    order = draft(mill, (flour, 3))

    shown = page(site, "order", order.pk)

    assert "Order 2026-014 to Mill, Sons & Co" in shown
    assert "Draft, to be delivered tomorrow. Order by today 2:00 pm." in shown
    assert "Goods $30.00 minimum order $25.00" in shown
    assert "Total $30.00" in shown
    assert "3 x 1 kg bag, flour, code 00-7" in shown
    assert "From 4 on each costs $9.00 instead of $10.00." in shown


def test_packs_are_changed_and_added_in_one_go(site, mill, flour):
    sugar = build.pack(build.item("sugar"), mill, label="2 kg bag", price="4")
    order = draft(mill, (flour, 3))

    response = post(
        site,
        "order",
        order.pk,
        version=1,
        add_pack=sugar.pk,
        add_packs="5",
        **{f"packs_{flour.pk}": "4"},
    )

    # 4 x 9.00 + 5 x 4.00
    assert "2026-014 is saved." in text(response)
    assert "Total $56.00" in text(response)
    assert "Rosa made it 4 instead of 3." in text(response)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("many", "is no number"),
        ("2.5", "2.5 is no whole number"),
        ("-1", "It must be 0 or more"),
        ("", "Write how many packs, or 0 for none."),
        ("9999999", "from 0 to 100000"),
    ],
)
def test_packs_that_are_no_number_are_refused_beside_their_field(
    site, mill, flour, typed, sentence
):
    order = draft(mill, (flour, 3))

    response = post(site, "order", order.pk, version=1, **{f"packs_{flour.pk}": typed})

    assert sentence in text(response)
    assert f'value="{typed}"' in response.content.decode() or not typed
    assert order.lines.get().packs == 3


@pytest.mark.parametrize(
    ("added", "sentence"),
    [
        ({"add_packs": "2"}, "Choose what these packs are of."),
        ({"add_pack": "999999999999999999999", "add_packs": "2"}, "Choose what"),
        ({"add_pack": "sugar", "add_packs": ""}, "Write how many packs"),
    ],
)
def test_half_a_line_is_not_added(site, mill, flour, added, sentence):
    sugar = build.pack(build.item("sugar"), mill)
    order = draft(mill, (flour, 3))
    if added.get("add_pack") == "sugar":
        added = {**added, "add_pack": sugar.pk}

    response = post(site, "order", order.pk, version=1, **added)

    assert sentence in text(response)
    assert order.lines.count() == 1


@pytest.mark.parametrize(
    ("packs", "sentence"),
    [
        # 2 x 10.00 is 5.00 under 25.00.
        (2, "Mill, Sons & Co asks for $25.00 at least: $5.00 more."),
        (1, "1 kg bag of flour is sold from 2 at a time; 1 would be too few."),
    ],
)
def test_an_order_below_a_minimum_is_warned_of(site, mill, flour, packs, sentence):
    order = draft(mill, (flour, packs))

    assert sentence in page(site, "order", order.pk)


def test_goods_that_just_reach_the_minimum_are_not_warned_of(site, mill, flour):
    mill.minimum_order = Decimal(30)
    mill.save()
    order = draft(mill, (flour, 3))

    assert "asks for $" not in page(site, "order", order.pk)


def test_packs_that_are_sold_by_the_dozen_are_warned_of(site, mill, flour):
    flour.multiple = 2
    flour.save()
    order = draft(mill, (flour, 3))

    assert "1 kg bag of flour is sold by the 2" in page(site, "order", order.pk)


def test_a_price_that_has_changed_since_is_warned_of(site, mill, flour):
    order = draft(mill, (flour, 3))
    flour.price = Decimal("10.5")
    flour.save()

    shown = page(site, "order", order.pk)

    assert "costs $10.50 now, but the order says $10.00" in shown


def test_a_cut_off_that_is_past_is_warned_of(site, mill, flour, noon):
    order = draft(mill, (flour, 3))
    assert "The cut-off was" not in page(site, "order", order.pk)

    noon["now"] = datetime(2026, 5, 4, 14, 1, tzinfo=UTC)

    shown = page(site, "order", order.pk)
    assert "The cut-off was today 2:00 pm: ask Mill, Sons & Co" in shown


def test_a_day_without_a_truck_is_warned_of(site, mill, flour):
    order = draft(mill, (flour, 3))
    Order.objects.filter(pk=order.pk).update(deliver_on=date(2026, 5, 6))

    shown = page(site, "order", order.pk)

    assert "Mill, Sons & Co does not deliver on Wednesday." in shown


def test_an_order_is_approved_reviewed_and_sent(site, mill, flour):
    order = draft(mill, (flour, 3))

    approved = post(site, "approve_order", order.pk, version=1)
    review = page(site, "send_order", order.pk)
    sent = post(site, "send_order", order.pk, version=2)

    assert "2026-014 is approved and can be sent." in text(approved)
    assert "Total $30.00" in review
    assert "It counts as on order from now on." in text(sent)
    assert "Sent today 12:00 pm by Rosa. Comes tomorrow." in text(sent)
    assert "Save the lines" not in text(sent)


def test_what_rosa_has_sent_is_not_sent_again(client, mill, flour, rosa):
    order = draft(mill, (flour, 3))
    approve_order(Hand(order.pk, 1, MONDAY_NOON, rosa.pk))
    send_order(Hand(order.pk, 2, MONDAY_NOON, rosa.pk))
    client.force_login(build.user("ada"))

    response = post(client, "send_order", order.pk, version=2)

    assert "Rosa has sent 2026-014 already, at 12:00 pm." in text(response)
    assert order.steps.filter(state="sent").count() == 1


def test_a_step_without_a_version_is_taken_by_nobody(site, mill, flour):
    order = draft(mill, (flour, 3))

    post(site, "approve_order", order.pk, version="one")
    post(site, "approve_order", order.pk)

    order.refresh_from_db()
    assert order.state == "draft"


def test_looking_at_a_step_takes_none(site, mill, flour):
    order = draft(mill, (flour, 3))

    for name in ("approve_order", "order_to_draft"):
        url = reverse(f"planning:{name}", args=[order.pk])
        assert site.get(url).status_code == 405
    site.get(reverse("planning:send_order", args=[order.pk]))
    site.get(reverse("planning:cancel_order", args=[order.pk]))

    order.refresh_from_db()
    assert (order.state, order.version) == ("draft", 1)


def test_a_draft_is_dropped_and_brought_back(site, mill, flour):
    order = draft(mill, (flour, 3))
    order.steps.create(state=State.DRAFT, at=MONDAY_NOON)

    dropped = post(site, "cancel_order", order.pk, version=1)
    back = post(site, "order_to_draft", order.pk, version=2)

    assert "2026-014 is cancelled." in text(dropped)
    assert "Bring it back" in text(dropped)
    assert "2026-014 is a draft again." in text(back)


def test_cancelling_what_was_sent_says_that_the_supplier_has_to_be_told(
    site, mill, flour
):
    order = build.order(mill, reference="PO-7", deliver_on=FRIDAY, lines=[(flour, 3)])

    review = page(site, "cancel_order", order.pk)
    response = post(site, "cancel_order", order.pk, version=1)

    assert "Mill, Sons & Co has this order: call and tell them" in review
    assert "PO-7 is cancelled. Tell Mill, Sons & Co if nobody has." in text(response)
    assert "Bring it back" not in text(response)


def test_a_draft_that_is_gone_leads_back_to_the_orders(site, mill, flour, monkeypatch):
    order = draft(mill, (flour, 3))
    url = reverse("planning:approve_order", args=[order.pk])
    order.delete()

    response = site.post(url, {"version": 1}, follow=True)

    assert response.redirect_chain == [(reverse("planning:orders"), 302)]
    assert "This draft is no longer there" in text(response)


def test_an_order_is_started_by_hand_for_the_next_truck(site, flour):
    response = post(site, "start_order", supplier=flour.supplier_id, deliver_on="")

    order = Order.objects.get()
    assert (order.reference, order.deliver_on) == ("2026-001", TUESDAY)
    assert "Nothing is on it yet." in text(response)
    response = post(site, "approve_order", order.pk, version=1)
    assert "Nothing is on 2026-001 yet." in text(response)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"deliver_on": "2026-05-03"}, "That day is past."),
        ({"deliver_on": "2026-02-30"}, "Write a date, like 2026-05-09."),
        ({"supplier": ""}, "Choose whom to order from."),
        ({"supplier": "0"}, "Choose one from the list."),
        ({"deliver_on": "2026-05-05"}, "2026-014 waits for this truck"),
    ],
)
def test_an_order_that_cannot_be_started_says_why(site, flour, fields, sentence):
    draft(flour.supplier, (flour, 3))
    usual = {"supplier": flour.supplier_id, "deliver_on": ""}

    response = post(site, "start_order", **{**usual, **fields})

    assert sentence in text(response)
    assert Order.objects.count() == 1


@pytest.mark.parametrize("lines", [1, 15])
def test_an_order_reads_with_as_many_queries_however_many_lines(
    site, mill, flour, django_assert_num_queries, lines
):
    more = [build.pack(build.item(), mill) for _ in range(lines)]
    order = draft(mill, (flour, 3), *((pack, 1) for pack in more))
    page(site, "order", order.pk)

    # session, user, bakery; the order, its lines, its steps; packs to add
    with django_assert_num_queries(7):
        page(site, "order", order.pk)


# Files


def download(site, order, ending):
    response = site.get(reverse("planning:order_file", args=[order.pk, ending]))
    assert response.status_code == 200
    return response


def test_page_spreadsheet_csv_message_and_plan_have_the_same_totals(
    site, mill, cakes, flour, capsys
):
    mill.delivery_fee = Decimal("12.50")
    mill.save()
    flour.price = Decimal("10.1255")
    flour.save()
    call_command("plan", "--json", "--at", "2026-05-04T12:00")
    planned = json.loads(capsys.readouterr().out)["orders"]
    post(site, "draft_orders")
    order = Order.objects.get()

    shown = page(site, "order", order.pk)
    content = io.BytesIO(download(site, order, "xlsx").content)
    rows = list(openpyxl.load_workbook(content)["Order"].iter_rows(values_only=True))
    table = list(csv.reader(io.StringIO(download(site, order, "csv").content.decode())))

    # 3 x 10.1255 = 30.3765
    [plan] = planned
    assert (plan["goods"], plan["fee"], plan["total"]) == ("30.38", "12.50", "42.88")
    assert plan["lines"][0]["amount"] == "30.38"
    assert "Goods $30.38" in shown
    assert "Delivery $12.50" in shown
    assert "Total $42.88" in shown
    sums = {row[1]: row[4] for row in rows[2:] if row[1]}
    assert sums == {"Goods": 30.38, "Delivery": 12.5, "Total USD": 42.88}
    assert table[1][2:5] == ["3", "10.1255", "30.38"]
    assert "= 42.88 USD" in download(site, order, "txt").content.decode()


def test_a_file_has_a_name_that_no_header_and_no_system_trips_over(site, flour):
    flour.supplier.name = 'Crème "Mill"; \\ filename=x.exe'
    flour.supplier.save()
    order = draft(flour.supplier, (flour, 3))

    header = download(site, order, "xlsx")["Content-Disposition"]

    name = "2026-05-05_creme-mill-filename-x-exe_2026-014.xlsx"
    assert header == f'attachment; filename="{name}"'


def test_there_is_no_file_of_another_kind_or_of_a_cancelled_order(site, mill, flour):
    order = draft(mill, (flour, 3))
    cancelled = build.order(mill, state=State.CANCELLED, lines=[(flour, 3)])

    for row, ending in ((order, "exe"), (cancelled, "xlsx")):
        url = reverse("planning:order_file", args=[row.pk, ending])
        assert site.get(url).status_code == 404


def test_all_that_is_not_sent_comes_in_one_file(site, mill, flour):
    draft(mill, (flour, 3))
    build.order(mill, reference="PO-7", deliver_on=FRIDAY, lines=[(flour, 3)])

    response = site.get(reverse("planning:orders_zip"))

    name = 'attachment; filename="orders-2026-05-04.zip"'
    assert response["Content-Disposition"] == name
    with zipfile.ZipFile(io.BytesIO(response.content)) as archive:
        assert archive.namelist() == [
            f"2026-05-05_mill-sons-co_2026-014.{ending}"
            for ending in ("xlsx", "csv", "txt")
        ]


def test_the_mail_link_carries_the_order(site, mill, flour):
    order = draft(mill, (flour, 3))

    markup = site.get(reverse("planning:order", args=[order.pk])).content.decode()

    start = "mailto:desk@mill.example?subject=Order%202026-014%20from%20Quince%20%26%20"
    assert start.replace("&", "&amp;") in markup
    assert "3%20x%201%20kg%20bag%2C%20flour" in markup


def test_nothing_here_is_shown_to_strangers(client, mill, flour):
    order = draft(mill, (flour, 3))

    for name, args in (
        ("orders", []),
        ("order", [order.pk]),
        ("order_file", [order.pk, "xlsx"]),
        ("orders_zip", []),
    ):
        response = client.get(reverse(f"planning:{name}", args=args))
        assert response.status_code == 302
        assert response["Location"].startswith(reverse("login"))
