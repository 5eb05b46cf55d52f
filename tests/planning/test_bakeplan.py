from datetime import date, time

import pytest

from planning.bakeplan.planned_cakes import (
    CakeBakedError,
    keep_planned_cakes,
    planned_cake_entries,
    set_status,
)
from planning.models import PlannedCake
from stock.entry.entries import Change, EntryFaultsError
from tests import build

pytestmark = pytest.mark.django_db

MAY_9, MAY_10 = date(2026, 5, 9), date(2026, 5, 10)
ORDER = {
    "reference": 2101.0,
    "due": "2026-05-09",
    "due_time": "10:00",
    "cake": "wedding cake",
    "quantity": "1",
}


@pytest.fixture(autouse=True)
def cake():
    build.recipe("curd")
    return build.cake("wedding cake")


def test_a_cake_is_planned_and_confirmed_unless_it_says_otherwise(cake):
    keep_planned_cakes([ORDER, ORDER | {"reference": "A", "status": "Tentative"}])

    first, second = PlannedCake.objects.order_by("pk")
    assert (first.reference, first.due_on, first.due_time) == ("2101", MAY_9, time(10))
    assert (first.cake, first.size, first.status) == (cake, "", "confirmed")
    assert second.status == "tentative"


def test_the_same_cake_again_changes_nothing():
    keep_planned_cakes([ORDER])

    assert keep_planned_cakes([ORDER]).unchanged == 1


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("due", "2026-02-30", "There is no 2026-02-30"),
        ("due", "", "“Due” must not stay blank."),
        ("cake", "weding cake", "Did you mean wedding cake?"),
        ("cake", "curd", "No cake is called curd."),
        ("cake", "", "“Cake” must not stay blank."),
        ("size", "8 in round", "how many layers"),
        ("quantity", "0", "1 or more"),
        ("quantity", "1.5", "1.5 isn't a whole number"),
        ("status", "maybe", "tentative, confirmed, baked or cancelled"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(column, value, words):
    with pytest.raises(EntryFaultsError) as caught:
        keep_planned_cakes([ORDER | {column: value}])

    (fault,) = caught.value.faults
    assert fault.column == column
    assert words in fault.message


def test_a_page_moves_a_cake_to_another_day_and_reference():
    keep_planned_cakes([ORDER])
    pk = PlannedCake.objects.get().pk

    kept = keep_planned_cakes([{"reference": "2102", "due": MAY_10}], ids=[pk])

    assert kept.changed == (
        Change("2102", "reference", "2101", "2102"),
        Change("2102", "due", "2026-05-09", "2026-05-10"),
    )


def test_a_cake_is_cancelled_and_reopened_but_a_baked_one_stays_baked():
    planned = build.planned_cake(reference="2101")

    set_status(planned.pk, "cancelled")
    set_status(planned.pk, "confirmed")
    PlannedCake.objects.update(status="baked")
    with pytest.raises(CakeBakedError, match="2101 is baked already"):
        set_status(planned.pk, "confirmed")

    assert PlannedCake.objects.get().status == "baked"


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("due", MAY_10),
        ("size", "6 in round x 2"),
        ("quantity", "3"),
        ("status", "confirmed"),
        ("status", "cancelled"),
    ],
)
def test_a_workbook_cannot_make_another_cake_of_one_that_is_baked(column, value):
    keep_planned_cakes([ORDER])
    PlannedCake.objects.update(status="baked")
    before = planned_cake_entries()

    with pytest.raises(EntryFaultsError) as caught:
        keep_planned_cakes([{"reference": "2101", column: value}])

    [fault] = caught.value.faults
    assert (fault.column, fault.message) == (
        column,
        "2101 is baked already. Copy it to plan the same cake again.",
    )
    assert planned_cake_entries() == before


def test_a_form_cannot_bake_a_cake_that_would_take_nothing():
    planned = build.planned_cake()

    with pytest.raises(EntryFaultsError) as caught:
        keep_planned_cakes([{"status": "baked"}], ids=[planned.pk])

    assert caught.value.faults[0].message.startswith("Mark it as baked on its page")


def test_but_it_may_write_a_note_on_it():
    keep_planned_cakes([ORDER | {"status": "baked"}])

    keep_planned_cakes([{"reference": "2101", "note": "they loved it"}])

    assert PlannedCake.objects.get().note == "they loved it"


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    keep_planned_cakes([ORDER | {"note": "roses"}])

    assert keep_planned_cakes(planned_cake_entries()).unchanged == 1


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    def entries(word, count):
        return [ORDER | {"reference": f"{word} {number}"} for number in range(count)]

    with django_assert_num_queries(6):
        keep_planned_cakes(entries("few", 2))
    with django_assert_num_queries(6):
        keep_planned_cakes(entries("many", 90))
