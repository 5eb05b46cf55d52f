from datetime import date, timedelta

import pytest

from planning.plan.outlook import look_ahead, new_lacks, newly_late
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db


def look(**asked):
    return look_ahead(bakery=build.bakery(), as_of=NOON, **asked)


def lacks(before, after):
    names = after.kitchen.nodes.names
    return [
        (names[lack.row.node], lack.row.kind.value, lack.more_base, lack.was_short)
        for lack in new_lacks(before, after)
    ]


@pytest.mark.parametrize(
    ("on_hand_base", "safety_base", "earlier", "found"),
    [
        # 300 g a cake, so the new cake's 300 g come on top of what is planned
        (1000, 0, 0, []),
        (200, 0, 0, [("butter", "out", 100, False)]),
        (300, 0, 0, []),
        (200, 0, 1, [("butter", "out", 300, True)]),
        (1000, 800, 0, [("butter", "below safety", 100, False)]),
        (1000, 800, 1, []),  # below safety before, and still only that
        (500, 450, 1, [("butter", "out", 100, False)]),  # below safety before
    ],
)
def test_what_a_cake_makes_short(on_hand_base, safety_base, earlier, found):
    butter = build.item("butter", on_hand_base=on_hand_base, safety_base=safety_base)
    cake = build.cake(lines=[(butter, 300)])
    for _ in range(earlier):
        build.planned_cake(cake, due_on=MONDAY + timedelta(days=4))
    before = look()

    build.planned_cake(cake, due_on=MONDAY + timedelta(days=4))

    assert lacks(before, look()) == found


def test_what_only_ends_below_par_is_bought_as_ever_and_not_told():
    butter = build.item("butter", on_hand_base=1000, par_base=1000)
    cake = build.cake(lines=[(butter, 300)])
    before = look()

    build.planned_cake(cake, due_on=MONDAY)

    assert lacks(before, look()) == []


def test_what_runs_out_is_told_first():
    almonds = build.item("almonds", on_hand_base=1000, safety_base=1000)
    butter = build.item("butter", on_hand_base=0)
    cake = build.cake(lines=[(almonds, 100), (butter, 100)])
    before = look()

    build.planned_cake(cake, due_on=MONDAY)

    assert [name for name, *_ in lacks(before, look())] == ["butter", "almonds"]


@pytest.mark.parametrize(
    ("due_in_days", "late"), [(0, ["layers"]), (1, ["layers"]), (2, []), (3, [])]
)
def test_what_should_have_been_made_by_now(due_in_days, late):
    layers = build.recipe("layers", lead_days=2)
    cake = build.cake(lines=[(layers, 100)])
    before = look()

    build.planned_cake(cake, due_on=MONDAY + timedelta(days=due_in_days))

    assert newly_late(before, look()) == late


@pytest.mark.parametrize(
    ("until", "last_on"),
    [
        (None, date(2026, 5, 17)),  # the usual 14 days from Monday the 4th
        (date(2026, 5, 10), date(2026, 5, 17)),
        (date(2026, 6, 30), date(2026, 6, 30)),
        (date(2030, 1, 1), date(2027, 5, 4)),  # never further than 366 days
    ],
)
def test_how_far_it_looks(until, last_on):
    assert look(until=until).window.to_on == last_on


@pytest.mark.parametrize("cakes", [1, 10])
def test_a_look_ahead_takes_five_queries(django_assert_num_queries, cakes):
    bakery = build.bakery()
    for _ in range(cakes):
        cake = build.cake(lines=[(build.item(on_hand_base=10), 300)])
        build.planned_cake(cake, due_on=MONDAY)

    with django_assert_num_queries(5):
        look_ahead(bakery=bakery, as_of=NOON)


def test_what_is_past_saving_already_does_not_make_a_later_lack_so():
    butter = build.item("butter", on_hand_base=100)
    build.pack(butter, build.supplier("Dairy"), size_base=1000)
    cake = build.cake(lines=[(butter, 300)])
    build.planned_cake(cake, due_on=MONDAY)
    before = look()

    build.planned_cake(cake, due_on=MONDAY + timedelta(days=5))

    # 200 are lacking today, which nothing brings in time; 300 more on Saturday, which
    # Friday's truck brings.
    [lack] = new_lacks(before, look())
    assert (lack.row.first_on, lack.row.remedy) == (MONDAY, None)
    assert (lack.more_base, lack.more_on) == (300, MONDAY + timedelta(days=5))
    assert lack.remedy.deliver_on == MONDAY + timedelta(days=4)
