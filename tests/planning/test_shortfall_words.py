"""One sentence for what runs short, whoever says the days and moments in it."""

from datetime import timedelta

import pytest

from planning.plan_text import plan_as_text
from planning.planner import make_plan
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

SATURDAY = MONDAY + timedelta(days=5)


def test_a_terminal_hears_the_sentence_with_whole_dates():
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, build.supplier("Dairy"))
    salt = build.item("salt", on_hand_base=500, safety_base=450)
    cake = build.cake(lines=[(butter, 1_500), (salt, 100)])
    build.planned_cake(cake, due_on=SATURDAY, reference="C-7")

    lines = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON)).splitlines()

    assert (
        "  butter runs out Sat 9 May 2026, 500 g short; order from Dairy by "
        "Thu 7 May 2026, 14:00 for Fri 8 May 2026" in lines
    )
    assert (
        "  salt falls below safety Sat 9 May 2026, by up to 50 g; "
        "no supplier sells it: give it a pack, or buy it by hand" in lines
    )
    assert lines.count("    for C-7") == 2
