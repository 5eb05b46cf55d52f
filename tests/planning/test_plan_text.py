from datetime import timedelta

import pytest

from planning.plan_text import WIDTH, plan_as_text
from planning.planner import make_plan
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

SATURDAY = MONDAY + timedelta(days=5)


@pytest.fixture
def lines():
    """Butter can be had, mint only a day late, and nobody sells salt."""
    dairy = build.supplier("Dairy", delivery_fee=15)
    butter = build.item("butter", on_hand_base=1_000)
    build.pack(butter, dairy, size_base=500, price="12.5", label="brick")
    mint = build.item("mint")
    build.pack(mint, dairy, size_base=100, price="3", label="bunch")
    salt = build.item("salt", on_hand_base=500, safety_base=450)
    today = build.cake(lines=[(mint, 90)])
    later = build.cake(lines=[(butter, 1_500), (salt, 100)])
    build.planned_cake(today, due_on=MONDAY, reference="A-1")
    build.planned_cake(later, due_on=SATURDAY, reference="C-7")
    kitchen = build.bakery(name="Crumb", currency="USD")
    return plan_as_text(make_plan(bakery=kitchen, as_of=NOON)).splitlines()


def test_it_begins_with_its_days_and_its_moment(lines):
    assert lines[0] == ("Crumb: Mon May 4 to Sun May 17, 2026, as of Mon May 4, noon")


def test_what_runs_short_stands_by_how_soon_it_must_be_saved(lines):
    start = lines.index("What runs short")

    assert lines[start + 1 : lines.index("", start)] == [
        "  Too late for any delivery: buy it by hand, or change the bake plan:",
        "    Mint    out Mon May 4, 90 g short; for A-1",
        "  No supplier sells it: give it a pack, or buy it by hand:",
        "    Salt    below safety Sat May 9, by up to 50 g; for C-7",
        "  Dairy, order by Thu May 7, 2:00 pm for Fri May 8:",
        "    Butter  out Sat May 9, 500 g short; for C-7",
    ]


def test_orders_end_with_what_each_comes_to_and_all_of_them(lines):
    # A bunch on Tuesday and a brick on Friday, each with a delivery of $15.
    assert "    1 \N{MULTIPLICATION SIGN} bunch, mint  $3.00" in lines
    assert "    Goods $3.00, delivery $15.00: $18.00" in lines
    assert "    1 \N{MULTIPLICATION SIGN} brick, butter  $12.50" in lines
    assert "    Goods $12.50, delivery $15.00: $27.50" in lines
    assert "  2 orders: goods $15.50 and delivery $30.00, together $45.50." in lines


def test_lines_are_no_wider_than_a_terminal_and_units_stay_with_their_figures(lines):
    assert max(map(len, lines)) <= WIDTH + 4
    assert not any(line.endswith((" May", "2:00")) for line in lines)
    assert not any(line.endswith(" ") for line in lines)


def test_the_warnings_of_one_thing_stand_under_its_name():
    egg = build.item("egg", measure="count", on_hand_base=100)
    white = build.part("white", whole=egg, yields_base=30)
    build.part("yolk", whole=egg, yields_base=20)
    cake = build.cake(lines=[(white, 300)])
    for days in (1, 2):
        build.planned_cake(cake, due_on=MONDAY + timedelta(days=days))

    lines = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON)).splitlines()

    # Ten whites each day leave ten yolks of 20 g.
    assert lines[lines.index("Mind") :] == [
        "Mind",
        "  Yolk:",
        "    Use or freeze 200 g left over on Tue May 5.",
        "    Use or freeze 200 g left over on Wed May 6.",
    ]


def test_an_empty_kitchen_has_nothing_to_say():
    lines = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON)).splitlines()

    assert lines[1:] == [
        "",
        "What runs short",
        "  Nothing.",
        "",
        "What to order",
        "  Nothing.",
    ]
