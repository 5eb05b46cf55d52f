"""What a cake contains, from the labels of what its recipe says or what went in."""

from decimal import Decimal

import pytest

from planning.baking.bench import TakenForLine
from planning.models import CakeTicket
from planning.tickets.printing import (
    TicketChangedError,
    changed_since,
    newest_ticket,
    note_ticket,
)
from planning.tracing.contents import WouldAdd, cake_contents
from stock.saving.versions import ChangedSinceError
from tests import build
from tests.planning.bakes import bake, make, undo
from tests.planning.traced import TUESDAY, traced_kitchen

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def kitchen():
    return traced_kitchen()


@pytest.fixture
def almond_flour(kitchen):
    """May be used for flour; its label says almonds."""
    item = build.item(
        "almond flour", on_hand_base=5_000, place=kitchen.rack, allergens="Almonds"
    )
    build.substitute(kitchen.flour, item)
    return item


def test_a_planned_cake_contains_what_its_recipe_takes(kitchen, almond_flour):
    planned = build.planned_cake(kitchen.honey_cake, due_on=TUESDAY)

    found = cake_contents(planned)

    assert found.allergens == {"wheat": ("flour",)}
    assert not found.from_lots
    assert found.would_add == (WouldAdd("almond flour", "flour", ("almonds",)),)


def test_a_baked_cake_contains_what_was_used_instead(kitchen, almond_flour):
    """The layers of the first cake are eaten up, those of the second are of almonds."""
    instead = {kitchen.flour.pk: TakenForLine(almond_flour.pk, Decimal(600))}
    make(kitchen.layers, changes=instead)
    planned = build.planned_cake(kitchen.honey_cake, due_on=TUESDAY, quantity=1)

    bake(planned)

    found = cake_contents(planned)
    assert found.allergens == {"almonds": ("almond flour",), "wheat": ("flour",)}
    assert (found.from_lots, found.would_add) == (True, ())


def test_of_a_lot_without_origin_its_recipe_is_meant(kitchen):
    build.stock(
        kitchen.layers.item, 5_000, place=kitchen.rack, lot="old", use_by=TUESDAY
    )
    egg = build.item("egg", allergens="Eggs", measure="count")
    white = build.part("egg white", whole=egg, yields_base=30)
    build.recipe_line(kitchen.layers, white, 60)
    planned = build.planned_cake(kitchen.honey_cake, due_on=TUESDAY)

    bake(planned)

    assert cake_contents(planned).allergens == {"eggs": ("egg",), "wheat": ("flour",)}


def test_undone_it_contains_its_recipe_again(kitchen):
    undo(kitchen.planned.bakes.get())

    assert not cake_contents(kitchen.planned).from_lots


def test_an_ingredient_without_a_label_is_named(kitchen):
    sugar = build.item("sugar", allergens=" ; ")
    build.recipe_line(kitchen.layers, sugar, 10)
    planned = build.planned_cake(kitchen.honey_cake, due_on=TUESDAY)

    assert cake_contents(planned).unlabelled == ("sugar",)


def test_what_a_ticket_said_is_kept_and_compared(kitchen):
    ada = build.user()
    printed = note_ticket(kitchen.planned.pk, shown="wheat", by_id=ada.pk)
    again = note_ticket(kitchen.planned.pk, shown="wheat", by_id=ada.pk)
    kitchen.flour.allergens = "Wheat; soybeans"
    kitchen.flour.save()

    change = changed_since(printed, cake_contents(kitchen.planned))

    assert printed == again == CakeTicket.objects.get()
    assert printed.contains == "wheat"
    assert (change.added, change.left_out) == (("soybeans",), ())


def test_a_change_is_noted_as_a_new_ticket(kitchen):
    note_ticket(kitchen.planned.pk, shown="wheat")
    kitchen.flour.allergens = ""
    kitchen.flour.save()

    note_ticket(kitchen.planned.pk, shown="")

    newest = newest_ticket(kitchen.planned.pk)
    assert (newest.contains, CakeTicket.objects.count()) == ("", 2)


def test_a_paper_that_is_out_of_date_is_not_noted(kitchen):
    kitchen.planned.refresh_from_db()
    version = kitchen.planned.version
    kitchen.flour.allergens = "barley"
    kitchen.flour.save()

    with pytest.raises(TicketChangedError):
        note_ticket(kitchen.planned.pk, shown="wheat", seen=version)
    with pytest.raises(ChangedSinceError):
        note_ticket(kitchen.planned.pk, shown="barley", seen=version - 1)
    assert not CakeTicket.objects.exists()
