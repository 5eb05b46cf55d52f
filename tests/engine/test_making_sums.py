import pytest

from planning.engine.demand.explosion import explode
from planning.engine.demand.pegging import making_sum
from tests.engine.small_kitchen import SmallKitchen, day, window


def sum_of(small, name, on):
    return making_sum(explode(small.build(), window()), small.index(name), on)


def test_a_making_is_what_is_needed_and_lost_and_left_over_less_what_lies_ready():
    small = SmallKitchen().item("flour")
    small.recipe(
        "sponge",
        {"flour": 500.0},
        yields=1000.0,
        batch_step=1.0,
        loss=0.1,
        lead_days=1,
        keeps_days=2,
    )
    small.cake("cake", {"sponge": 600.0})
    small.plan("A", "cake", day(2)).plan("B", "cake", day(2))
    small.stock("sponge", 100.0)

    found = sum_of(small, "sponge", day(1))

    # 1,200 - 100 = 1,100 to make; of each batch 900 are left: 2 batches, 700 over
    assert found.needed_base == 1200
    assert found.ready_base == 100
    assert found.made_base == 2000
    assert found.lost_base == pytest.approx(200)
    assert found.left_over_base == pytest.approx(700)


def test_what_lies_ready_for_another_day_is_no_part_of_it():
    small = SmallKitchen().item("flour")
    small.recipe("sponge", {"flour": 500.0}, yields=1000.0, lead_days=3)
    small.cake("cake", {"sponge": 600.0})
    small.plan("A", "cake", day(1)).plan("B", "cake", day(2))
    small.stock("sponge", 600.0)

    found = sum_of(small, "sponge", day(0))

    # both would be made today; A's lies ready
    assert (found.needed_base, found.ready_base, found.made_base) == (600, 0, 600)
    assert found.left_over_base == pytest.approx(0)
