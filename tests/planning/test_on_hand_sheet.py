from datetime import date, timedelta
from decimal import Decimal
from functools import partial

import pytest

from planning.interchange.on_hand import keep_on_hand, on_hand_entries
from stock.entry.entries import Change
from stock.models import Movement, Place
from tests import build, faults
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def butter():
    shelf = build.place("walk-in")
    build.cake("wedding cake")
    return build.item("butter", own_units="stick = 4 oz", place=shelf)


def keep(*entries):
    return keep_on_hand(entries, at=build.NOON)


faults_of = partial(faults.of, keep)


def test_a_row_is_what_is_on_the_shelf(butter):
    kept = keep({"item": "butter", "quantity": "2 lb + 1 stick", "place": "walk-in"})

    assert kept.added == ("butter, walk-in",)
    # 2 x 453.59237 + 113.3980925 = 1020.5828325, half up to 4 places
    assert on_hand_base_by_item() == {butter.pk: Decimal("1020.5828")}


def test_the_same_rows_again_move_nothing():
    row = {"item": "butter", "quantity": "1 kg", "use_by": "2026-06-01"}
    keep(row)

    assert keep(row).unchanged == 1
    assert Movement.objects.count() == 1


def test_another_figure_moves_the_difference():
    keep({"item": "butter", "quantity": "1 kg"})

    kept = keep({"item": "butter", "quantity": "1.25 kg"})

    assert kept.changed == (Change("butter, walk-in", "quantity", "1000 g", "1250 g"),)
    assert [move.amount_base for move in Movement.objects.order_by("pk")] == [
        Decimal(1_000),
        Decimal(250),
    ]


def test_a_blank_place_is_the_items_usual_one_or_the_kitchen(butter):
    build.item("salt")

    keep(
        {"item": "butter", "quantity": "1 kg"},
        {"item": "salt", "quantity": "1 kg", "place": ""},
    )

    assert [entry["place"] for entry in on_hand_entries()] == ["walk-in", "Kitchen"]
    assert set(Place.objects.values_list("name", flat=True)) == {"walk-in", "Kitchen"}


@pytest.mark.parametrize(
    ("columns", "column", "words"),
    [
        ({"item": "buter"}, "item", "Did you mean butter?"),
        ({"item": "wedding cake", "quantity": "1 each"}, "item", "made to order"),
        ({"quantity": "12"}, "quantity", "12 has no unit"),
        ({"quantity": "2 c"}, "quantity", "nothing says what 1 cup"),
        ({"quantity": "1 cup"}, "quantity", "nothing says what 1 cup"),
        ({"quantity": ""}, "quantity", "“Quantity” must not stay blank."),
        ({"place": "walk in"}, "place", "Did you mean walk-in?"),
        ({"use_by": "2026-02-30"}, "use_by", "There is no 2026-02-30"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(columns, column, words):
    row = {"item": "butter", "quantity": "1 kg"}

    faults = faults_of(row | columns)

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]
    assert not Movement.objects.exists()


def test_what_was_there_before_somebody_set_it_is_a_fault(butter):
    later = build.NOON + timedelta(hours=1)
    row = {"item": "butter", "place": "walk-in"}
    keep_on_hand([row | {"quantity": "2 kg"}], at=later)

    faults = faults_of(row | {"quantity": "1 kg"})

    assert faults == {
        (1, "quantity"): "Butter in walk-in: set since that moment. Leave it out, so "
        "that what was set stands, or say what is there now."
    }
    assert on_hand_base_by_item() == {butter.pk: 2_000}


def test_two_rows_for_one_shelf_are_a_fault_even_if_one_names_no_place():
    faults = faults_of(
        {"item": "butter", "quantity": "1 kg", "place": "walk-in"},
        {"item": "butter", "quantity": "2 kg"},
    )

    assert "is in row 1 already" in faults[2, "item"]


def test_lots_of_one_day_come_back_as_one_row(butter):
    june = date(2026, 6, 1)
    build.stock(butter, 500, use_by=june, lot="A")
    build.stock(butter, 700, use_by=june, lot="B")
    build.stock(butter, 100)
    build.stock(butter, -100)

    assert on_hand_entries() == [
        {
            "item": "butter",
            "quantity": "1200 g",
            "place": "walk-in",
            "use_by": june,
            "lot": "A; B",
        }
    ]
