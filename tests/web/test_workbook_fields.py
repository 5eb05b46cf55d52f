"""What the kitchen workbook knows of a supplier, an item, a pack and a recipe stands
on its page and in its form, the rarer fields folded."""

from datetime import date
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from stock.models import Bakery, Item, Pack, Supplier
from tests import build

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def page(browser, name, *args):
    response = browser.get(reverse(name, args=args))
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def save(browser, address, sent):
    """Send a form as it was opened, with some of its fields changed."""
    form = browser.get(address).context["form"]
    opened = {name: form[name].value() for name in ("version", "as_opened")}
    response = browser.post(address, opened | sent)
    assert response.status_code == 302, response.context["form"].errors


def test_a_shop_is_shown_as_a_supplier_whose_trips_cost_something(signed_in):
    sent = {
        "supplier": "Corner market",
        "kind": "shop",
        "delivery_days": ["Mon", "Sat"],
        "cutoff_days": "",
        "cutoff_time": "",
        "delivery_fee": "6",
        "contact": "Ines",
        "phone": "555 0142",
        "account": "K-7",
    }

    signed_in.post(reverse("stock:add_supplier"), sent)

    market = Supplier.objects.get()
    shown = page(signed_in, "stock:supplier", market.pk)
    assert "A shop: somebody goes there." in shown
    assert "Open Mon, Sat." in shown
    assert "A trip costs $6.00." in shown
    assert "Ines, 555 0142, account K-7." in shown
    assert "a shop" in page(signed_in, "stock:suppliers")


def test_cut_offs_of_each_delivery_day_are_said_and_can_be_changed(signed_in):
    mill = build.supplier("Mill", cutoff_days="Tue 4; Fri 2")

    shown = page(signed_in, "stock:supplier", mill.pk)
    form = page(signed_in, "stock:change_supplier", mill.pk)

    # Now is Monday noon: four days before Tuesday is past, two before Friday is not.
    assert "Comes next: Friday, if ordered by Wed 2:00 pm." in shown
    assert "2:00 pm 4 days before (Tue), 2 days before (Fri)" in shown
    assert 'value="Tue 4; Fri 2"' in form


def test_rare_fields_are_folded_and_open_where_something_is_wrong(signed_in):
    mill = build.supplier("Mill", contact="Bram")
    address = reverse("stock:change_supplier", args=[mill.pk])

    form = page(signed_in, "stock:change_supplier", mill.pk)
    refused = signed_in.post(address, {"supplier": "Mill", "email": "nobody"})

    assert '<details class="more-fields"> <summary><span>Contact and account' in form
    assert "(1 entered)" in form
    markup = " ".join(refused.content.decode().split())
    assert (
        '<details class="more-fields" open> <summary><span>Contact and account'
        in markup
    )


def test_a_form_does_not_retire_or_bring_back(signed_in):
    mill = build.supplier("Mill", retired=True)
    sent = {
        "supplier": "Old mill",
        "kind": "delivers",
        "delivery_days": ["Tue"],
        "cutoff_days": "1",
        "cutoff_time": "14:00",
    }

    save(signed_in, reverse("stock:change_supplier", args=[mill.pk]), sent)

    mill.refresh_from_db()
    assert (mill.name, mill.retired) == ("Old mill", True)


def test_an_item_says_how_long_it_keeps_opened_frozen_and_thawed(signed_in):
    sent = {
        "item": "cream",
        "kind": "ingredient",
        "measure": "volume",
        "cold": "on",
        "opened_keeps_days": "4",
        "frozen_keeps_days": "90",
        "thawed_keeps_days": "1",
    }

    signed_in.post(reverse("stock:add_item"), sent)

    shown = page(signed_in, "stock:item", Item.objects.get().pk)
    for said in ("cold", "4 days", "90 days", "1 day"):
        assert f'<span class="figure">{said}</span>' in shown


@pytest.mark.parametrize(
    ("starts_on", "said"),
    [
        (date(2026, 5, 5), ["$10.00", "from 5: $9.00 each; $12.00 from Tue May 5"]),
        (date(2026, 5, 4), ["$12.00"]),  # today
    ],
)
def test_a_pack_says_its_price_now_and_the_next(signed_in, starts_on, said):
    butter = build.item("butter")
    pack = build.pack(butter, price="10", size_base=1_000, price_breaks="5: 9")
    sent = {"pack": "brick", "holds": "1 kg", "price": "10", "price_breaks": "5: 9"}

    save(
        signed_in,
        reverse("stock:change_pack", args=[pack.pk]),
        sent | {"next_price": "12", "next_price_from": starts_on.isoformat()},
    )

    pack.refresh_from_db()
    assert (pack.next_price, pack.next_price_from) == (Decimal(12), starts_on)
    shown = page(signed_in, "stock:item", butter.pk)
    assert all(f">{words}<" in shown for words in said)
    assert ("from 5: $9.00 each" in shown) == (starts_on > date(2026, 5, 4))


def test_a_recipe_says_that_it_caps_its_use_by(signed_in):
    curd = build.recipe("curd", keeps_days=5)

    save(
        signed_in,
        reverse("planning:change_recipe", args=[curd.pk]),
        {"recipe": "curd", "yields": "1 kg", "keeps_days": "5", "caps_use_by": "on"},
    )

    curd.refresh_from_db()
    assert curd.caps_use_by
    assert "by what goes into it" in page(signed_in, "planning:recipe", curd.pk)


def test_the_address_for_deliveries_is_a_setting(signed_in):
    build.bakery(name="Quince & Rye")
    sent = {
        "bakery": "Quince & Rye",
        "time_zone": "UTC",
        "currency": "USD",
        "week_starts": "Mon",
        "address": "12 Mill Lane\r\nRear entrance",
        "phone": "555 0100",
        "delivery_note": "Ring twice",
    }

    save(signed_in, reverse("planning:kitchen"), sent)

    bakery = Bakery.objects.get()
    assert bakery.address == "12 Mill Lane\nRear entrance"
    assert (bakery.phone, bakery.delivery_note) == ("555 0100", "Ring twice")


def test_a_retired_pack_is_hidden_at_its_supplier_until_asked_for(signed_in):
    dairy = build.supplier("Dairy")
    build.pack(build.item("butter"), dairy, label="old brick", retired=True)
    address = reverse("stock:supplier", args=[dairy.pk])

    assert "old brick" not in signed_in.get(address).content.decode()
    shown = signed_in.get(address, {"retired": "yes"}).content.decode()
    assert "old brick, retired" in shown
    assert Pack.objects.get().retired


def test_a_folded_field_that_somebody_changed_meanwhile_is_seen(signed_in):
    mill = build.supplier("Mill", contact="Bram")
    address = reverse("stock:change_supplier", args=[mill.pk])
    form = signed_in.get(address).context["form"]
    opened = {name: form[name].value() for name in form.fields} | {"contact": "Ines"}
    opened = {name: "" if text is None else text for name, text in opened.items()}

    signed_in.post(address, opened)
    second = signed_in.post(address, opened | {"contact": "Rosalind"})

    markup = " ".join(unescape(second.content.decode()).split())
    assert '<details class="more-fields" open>' in markup
    assert "Saved meanwhile: Ines" in markup
    mill.refresh_from_db()
    assert mill.contact == "Ines"


def test_a_shop_is_offered_neither_for_an_order_nor_for_a_delivery_to_drop(signed_in):
    build.supplier("Mill")
    build.supplier("Corner market", kind="shop")

    for name in ("planning:start_order", "planning:what_if"):
        shown = page(signed_in, name)
        assert "Mill" in shown
        assert "Corner market" not in shown
