"""Where a lot came from and what it went into, both ways, from any start."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.baking.bench import TakenForLine
from planning.models import Bake, BakeLine
from planning.tracing.trace import LinkKind, Start, StartKind, read_trace
from stock.holding.holding import hold_lot
from stock.models import Lot, Waste
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.build import MONDAY, NOON
from tests.planning import deliveries
from tests.planning.bakes import bake, make, undo
from tests.planning.traced import TUESDAY, traced_kitchen

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def kitchen():
    return traced_kitchen()


def of_lot(lot):
    return read_trace(Start(StartKind.LOT, lot.pk))


def steps(links):
    """What each link says: kind, item, how much, and the recipe of the bake."""
    return [
        (
            link.kind.value,
            link.lot.item.name,
            float(link.amount_base),
            link.bake.recipe.item.name if link.bake else link.movement_kind,
        )
        for link in links
    ]


def test_a_lot_is_followed_to_the_cake_and_back_to_the_supplier(kitchen):
    found = of_lot(kitchen.flour_lot)

    assert steps(found.forward) == [
        ("used", "flour", 600, "layers"),
        ("used", "layers", 700, "honey cake"),
        ("made", "layers", 1_000, "layers"),
    ]
    assert steps(found.back) == [("delivered", "flour", 3_000, "")]
    (delivered,) = found.back
    assert delivered.delivery == kitchen.delivery
    assert delivered.on == MONDAY
    assert found.cakes == (kitchen.planned,)
    assert [(x.lot.item.name, x.amount_base, x.place.name) for x in found.left] == [
        ("flour", 2_400, "rack"),
        ("layers", 300, "rack"),
    ]


def test_a_cake_is_followed_back_to_what_came_and_what_nobody_knows(kitchen):
    found = read_trace(Start(StartKind.CAKE, kitchen.planned.pk))

    assert steps(found.back) == [
        ("found", "box", 10, "imported"),
        ("made", "layers", 1_000, "layers"),
        ("delivered", "flour", 3_000, ""),
        ("used", "box", 1, "honey cake"),
        ("used", "layers", 700, "honey cake"),
        ("used", "flour", 600, "layers"),
    ]
    assert (found.forward, found.cakes) == ((), ())


@pytest.mark.parametrize("kind", [StartKind.DELIVERY, StartKind.ORDER])
def test_a_delivery_and_an_order_are_followed_as_the_lots_that_came(kitchen, kind):
    row = kitchen.delivery if kind is StartKind.DELIVERY else kitchen.order

    found = read_trace(Start(kind, row.pk))

    assert found.start_lot_ids == (kitchen.flour_lot.pk,)
    assert found.cakes == (kitchen.planned,)


def test_a_bake_that_took_from_two_lots_names_both(kitchen):
    build.stock(kitchen.flour, 100, lot="F0", use_by=TUESDAY, at=NOON)

    make(kitchen.layers)

    for code, grams in [("F0", 100), ("F1", 500)]:
        forward = of_lot(Lot.objects.get(code=code)).forward
        assert ("used", "flour", grams, "layers") in steps(forward)


def test_what_a_substitute_stands_for_does_not_hide_it(kitchen):
    spelt = build.item("spelt", on_hand_base=900, place=kitchen.rack)
    build.substitute(kitchen.flour, spelt)
    row = make(
        kitchen.layers,
        changes={kitchen.flour.pk: TakenForLine(spelt.pk, Decimal(600))},
    )

    found = of_lot(Lot.objects.get(item=spelt))

    assert steps(found.forward)[0] == ("used", "spelt", 600, "layers")
    assert found.forward[0].bake == row


def test_what_was_undone_is_left_out(kitchen):
    undo(Bake.objects.get(planned_cake=kitchen.planned))
    undo(Bake.objects.get(undone_at=None))

    found = of_lot(kitchen.flour_lot)

    assert (found.forward, found.cakes) == ((), ())
    assert [link.amount_base for link in found.left] == [3_000]


def test_an_undone_delivery_brought_nothing(kitchen):
    order = build.order(kitchen.order.supplier, lines=[(kitchen.flour.packs.get(), 2)])
    later = deliveries.receive(order, 2, lot_code="F2", use_by=TUESDAY)
    lot = Lot.objects.get(code="F2")

    deliveries.undo(later)

    found = of_lot(lot)
    assert (found.back, found.forward, found.left) == ((), (), ())
    assert read_trace(Start(StartKind.DELIVERY, later.pk)).start_lot_ids == ()


def test_a_move_keeps_the_lot_and_waste_and_hand_are_said(kitchen):
    freezer = build.place("freezer")
    entry = MoveEntry(kitchen.flour.pk, kitchen.rack.pk, freezer.pk, Decimal(400))
    move_stock(entry, key="m1")
    waste(
        WasteEntry(kitchen.flour.pk, freezer.pk, Decimal(100), Waste.Reason.DROPPED),
        key="w1",
    )

    found = of_lot(kitchen.flour_lot)

    assert ("gone", "flour", 100, "wasted") in steps(found.forward)
    lies = {x.place.name: x.amount_base for x in found.left if x.lot.code == "F1"}
    assert lies == {"rack": 2_000, "freezer": 300}


@pytest.mark.parametrize(
    ("kind", "grams", "said"),
    [
        ("counted", 50, ("found", "flour", 50, "counted")),
        ("corrected", 50, ("found", "flour", 50, "corrected")),
        ("received", 50, ("found", "flour", 50, "received")),
        ("counted", -50, ("gone", "flour", 50, "counted")),
        ("used", -50, ("gone", "flour", 50, "used")),
    ],
)
def test_what_came_or_left_without_a_document_is_said(kitchen, kind, grams, said):
    lot = kitchen.flour_lot
    build.stock(kitchen.flour, grams, lot="F1", use_by=lot.use_by, kind=kind)

    found = of_lot(lot)

    assert said in steps([*found.back, *found.forward])


def test_what_a_count_found_of_a_made_lot_has_no_origin(kitchen):
    lot = Lot.objects.get(item=kitchen.layers.item)
    build.stock(
        kitchen.layers.item, 40, lot=lot.code, use_by=lot.use_by, kind="counted"
    )

    assert ("found", "layers", 40, "counted") in steps(
        of_lot(kitchen.flour_lot).forward
    )


def test_a_lot_on_hold_is_said_where_it_lies(kitchen):
    hold_lot(kitchen.flour_lot.pk, reason="recall")

    held = {link.lot.item.name: link.is_held for link in of_lot(kitchen.flour_lot).left}

    assert held == {"flour": True, "layers": False}


def test_a_circle_ends(kitchen):
    """Two bakes, each of which used what the other made."""
    first = Bake.objects.get(planned_cake=None)
    second = make(kitchen.layers)
    made = [Lot.objects.get(code=f"M{row.pk}") for row in (first, second)]
    for row, lot in ((first, made[1]), (second, made[0])):
        BakeLine.objects.create(bake=row, place=kitchen.rack, lot=lot, amount_base=-100)

    found = of_lot(made[0])

    used = [link for link in found.forward if link.kind is LinkKind.USED]
    assert {(link.lot, link.bake) for link in used} >= {
        (made[0], second),
        (made[1], first),
    }
    assert kitchen.flour_lot in {link.lot for link in found.back}


def test_more_lots_and_cakes_take_no_more_queries(kitchen):
    with CaptureQueriesContext(connection) as few:
        of_lot(kitchen.flour_lot)
    for day in range(4):
        make(kitchen.layers, 1)
        bake(build.planned_cake(kitchen.honey_cake, due_on=MONDAY + timedelta(day)))

    with CaptureQueriesContext(connection) as many:
        found = of_lot(kitchen.flour_lot)

    assert len(found.cakes) == 5
    assert len(many) == len(few) <= 20
