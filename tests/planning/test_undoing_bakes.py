"""What was made is undone as long as nothing later stands on it."""

from datetime import timedelta
from decimal import Decimal

import pytest

from planning.baking.errors import BakeDependedOnError
from planning.models import Bake
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.levels import items_on_record
from stock.ledger.verifying import rebuild
from tests import build
from tests.build import NOON
from tests.planning.bakes import bake, make, on_hand, undo
from tests.stock import counts

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _bakery(clock):
    build.bakery(time_zone="UTC")


@pytest.fixture
def rack():
    return build.place("rack")


@pytest.fixture
def sugar(rack):
    return build.item("sugar", on_hand_base=1_000, place=rack)


@pytest.fixture
def curd(sugar):
    return build.recipe("curd", yield_base=500, keeps_days=3, lines=[(sugar, 200)])


@pytest.fixture
def tart(curd):
    return build.cake("tart", lines=[(curd, 100)])


def test_undone_a_batch_was_never_made(curd, clock):
    row = make(curd)
    clock["now"] = NOON + timedelta(hours=1)

    undo(row, by=build.user("ada"))

    assert on_hand() == {"sugar": 1_000}
    assert items_on_record([curd.pk]) == set()
    row.refresh_from_db()
    assert (row.undone_at, row.undone_by.username) == (clock["now"], "ada")


def test_balances_worked_out_anew_are_the_same_after_undoing(curd):
    undo(make(curd))
    make(curd)
    before = on_hand()

    rebuild()

    assert on_hand() == before


def test_undoing_again_changes_nothing(curd):
    row = make(curd)
    undo(row)

    assert undo(row).undone_at == NOON
    assert on_hand() == {"sugar": 1_000}


def test_undone_a_cake_is_what_it_was_before(tart):
    planned = build.planned_cake(tart, status="tentative")
    row = bake(planned)

    undo(row)

    planned.refresh_from_db()
    assert (planned.status, planned.version) == ("tentative", 3)
    assert on_hand() == {"sugar": 1_000}


def test_a_cake_can_be_baked_again_after_an_undo(tart):
    planned = build.planned_cake(tart)
    undo(bake(planned))

    bake(planned)

    assert on_hand()["sugar"] == 960
    assert Bake.objects.filter(undone_at=None).count() == 1


def test_what_was_used_since_stands_in_the_way(curd, tart):
    row = make(curd)
    bake(build.planned_cake(tart))

    with pytest.raises(
        BakeDependedOnError, match="curd in rack was used or moved since"
    ):
        undo(row)

    assert on_hand()["sugar"] == 800


def test_what_is_owed_since_for_the_same_thing_does_not(rack):
    salt = build.item("salt", place=rack)
    brine = build.recipe("brine", yield_base=100, lines=[(salt, 10)])
    row = make(brine)
    make(brine)

    undo(row)

    assert on_hand() == {"salt": -10, "brine": 100}


def test_used_by_what_was_undone_too_does_not(curd, tart):
    row = make(curd)
    undo(bake(build.planned_cake(tart)))

    undo(row)

    assert on_hand() == {"sugar": 1_000}


def test_other_stock_of_the_same_thing_used_since_does_not(curd, tart, rack):
    build.stock(curd.item, 100, use_by=NOON.date())
    row = make(curd)
    bake(build.planned_cake(tart))

    undo(row)

    assert on_hand() == {"sugar": 1_000, "curd": 0}


def test_a_shelf_that_was_set_since_stands_in_the_way(curd, sugar):
    row = make(curd)
    build.stock(sugar, 50, kind="corrected")

    with pytest.raises(
        BakeDependedOnError, match="sugar in rack was set by hand since"
    ):
        undo(row)


def test_a_shelf_that_was_found_as_on_record_since_stands_in_the_way(curd, sugar):
    row = make(curd)
    said = OnHandRow(sugar.pk, sugar.place_id, Decimal(800))
    assert set_on_hand(said) is None

    with pytest.raises(
        BakeDependedOnError, match="sugar in rack was set by hand since"
    ):
        undo(row)


def test_a_delivery_since_does_not(curd, sugar):
    row = make(curd)
    build.stock(sugar, 50, kind="received")

    undo(row)

    assert on_hand() == {"sugar": 1_050}


def test_an_open_count_tells_a_bake_and_its_undoing_apart(
    signed_in, curd, sugar, rack, clock
):
    count = counts.opened(rack, counted_at=NOON - timedelta(minutes=5))
    counts.enter(count, sugar, "1 kg")
    counts.enter(count, curd.item, "none", place=rack)
    undo(make(curd))

    page = signed_in.get(f"/count/{count.pk}/review/")

    items = [*page.context["differing"], *page.context["agreeing"]]
    told = {
        remark.replace("\N{NO-BREAK SPACE}", " ").partition(" today")[0]
        for item in items
        for remark in item.remarks
    }
    assert told == {
        "1 kg set from a workbook",
        "200 g used",
        "200 g back on record, its use undone,",
        "500 g made",
        "500 g off record, its making undone,",
    }
