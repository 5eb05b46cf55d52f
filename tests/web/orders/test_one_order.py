"""The page of one order: its figures, its lines and what it warns of."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO

import openpyxl
import pytest
from django.urls import reverse

from planning.models import Order
from planning.orders.drafting import draft_what_is_needed
from stock.models import Bakery
from tests import build
from tests.build import NOON
from tests.web.orders.drafts import draft
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


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


def test_a_note_for_the_supplier_stands_on_all_that_it_gets(site, mill, flour):
    order, name = draft(mill, (flour, 3)), f"packs_{flour.pk}"
    note = "Alley door,  please"

    response = post(site, "order", order.pk, version=1, note=note, **{name: "3"})
    again = post(site, "order", order.pk, version=1, note=note, **{name: "3"})
    stale = post(site, "order", order.pk, version=1, note="Ring", **{name: "3"})

    assert "Note for the supplier: Alley door, please" in text(response)
    assert "Note: Alley door, please" in text(again)  # the message
    assert "Rosa has changed 2026-014 already" in text(stale)
    document = site.get(reverse("planning:order_file", args=[order.pk, "xlsx"]))
    sheet = openpyxl.load_workbook(BytesIO(document.content))["Order"]
    cells = [cell for row in sheet.values for cell in row]
    assert "Notes: Alley door, please" in cells
    order.refresh_from_db()
    assert (order.note, order.version) == ("Alley door, please", 2)


@pytest.mark.parametrize("note", ["n" * 301, "bell \x07"])
def test_a_note_that_cannot_be_kept_is_refused_beside_its_field(
    site, mill, flour, note
):
    order = draft(mill, (flour, 3))

    response = post(site, "order", order.pk, version=1, note=note)

    assert response.context["form"].errors["note"]
    order.refresh_from_db()
    assert order.note == ""


def test_reasons_for_a_number_that_was_changed_say_for_which(site, mill, flour):
    order = draft(mill, (flour, 3))
    order.lines.update(because=["Cakes on Friday need 3,000 g."])

    response = post(site, "order", order.pk, version=1, **{f"packs_{flour.pk}": "4"})

    assert (
        "The plan's reasons were for 3 packs: Cakes on Friday need 3,000 g. Rosa made "
        "it 4 instead of 3." in text(response)
    )


def test_reasons_say_as_of_when_they_were(site, cakes, clock):
    draft_what_is_needed(bakery=Bakery.objects.get(), at=NOON)
    order = Order.objects.get()
    clock["now"] = NOON + timedelta(days=1)

    assert "Reasons are as of yesterday noon." in page(site, "order", order.pk)
    Order.objects.update(reasons_at=None)  # of an older program: when it was drafted
    assert "Reasons are as of yesterday noon." in page(site, "order", order.pk)
    order.lines.update(because=[])
    assert "Reasons are as of" not in page(site, "order", order.pk)


def test_drafting_again_says_why_as_of_now(site, cakes, clock):
    post(site, "draft_orders")
    clock["now"] = NOON + timedelta(hours=1)

    response = post(site, "draft_orders")

    assert "As the plan suggests, with reasons as of now: 2026-001." in text(response)
    order = Order.objects.get()
    assert "Reasons are as of today 1:00 pm." in page(site, "order", order.pk)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("many", "isn't a number"),
        ("2.5", "2.5 isn't a whole number"),
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
        (
            1,
            "1 kg bag of flour is sold from 2 packs on: write 2 or more, or 0",
        ),
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

    shown = page(site, "order", order.pk)
    assert "1 kg bag of flour is sold 2 at a time: write 2 or 4." in shown


def test_packs_are_written_as_number_words_too(site, mill, flour):
    order = draft(mill, (flour, 3))

    post(site, "order", order.pk, version=1, **{f"packs_{flour.pk}": "six"})

    assert order.lines.get().packs == 6


def test_a_price_that_has_changed_since_is_warned_of(site, mill, flour):
    order = draft(mill, (flour, 3))
    flour.price = Decimal("10.5")
    flour.save()

    shown = page(site, "order", order.pk)

    assert "costs $10.50 now, but the order says $10.00" in shown


def test_a_cut_off_that_is_past_is_warned_of(site, mill, flour, clock):
    order = draft(mill, (flour, 3))
    assert "The cut-off was" not in page(site, "order", order.pk)

    clock["now"] = datetime(2026, 5, 4, 14, 1, tzinfo=UTC)

    shown = page(site, "order", order.pk)
    assert "The cut-off was today 2:00 pm: ask Mill, Sons & Co" in shown


def test_a_day_without_a_truck_is_warned_of(site, mill, flour):
    order = draft(mill, (flour, 3))
    Order.objects.filter(pk=order.pk).update(deliver_on=date(2026, 5, 6))

    shown = page(site, "order", order.pk)

    assert "Mill, Sons & Co does not deliver on Wednesday." in shown


@pytest.mark.parametrize("lines", [1, 15])
def test_an_order_reads_with_as_many_queries_however_many_lines(
    site, mill, flour, django_assert_num_queries, lines
):
    more = [build.pack(build.item(), mill) for _ in range(lines)]
    order = draft(mill, (flour, 3), *((pack, 1) for pack in more))
    page(site, "order", order.pk)

    # session, user, bakery; the order, its lines, its steps; packs to add
    with django_assert_num_queries(9):
        page(site, "order", order.pk)


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


def test_on_paper_it_says_its_day_in_full_and_where_it_goes(site, mill, flour):
    build.bakery(address="12 Mill Lane\nQuillmere", phone="555 0100")

    shown = page(site, "order", draft(mill, (flour, 3)).pk)

    assert (
        "To be delivered on Tuesday, May 5, 2026. "
        "Deliver to: 12 Mill Lane, Quillmere Phone: 555 0100" in shown
    )
