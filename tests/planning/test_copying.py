"""The same cakes once more, each by a reference of its own."""

from datetime import date

import pytest

from planning.bakeplan.copying import (
    copy_planned_cake,
    copy_planned_cakes,
    undo_copies,
)
from planning.bakeplan.planned_cakes import keep_planned_cakes
from planning.models import PlannedCake
from tests import build

pytestmark = pytest.mark.django_db

MAY_9, MAY_10 = date(2026, 5, 9), date(2026, 5, 10)


def test_a_copy_is_the_same_cake_on_another_day():
    size = "6 in round x 3 + 8 in round x 3"
    planned = build.planned_cake(
        reference="2101", due_on=MAY_9, size=size, status="cancelled"
    )

    copies = [copy_planned_cake(planned.pk, due_on=MAY_10) for _ in range(2)]

    made = PlannedCake.objects.in_bulk(copies)
    assert [made[copy].reference for copy in copies] == ["2101 (2)", "2101 (3)"]
    assert {(copy.due_on, copy.size, copy.status) for copy in made.values()} == {
        (MAY_10, size, "confirmed")
    }


def test_the_longest_reference_is_shortened_for_its_number():
    planned = build.planned_cake(reference="x" * 60)

    copied = copy_planned_cake(planned.pk, due_on=MAY_10)

    assert PlannedCake.objects.get(pk=copied).reference == "x" * 56 + " (2)"


def test_a_whole_day_is_copied_at_once(django_assert_num_queries):
    cake = build.cake()
    planned = [
        build.planned_cake(cake, reference=f"{number}", due_on=MAY_9)
        for number in range(30)
    ]

    with django_assert_num_queries(12):
        one = copy_planned_cakes([planned[0].pk], days_later=1)
    with django_assert_num_queries(12):
        all_of_them = copy_planned_cakes([each.pk for each in planned], days_later=1)

    copies = PlannedCake.objects.filter(due_on=MAY_10)
    assert copies.count() == len(one) + len(all_of_them) == 31
    assert copies.filter(reference="0 (3)").exists()


def test_what_is_baked_is_not_cancelled_with_the_rest():
    live = build.planned_cake(reference="2101")
    baked = build.planned_cake(reference="2102", status="baked")

    assert undo_copies([live.pk, baked.pk]).cancelled == ("2101",)

    statuses = dict(PlannedCake.objects.values_list("reference", "status"))
    assert statuses == {"2101": "cancelled", "2102": "baked"}


def test_a_copy_that_somebody_changed_stays_when_the_copies_are_undone():
    copied = copy_planned_cakes(
        [build.planned_cake(reference=name).pk for name in ("2101", "2102")],
        days_later=1,
    )
    keep_planned_cakes([{"reference": "2102 (2)", "quantity": "3"}])

    undone = undo_copies(copied)

    assert (undone.cancelled, undone.changed) == (("2101 (2)",), ("2102 (2)",))
    assert PlannedCake.objects.get(reference="2102 (2)").status == "confirmed"
