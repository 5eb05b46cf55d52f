"""A planned cake that is baked takes its layers, fillings, boards and boxes."""

from datetime import timedelta

import pytest

from planning.bakeplan.planned_cakes import CakeBakedError, set_status
from planning.baking.errors import BakeKeyError, CakeCancelledError
from planning.baking.planned import below_nothing
from planning.errors import UnscalableCakeError
from planning.models import Bake, PlannedCake
from stock.saving.versions import ChangedSinceError
from tests import build
from tests.build import MONDAY
from tests.planning.bakes import bake, make, on_hand, undo

pytestmark = pytest.mark.django_db

TUESDAY = MONDAY + timedelta(days=1)


@pytest.fixture(autouse=True)
def _bakery(clock):
    build.bakery(time_zone="UTC")


@pytest.fixture
def flour():
    return build.item("flour", on_hand_base=5_000, place=build.place("rack"))


@pytest.fixture
def layers(flour):
    """Whole batches of a kilo; keep three days."""
    return build.recipe(
        "layers", yield_base=1_000, batch_step=1, keeps_days=3, lines=[(flour, 600)]
    )


@pytest.fixture
def honey_cake(layers, flour):
    """Takes 700 g of layers, which grow with its volume, and one box."""
    box = build.item("box", measure="count", on_hand_base=10, place=flour.place)
    cake = build.cake("honey cake", lines=[(box, 1)])
    build.recipe_line(cake, layers, 700, scales_with="volume", position=1)
    return cake


def test_a_baked_cake_takes_what_lies_ready(honey_cake, layers):
    planned = build.planned_cake(honey_cake, due_on=TUESDAY)
    make(layers)

    row = bake(planned)

    assert on_hand() == {"flour": 4_400, "layers": 300, "box": 9}
    planned.refresh_from_db()
    assert (planned.status, planned.version) == ("baked", 2)
    assert (row.planned_cake, row.was_status) == (planned, "confirmed")


def test_without_the_making_list_everything_is_taken_by_recipe(honey_cake):
    bake(build.planned_cake(honey_cake))

    assert on_hand() == {"flour": 4_400, "layers": 300, "box": 9}


def test_two_that_are_baked_one_by_one_take_what_both_together_take(honey_cake):
    for _ in range(2):
        bake(build.planned_cake(honey_cake))

    assert on_hand() == {"flour": 3_800, "layers": 600, "box": 8}


def test_lines_grow_with_the_size_and_the_number(honey_cake):
    bake(build.planned_cake(honey_cake, size="8 in round x 6", quantity=2))

    assert on_hand() == {"flour": 3_200, "layers": 200, "box": 8}


def test_finished_cakes_of_the_base_size_go_first(honey_cake):
    make(honey_cake, 1)

    bake(build.planned_cake(honey_cake, quantity=2))

    assert on_hand() == {"flour": 3_800, "layers": 600, "box": 8, "honey cake": 0}


def test_finished_cakes_serve_no_other_size_and_no_day_that_they_do_not_keep_to(
    honey_cake,
):
    build.stock(honey_cake.item, 1, use_by=MONDAY)

    bake(build.planned_cake(honey_cake, due_on=TUESDAY))
    bake(build.planned_cake(honey_cake, due_on=MONDAY, size="6 in round x 3"))

    assert on_hand()["honey cake"] == 1


def test_baked_again_is_nothing_more(honey_cake):
    planned = build.planned_cake(honey_cake)

    assert bake(planned, key="a") == bake(planned, key="b")

    assert on_hand()["box"] == 9


def test_a_key_that_was_undone_bakes_nothing_again(honey_cake):
    planned = build.planned_cake(honey_cake)
    first = undo(bake(planned, key="tap"))

    assert bake(planned, key="tap") == first

    planned.refresh_from_db()
    assert planned.status == "confirmed"
    assert on_hand() == {"flour": 5_000, "box": 10}


def test_the_key_of_another_cake_is_refused(honey_cake):
    bake(build.planned_cake(honey_cake, reference="2122"), key="tap")
    other = build.planned_cake(honey_cake)

    with pytest.raises(BakeKeyError, match="2122"):
        bake(other, key="tap")


def test_what_is_owed_is_said_though_expired_stock_would_hide_it(honey_cake, flour):
    milk = build.item("milk", place=flour.place)
    build.stock(milk, 500, use_by=MONDAY - timedelta(days=3))
    build.recipe_line(honey_cake, milk, 300, position=2)

    row = bake(build.planned_cake(honey_cake))

    assert below_nothing(row) == [(milk.pk, 300)]


def test_a_cake_baked_before_bakes_were_kept_stays_baked(honey_cake):
    planned = build.planned_cake(honey_cake, status=PlannedCake.Status.BAKED)

    with pytest.raises(CakeBakedError):
        bake(planned)


def test_a_cake_that_was_cancelled_meanwhile_is_not_baked(honey_cake):
    planned = build.planned_cake(honey_cake)
    set_status(planned.pk, "cancelled")

    with pytest.raises(CakeCancelledError):
        bake(planned)

    assert not Bake.objects.exists()


def test_a_cake_that_was_changed_meanwhile_is_not_baked(honey_cake):
    planned = build.planned_cake(honey_cake)
    set_status(planned.pk, "tentative", seen=1)

    with pytest.raises(ChangedSinceError):
        bake(planned, seen=1)


def test_a_cake_that_cannot_scale_is_refused_as_the_plan_does(flour):
    cake = build.cake("plain cake", base_size="")
    build.recipe_line(cake, flour, 100, scales_with="volume")

    with pytest.raises(UnscalableCakeError):
        bake(build.planned_cake(cake))


def test_a_cake_is_baked_in_thirty_queries(honey_cake, django_assert_max_num_queries):
    planned = build.planned_cake(honey_cake)
    from planning.baking.entries import CakeEntry
    from planning.baking.making import bake_cake
    from tests.planning.bakes import baker

    with django_assert_max_num_queries(30):
        bake_cake(CakeEntry(planned.pk, "tap"), baker())
