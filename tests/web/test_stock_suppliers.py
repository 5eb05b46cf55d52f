from datetime import time
from decimal import Decimal
from html import unescape

import pytest

from stock.models import Pack, Supplier
from tests import build
from tests.web.reading import as_shown

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

DAIRY = {
    "supplier": "Valley Dairy",
    "email": "orders@valley.example",
    "delivery_days": ["Fri", "Tue"],
    "cutoff_days": "1",
    "cutoff_time": "14:00",
    "usable": "same day",
    "minimum_order": "150",
    "delivery_fee": "15",
    "free_delivery_from": "",
    "closed_on": "2026-12-25",
}
CASE = {
    "item": "butter",
    "pack": "case 36 x 1 lb",
    "called": "case",
    "holds": "36 lb",
    "price": "118.80",
    "price_breaks": "10: 115",
    "minimum_packs": "1",
    "multiple": "",
    "preferred": "on",
    "code": "BD-1036",
    "gtin": "",
}


def page(browser, address="/suppliers/"):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode())


def test_without_a_supplier_it_says_what_to_do_first(signed_in):
    assert "Nobody sells anything here yet." in page(signed_in)


def test_a_supplier_is_added_with_its_days_and_terms(signed_in):
    response = signed_in.post("/suppliers/add/", DAIRY)

    dairy = Supplier.objects.get()
    assert response.url == f"/suppliers/{dairy.pk}/"
    assert dairy.delivery_days == "Tue Fri"
    assert (dairy.cutoff_days, dairy.cutoff_time) == ("1", time(14))
    assert not dairy.usable_next_day
    assert dairy.minimum_order == Decimal(150)
    assert dairy.free_delivery_from is None


def test_an_accent_that_a_keyboard_sends_apart_is_one_letter_of_the_name(signed_in):
    response = signed_in.post("/suppliers/add/", DAIRY | {"supplier": "Cre\u0300merie"})

    dairy = Supplier.objects.get(name="Cr\u00e8merie")
    assert response.url == f"/suppliers/{dairy.pk}/"


def test_every_fault_of_a_supplier_stands_beside_its_field(signed_in):
    faulty = DAIRY | {
        "supplier": "",
        "delivery_days": [],
        "cutoff_time": "25:00",
        "minimum_order": "1,50",
    }

    response = signed_in.post("/suppliers/add/", faulty)

    assert set(response.context["form"].errors) == {
        "supplier",
        "delivery_days",
        "cutoff_time",
        "minimum_order",
    }
    assert 'value="1,50"' in unescape(response.content.decode())
    assert not Supplier.objects.exists()


def test_the_next_truck_and_its_cut_off_are_said_in_words(signed_in):
    # it is Monday noon: Tuesday's truck can be ordered until two o'clock today
    build.supplier("Valley Dairy")
    build.supplier("Mill", delivery_days="Mon", cutoff_days=2, cutoff_time=time(9, 30))

    markup = page(signed_in)

    assert "tomorrow" in markup
    assert "today 2:00 pm" in markup
    assert "Mon May 11" in markup  # a week from now, not today's
    assert "Sat 9:30 am" in markup


def test_terms_are_sentences_with_their_currency(signed_in):
    build.bakery(currency="EUR")
    build.supplier("Free Mill")
    dairy = build.supplier(
        "Valley Dairy",
        minimum_order=150,
        delivery_fee=15,
        free_delivery_from=400,
        closed_on="2026-12-25",
    )

    everyone = page(signed_in)
    markup = page(signed_in, f"/suppliers/{dairy.pk}/")

    assert "No minimum order; delivery is free." in everyone
    assert (
        "Orders from €150.00 on; a delivery costs €15.00, free from €400.00 on."
    ) in markup
    assert "Delivers Tue, Fri, if ordered by 2:00 pm the day before." in markup
    assert "No delivery on Fri Dec 25." in markup


def test_a_supplier_is_changed_and_retired_and_brought_back(signed_in):
    dairy = build.supplier("Vally Dairy")

    signed_in.post(f"/suppliers/{dairy.pk}/change/", DAIRY | as_shown(dairy))
    signed_in.post(f"/suppliers/{dairy.pk}/retire/", as_shown(dairy))

    dairy.refresh_from_db()
    assert (dairy.name, dairy.retired) == ("Valley Dairy", True)
    assert list(signed_in.get("/suppliers/").context["table"].data) == []
    assert "Show 1 retired too" in page(signed_in)
    assert "Valley Dairy, retired" in page(signed_in, "/suppliers/?retired=yes")

    signed_in.post(f"/suppliers/{dairy.pk}/unretire/", as_shown(dairy))
    dairy.refresh_from_db()
    assert not dairy.retired


def test_a_pack_is_added_to_what_a_supplier_sells(signed_in):
    butter, dairy = build.item("butter"), build.supplier("Valley Dairy")

    response = signed_in.post(f"/suppliers/{dairy.pk}/packs/add/", CASE)

    pack = Pack.objects.get()
    assert response.url == f"/suppliers/{dairy.pk}/"
    assert (pack.item, pack.supplier) == (butter, dairy)
    assert pack.price == Decimal("118.80")
    assert pack.size_base == pytest.approx(36 * 453.59237)
    assert pack.preferred
    markup = page(signed_in, response.url)
    assert "$3.30/lb" in markup
    assert "from 10: $115.00 each" in markup


