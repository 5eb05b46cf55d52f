from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from stock.ledger import guard
from stock.models import Lot, Movement
from tests import build
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db


def flour_on_a_shelf():
    return build.item("flour", place=build.place(), on_hand_base=500)


def refused(act):
    with (
        pytest.raises(IntegrityError, match="correct a movement by another one"),
        transaction.atomic(),
    ):
        act()


def test_a_movement_cannot_be_changed():
    flour = flour_on_a_shelf()

    refused(lambda: Movement.objects.update(amount_base=600))

    assert Movement.objects.get().amount_base == Decimal(500)
    assert on_hand_base_by_item() == {flour.pk: Decimal(500)}


def test_not_even_its_note():
    flour_on_a_shelf()

    refused(lambda: Movement.objects.update(note="never mind"))


def test_a_movement_cannot_be_taken_out():
    flour_on_a_shelf()

    refused(Movement.objects.all().delete)
    refused(Movement.objects.get().delete)

    assert Movement.objects.count() == 1


def test_all_of_them_cannot_be_swept_away():
    flour_on_a_shelf()
    connection.check_constraints()  # PostgreSQL sweeps no table with checks open
    sweep = (
        "TRUNCATE stock_movement CASCADE"
        if connection.vendor == "postgresql"
        else "DELETE FROM stock_movement"
    )

    refused(lambda: connection.cursor().execute(sweep))

    assert Movement.objects.count() == 1


@pytest.mark.skipif(
    connection.vendor != "sqlite", reason="only SQLite replaces rows on insert"
)
def test_a_movement_cannot_be_replaced_by_another_of_its_number():
    flour_on_a_shelf()
    columns = "id, item_id, place_id, lot_id, kind, amount_base, at, recorded_at, note"

    refused(
        lambda: connection.cursor().execute(
            f"INSERT OR REPLACE INTO stock_movement ({columns}) "  # noqa: S608 (our own columns)
            "SELECT id, item_id, place_id, lot_id, kind, 7, at, recorded_at, note "
            "FROM stock_movement"
        )
    )

    assert Movement.objects.get().amount_base == Decimal(500)


def test_what_has_moved_keeps_its_item_place_and_lot():
    flour = flour_on_a_shelf()

    for row in (flour, flour.place, Lot.objects.get()):
        with pytest.raises(IntegrityError):
            row.delete()


def test_it_can_be_taken_away_and_put_back():
    guard.remove(connection)
    missing = guard.missing_triggers(connection)
    guard.install(connection)
    guard.install(connection)

    assert {"stock_movement_no_update", "stock_movement_no_delete"} <= set(missing)
    assert guard.missing_triggers(connection) == []
