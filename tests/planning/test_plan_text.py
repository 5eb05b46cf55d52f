from datetime import timedelta

import pytest

from planning.plan.planner import make_plan
from planning.wording.plan_text import WIDTH, plan_as_text
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
    today = build.cake("Sponge", lines=[(mint, 90)])
    later = build.cake("Torte", lines=[(butter, 1_500), (salt, 100)])
    build.planned_cake(today, due_on=MONDAY, reference="A-1")
    build.planned_cake(later, due_on=SATURDAY, reference="C-7")
    kitchen = build.bakery(name="Crumb", currency="USD")
    return plan_as_text(make_plan(bakery=kitchen, as_of=NOON)).splitlines()


def test_it_begins_with_its_days_and_its_moment(lines):
    assert lines[0] == ("Crumb: Mon May 4 to Sun May 17, 2026, as of Mon May 4, noon")


def test_what_runs_short_stands_by_how_soon_it_must_be_saved(lines):
    start = lines.index("What runs short")

    assert lines[start + 1 : lines.index("", start)] == [
        "  Too late, though ordered: buy it elsewhere and order that much less:",
        "    Mint    out Mon May 4, 90 g short; for Sponge, Mon May 4 (A-1)",
        "  No supplier sells it: give it a pack, or buy it by hand:",
        "    Salt    below safety Sat May 9, by up to 50 g; for Torte, Sat May 9 (C-7)",
        "  Dairy, order by Thu May 7, 2:00 pm for Fri May 8:",
        "    Butter  out Sat May 9, 500 g short; for Torte, Sat May 9 (C-7)",
    ]


def test_of_several_cakes_the_first_to_be_due_is_named_not_the_lowest_number():
    butter = build.item("butter")
    cake = build.cake(lines=[(butter, 100)])
    for reference, ahead in (("2108", 5), ("2114", 6), ("2191", 2)):
        due_on = MONDAY + timedelta(days=ahead)
        build.planned_cake(cake, due_on=due_on, reference=reference)

    lines = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON)).splitlines()

    assert (
        "    Butter  out Wed May 6, 300 g short; for 3 cakes, first Wed May 6" in lines
    )


def test_orders_stand_by_their_cut_off_not_by_their_delivery():
    soon = build.supplier("Mill", delivery_days="Fri", cutoff_days=3)
    late = build.supplier("Dairy", delivery_days="Thu", cutoff_days=1)
    lines = [(build.item("flour"), 100), (build.item("milk"), 100)]
    for supplier, (item, _) in zip((soon, late), lines, strict=True):
        build.pack(item, supplier)
    build.planned_cake(build.cake(lines=lines), due_on=SATURDAY)

    text = plan_as_text(make_plan(bakery=build.bakery(), as_of=NOON))

    orders = text.partition("What to order")[2]
    assert orders.index("Mill, order by Tue May 5") < orders.index(
        "Dairy, order by Wed May 6"
    )


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
    assert lines[lines.index("Warnings") :] == [
        "Warnings",
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