def test_a_pack_is_added_from_the_page_of_its_item(signed_in):
    butter, dairy = build.item("butter"), build.supplier("Valley Dairy")

    response = signed_in.post(
        f"/shelves/{butter.pk}/packs/add/", CASE | {"supplier": "valley dairy"}
    )

    assert response.url == f"/shelves/{butter.pk}/"
    assert Pack.objects.get().supplier == dairy


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("item", "buter", "Did you mean butter?"),
        ("holds", "36", "36 has no unit."),
        ("holds", "0 lb", "A pack must hold more than nothing."),
        ("price", "-1", "above 0"),
        ("price_breaks", "10", "isn't a price break"),
        ("gtin", "12a", "valid bar code"),
        ("minimum_packs", "0", "1 or more"),
    ],
)
def test_a_faulty_pack_says_so_beside_its_field_and_is_not_stored(
    signed_in, field, typed, words
):
    build.item("butter")
    dairy = build.supplier()

    response = signed_in.post(
        f"/suppliers/{dairy.pk}/packs/add/", CASE | {field: typed}
    )

    assert words in response.context["form"].errors[field][0]
    assert not Pack.objects.exists()


def test_a_supplier_that_is_not_there_stands_beside_its_field(signed_in):
    butter = build.item("butter")
    build.supplier("Valley Dairy")

    response = signed_in.post(
        f"/shelves/{butter.pk}/packs/add/", CASE | {"supplier": "Vally Dairy"}
    )

    errors = response.context["form"].errors
    assert "Did you mean Valley Dairy?" in errors["supplier"][0]


def test_a_pack_is_changed_and_an_unticked_box_says_no(signed_in):
    pack = build.pack(build.item("butter"), preferred=True, called="case")
    changed = {key: value for key, value in CASE.items() if key != "preferred"}

    response = signed_in.post(f"/suppliers/packs/{pack.pk}/", changed | as_shown(pack))

    pack.refresh_from_db()
    assert response.url == f"/suppliers/{pack.supplier_id}/"
    assert (pack.label, pack.preferred) == ("case 36 x 1 lb", False)


def test_requests_without_fields_are_forms_that_are_still_to_be_filled_in(signed_in):
    dairy = build.supplier()

    for address in ("/suppliers/add/", f"/suppliers/{dairy.pk}/packs/add/"):
        response = signed_in.post(address)
        assert response.status_code == 200
        assert response.context["form"].errors

    assert Supplier.objects.count() == 1
    assert not Pack.objects.exists()


def test_from_the_page_of_the_item_one_comes_back_to_it(signed_in):
    pack = build.pack(build.item("butter"), called="case")

    response = signed_in.post(
        f"/suppliers/packs/{pack.pk}/?from=item", CASE | as_shown(pack)
    )

    assert response.url == f"/shelves/{pack.item_id}/"


def test_a_pack_is_retired_and_sold_again(signed_in):
    pack = build.pack(build.item("butter"), label="case")
    address = f"/suppliers/{pack.supplier_id}/"

    signed_in.post(f"/suppliers/packs/{pack.pk}/retire/", as_shown(pack))
    assert "Show 1 retired too" in page(signed_in, address)
    assert "case, retired" in page(signed_in, f"{address}?retired=yes")

    signed_in.post(f"/suppliers/packs/{pack.pk}/unretire/", as_shown(pack))
    assert "retired too" not in page(signed_in, address)


def test_a_pack_whose_word_is_in_use_is_retired_and_its_word_stays(signed_in):
    butter = build.item("butter")
    pack = build.pack(butter, called="case", size_base=1_000)
    butter.safety, butter.safety_base = "2 case", 2_000
    butter.save()

    signed_in.post(f"/suppliers/packs/{pack.pk}/retire/", as_shown(pack), follow=True)

    pack.refresh_from_db()
    butter.refresh_from_db()
    assert (pack.retired, butter.safety_base) == (True, 2_000)


def test_names_are_shown_as_they_are_written(signed_in):
    dairy = build.supplier('=Käse & "Co" <b>')
    build.pack(build.item("<i>Crème</i>"), dairy, label="1 < 2", code="=A1")

    everyone = signed_in.get("/suppliers/").content.decode()
    markup = signed_in.get(f"/suppliers/{dairy.pk}/").content.decode()

    assert "=Käse &amp; &quot;Co&quot; &lt;b&gt;" in everyone
    assert "&lt;i&gt;Crème&lt;/i&gt;" in markup
    assert "1 &lt; 2" in markup
    assert "<b>" not in markup
    assert "<i>" not in markup


@pytest.mark.parametrize("rows", [1, 20])
def test_the_queries_do_not_grow(signed_in, django_assert_num_queries, rows):
    dairy = build.supplier()
    for _ in range(rows):
        build.pack(build.item(), dairy)
        build.supplier()

    # who is signed in (2), the bakery; then the suppliers, or one, its packs and
    # converters (2)
    with django_assert_num_queries(4):
        page(signed_in)
    with django_assert_num_queries(7):
        page(signed_in, f"/suppliers/{dairy.pk}/")
