"""One sentence for what runs short, whoever says the days and moments in it."""

from datetime import date, timedelta

import pytest

from planning.plan.planner import make_plan
from planning.plan.telling import Telling
from planning.wording.shortfall_words import (
    named_shortfall_words,
    remedy_words,
    shortfall_words,
)
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

IN_DIGITS = Telling(day=date.isoformat, moment=lambda at: f"{at:%Y-%m-%d %H:%M}")


def test_the_sentences_take_the_days_as_they_are_said():
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"))
    salt = build.item("salt", on_hand_base=500, safety_base=450)
    cake = build.cake(lines=[(butter, 1_500), (salt, 100)])
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=5))

    planned = make_plan(bakery=build.bakery(), as_of=NOON)

    assert [
        (
            shortfall_words(planned, row, IN_DIGITS),
            remedy_words(planned, row, IN_DIGITS),
        )
        for row in planned.plan.shortfalls
    ] == [
        (
            "runs out 2026-05-09, 500 g short",
            "order from Dairy by 2026-05-07 14:00 for 2026-05-08",
        ),
        (  # 400 g are left of the 450 g that must stay
            "falls below safety 2026-05-09, by up to 50 g",
            "no supplier sells it: give it a pack, or buy it by hand",
        ),
    ]


def test_what_is_bought_by_hand_of_a_larger_lack_is_said_to_be_a_part_of_it():
    build.bakery(time_zone="UTC")
    milk = build.item("milk")
    build.pack(milk, build.supplier("Dairy", delivery_days="Tue"), size_base=1_000)
    cake = build.cake(lines=[(milk, 100)])
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=1))
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=2), quantity=2)

    planned = make_plan(bakery=build.bakery(), as_of=NOON)

    # 100 g on Tuesday, before its delivery can be used, and 300 g by Wednesday
    [row] = planned.plan.shortfalls
    assert shortfall_words(planned, row, IN_DIGITS) == (
        "runs out 2026-05-05, 300 g short"
    )
    assert remedy_words(planned, row, IN_DIGITS) == (
        "Dairy is too late, 2026-05-05, usable 2026-05-06: buy 100 g of it elsewhere "
        "and order that much less"
    )


def test_below_par_names_the_first_par_day_and_the_most_to_reach_it():
    build.pack(build.item("flour", par_base=2_000), build.supplier("Mill"))

    planned = make_plan(bakery=build.bakery(), as_of=NOON)

    # The 3rd of May is past; par is asked for on Sundays, the 10th and the 17th.
    [row] = planned.plan.shortfalls
    assert shortfall_words(planned, row, IN_DIGITS) == (
        "falls below par 2026-05-10, up to 2 kg to reach it"
    )
    assert named_shortfall_words(planned, row, IN_DIGITS) == (
        "Flour: below par on 2026-05-10, up to 2 kg to reach it"
    )


def test_an_item_of_many_pieces_is_followed_by_no_verb():
    nuts = build.item("hazelnuts", on_hand_base=1_000)
    cake = build.cake(lines=[(nuts, 1_500)])
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=5))

    planned = make_plan(bakery=build.bakery(), as_of=NOON)

    [row] = planned.plan.shortfalls
    sentence = named_shortfall_words(planned, row, IN_DIGITS)
    assert sentence == "Hazelnuts: out on 2026-05-09, 500 g short"
