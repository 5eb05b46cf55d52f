"""While an order speaks of a pack, the pack holds what it held."""

from functools import partial

import pytest

from planning.interchange.kitchens import SheetRows, keep_kitchen
from planning.models import OrderLine, OrderStep
from planning.orders.orders import approve_order, cancel_order, return_to_draft
from planning.orders.revising import (
    Wanted,
    approve_revision,
    open_revision,
    send_revision,
    set_revision,
)
from planning.plan.snapshot import load_kitchen
from stock.entry.entries import EntryFaultsError
from stock.items.items import keep_items
from stock.models import Bakery, Pack
from stock.suppliers.packs import keep_packs, pack_entries
from tests import build, faults
from tests.build import NOON
from tests.planning.order_steps import TUESDAY, drafted, hand, sent
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db

faults_of = partial(faults.of, keep_packs)
OWN_PACK = "or give the new size a pack of its own."


def entry(flour, **changes):
    [known] = pack_entries([flour.pk])
    return known | changes


def size_base():
    return Pack.objects.get().size_base


def test_a_pack_of_an_order_that_was_sent_holds_what_it_held(flour, mill):
    order = drafted(flour, mill)
    sent(order)

    found = faults_of([entry(flour, holds="900 g")])

    assert found == {
        (1, "holds"): f"It is {flour.holds}, and {order.reference} was sent with it. "
        f"Wait until that came, or cancel it, {OWN_PACK}"
    }
    assert size_base() == 1_000


def test_a_pack_of_an_approved_order_holds_what_it_held(flour, mill):
    order = drafted(flour, mill)
    approve_order(hand(order))

    [sentence] = faults_of([entry(flour, holds="900 g")]).values()

    assert f"{order.reference} is approved with it. Make that a draft again" in sentence
    return_to_draft(hand(order))
    keep_packs([entry(flour, holds="900 g")])
    assert size_base() == 900


def test_a_pack_that_an_approved_revision_adds_holds_what_it_held(flour, mill):
    order, bakery = drafted(flour, mill), Bakery.current()
    sent(order)
    jar = build.pack(build.item("honey"), mill, label="jar", size_base=500)
    open_revision(hand(order), bakery=bakery)
    set_revision(hand(order), Wanted({jar.pk: 2}, TUESDAY), bakery=bakery)
    smaller = pack_entries([jar.pk])[0] | {"holds": "400 g"}
    keep_packs([smaller])  # of a draft nobody has said yes to it
    approve_revision(hand(order), bakery=bakery)

    found = faults_of([smaller | {"holds": "300 g"}])
    send_revision(hand(order), bakery=bakery)

    assert found == {
        (1, "holds"): f"It is 400 g, and revision 1 of {order.reference} is approved "
        f"with it. Make that a draft again first, {OWN_PACK}"
    }
    kitchen = load_kitchen(bakery=bakery, as_of=NOON)
    assert 800 in list(kitchen.open_orders.amount_base)


@pytest.mark.parametrize("how", ["cancelled", "came", "draft", "known by import alone"])
def test_no_other_order_holds_it(flour, mill, how):
    order = drafted(flour, mill)
    if how != "draft":
        sent(order)
    if how == "cancelled":
        cancel_order(hand(order))
    elif how == "came":
        OrderLine.objects.update(received_packs=3)
    elif how == "known by import alone":
        OrderStep.objects.all().delete()

    keep_packs([entry(flour, holds="900 g")])

    assert size_base() == 900


def test_the_same_size_in_other_words_and_a_new_price_are_fine(flour, mill):
    sent(drafted(flour, mill))

    keep_packs([entry(flour, holds="1 kg", price="11")])

    assert size_base() == 1_000


def test_it_is_not_made_a_pack_of_another_item(flour, mill):
    sent(drafted(flour, mill))
    build.item("sugar")

    found = faults_of([entry(flour, item="sugar")], ids=[flour.pk])

    assert list(found) == [(1, "item")]


def test_a_pack_is_held_through_the_word_of_another(flour, mill):
    keep_packs([entry(flour, called="bag")])
    pallet = build.pack(
        flour.item, mill, label="pallet", holds="40 bag", size_base=40_000
    )
    order = drafted(pallet, mill)
    sent(order)

    [sentence] = faults_of([entry(flour, called="bag", holds="900 g")]).values()

    assert sentence.startswith(
        f"pallet would change with it: it is 40 bag, and {order.reference} was sent"
    )
    assert set(Pack.objects.values_list("size_base", flat=True)) == {1_000, 40_000}


def test_a_unit_of_the_item_that_is_corrected_changes_no_order(mill):
    lemon = build.item("lemon", measure="mass", equivalents="1 each = 100 g")
    box = build.pack(lemon, mill, label="box", holds="12 each", size_base=1_200)
    sent(drafted(box, mill))

    keep_items([{"item": "lemon", "measure": "mass", "equivalents": "1 each = 110 g"}])

    assert size_base() == 1_320


def test_a_pack_of_its_own_is_the_way_out(flour, mill):
    sent(drafted(flour, mill))

    keep_packs([entry(flour, pack="900 g bag", holds="900 g", called="")])

    assert set(Pack.objects.values_list("size_base", flat=True)) == {900, 1_000}


def test_a_kitchen_names_the_cell_and_stores_nothing(flour, mill):
    sent(drafted(flour, mill))
    sheet = SheetRows([entry(flour, holds="900 g")], rows=[5])

    with pytest.raises(EntryFaultsError) as caught:
        keep_kitchen({"Packs": sheet})

    [fault] = caught.value.faults
    assert (fault.sheet, fault.row, fault.column) == ("Packs", 5, "holds")
    assert size_base() == 1_000


def test_the_form_says_it_beside_the_field(signed_in, flour, mill):
    order = drafted(flour, mill)
    sent(order)
    bag = entry(flour) | as_shown(flour)
    shown = {name: value for name, value in bag.items() if value not in (None, False)}
    address = f"/suppliers/packs/{flour.pk}/"

    response = signed_in.post(address, shown | {"holds": "900 g"})

    assert f"{order.reference} was sent with it" in response.content.decode()
    assert size_base() == 1_000
    assert signed_in.post(address, shown | {"price": "11"}).status_code == 302
