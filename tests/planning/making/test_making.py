"""What is made takes its ingredients and goes onto the shelf."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from planning.baking.bench import TakenForLine
from planning.baking.entries import MakeEntry
from planning.baking.making import make_recipes
from planning.baking.planned import below_nothing
from stock.ledger.levels import lots_on_hand
from stock.models import Hold, Movement
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.bakes import baker, lots_of, make, on_hand, undo

pytestmark = pytest.mark.django_db

TUESDAY = MONDAY + timedelta(days=1)


def test_a_batch_takes_its_ingredients_and_is_on_the_shelf(curd):
    make(curd, 2)

    assert on_hand() == {"sugar": 600, "curd": 900}
    assert lots_of(curd) == [(MONDAY + timedelta(days=2), 900)]


def test_what_is_made_has_the_lot_of_its_bake(curd, rack):
    bake = make(curd)

    lot = bake.lines.get(amount_base__gt=0).lot
    assert lot.code == f"M{bake.pk}"
    assert bake.lines.get(amount_base__lt=0).place == rack


def test_the_lot_without_code_or_date_gives_nothing_while_on_hold(sugar, curd):
    held = lots_on_hand(item=sugar)[0].lot_id
    Hold.objects.create(lot_id=held, reason="weevils", held_at=NOON)

    make(curd)
    make(curd)

    left = {lot.code: lot.amount_base for lot in lots_on_hand(item=sugar)}
    assert left == {"": 1_000, "not on record": -400}


def test_the_ledger_says_made_and_used(curd):
    make(curd, by=build.user("ada"))

    kinds = Movement.objects.filter(by__username="ada").order_by("amount_base")
    assert list(kinds.values_list("kind", "amount_base", "note")) == [
        ("used", -200, "Made curd"),
        ("made", 450, "Made curd"),
    ]


def test_the_earliest_use_by_goes_first_and_what_is_expired_not_at_all(curd, sugar):
    build.stock(sugar, 150, use_by=TUESDAY)
    build.stock(sugar, 500, use_by=MONDAY - timedelta(days=1))

    make(curd)

    assert lots_of(sugar) == [(MONDAY - timedelta(days=1), 500), (None, 950)]


def test_a_lot_on_hold_is_not_taken(curd, sugar):
    held = build.stock(sugar, 300, use_by=TUESDAY)
    Hold.objects.create(lot_id=held, reason="recall", held_at=NOON)

    make(curd)

    assert lots_of(sugar) == [(TUESDAY, 300), (None, 800)]


def test_more_is_taken_from_another_place(curd, sugar):
    cellar = build.place("cellar")
    build.stock(sugar, 300, place=cellar, use_by=TUESDAY)

    make(curd, 3)

    assert lots_of(sugar) == [(None, 700)]


def test_what_is_not_on_record_goes_below_nothing(rack):
    salt = build.item("salt", place=rack)
    brine = build.recipe("brine", yield_base=100, lines=[(salt, 10)])

    make(brine)

    assert on_hand() == {"salt": -10, "brine": 100}


def test_as_purchased_is_taken_for_what_is_edible(rack):
    lemons = build.item("lemons", on_hand_base=1_000, place=rack)
    zest = build.recipe("zest", yield_base=100)
    build.recipe_line(zest, lemons, 100, yield_percent=Decimal(40))

    make(zest)

    assert on_hand()["lemons"] == 750


def test_a_component_that_lies_ready_is_taken(curd, sugar):
    cream = build.recipe("cream", yield_base=100, lines=[(curd, 400)])
    make(curd)

    make(cream)

    assert on_hand() == {"sugar": 800, "curd": 50, "cream": 100}


def test_a_component_that_is_missing_is_made_in_whole_steps(curd, sugar):
    curd.batch_step = 1
    curd.save()
    cream = build.recipe("cream", yield_base=100, lines=[(curd, 500)])

    make(cream)

    assert on_hand() == {"sugar": 600, "curd": 400, "cream": 100}


def test_a_part_takes_wholes_and_leaves_the_other_part(rack):
    eggs = build.item("eggs", measure="count", on_hand_base=12, place=rack)
    white = build.part("white", whole=eggs, yields_base=30, keeps_days=2)
    yolk = build.part("yolk", whole=eggs, yields_base=20, keeps_days=1)
    meringue = build.recipe("meringue", yield_base=100, lines=[(white, 120)])
    custard = build.recipe("custard", yield_base=100, lines=[(yolk, 100)])

    make(meringue)

    assert on_hand() == {"eggs": 8, "yolk": 80, "meringue": 100}
    assert lots_of(yolk) == [(MONDAY, 80)]

    make(custard)

    assert on_hand()["eggs"] == 7
    assert lots_of(yolk) == []
    assert lots_of(white) == [(TUESDAY, 30)]


def test_a_part_that_no_recipe_takes_is_not_kept(rack):
    eggs = build.item("eggs", measure="count", on_hand_base=12, place=rack)
    white = build.part("white", whole=eggs, yields_base=30)
    build.part("yolk", whole=eggs, yields_base=20)

    make(build.recipe("meringue", yield_base=100, lines=[(white, 60)]))

    assert on_hand() == {"eggs": 10, "meringue": 100}


def test_a_weight_that_differs_and_a_substitute_are_what_was_taken(curd, sugar, rack):
    honey = build.item("honey", on_hand_base=500, place=rack)
    salt = build.item("salt", on_hand_base=50, place=rack)
    build.recipe_line(curd, salt, 5, position=2)

    bake = make(
        curd,
        changes={
            sugar.pk: TakenForLine(honey.pk, Decimal(150)),
            salt.pk: TakenForLine(salt.pk, Decimal(4)),
        },
    )

    assert on_hand() == {"sugar": 1_000, "honey": 350, "salt": 46, "curd": 450}
    assert bake.lines.get(lot__item=honey).stands_for == sugar


def test_unbaked_keeps_no_longer_than_what_the_day_has_taken(curd, sugar, rack):
    curd.caps_use_by = True
    curd.save()
    cream = build.recipe("cream", yield_base=100, lines=[(sugar, 100)])
    build.stock(sugar, 100, use_by=TUESDAY)

    make(cream)
    make(curd)

    assert lots_of(curd) == [(TUESDAY, 450)]


def test_what_was_undone_caps_nothing(curd, sugar):
    curd.caps_use_by = True
    curd.save()
    build.stock(sugar, 100, use_by=TUESDAY)
    undo(make(build.recipe("cream", yield_base=100, lines=[(sugar, 100)])))
    build.stock(sugar, -100, use_by=TUESDAY, kind="wasted")

    make(curd)

    assert lots_of(curd) == [(MONDAY + timedelta(days=2), 450)]


def test_a_part_that_lies_ready_caps_nothing(rack):
    eggs = build.item("eggs", measure="count", on_hand_base=12, place=rack)
    white = build.part("white", whole=eggs, yields_base=30, keeps_days=2)
    build.stock(white, 60, place=rack, use_by=TUESDAY)
    meringue = build.recipe(
        "meringue", yield_base=100, keeps_days=9, caps_use_by=True, lines=[(white, 60)]
    )

    make(meringue)

    assert on_hand() == {"eggs": 12, "white": 0, "meringue": 100}
    assert lots_of(meringue) == [(MONDAY + timedelta(days=8), 100)]


def test_three_thirds_leave_nothing_over(rack):
    salt = build.item("salt", on_hand_base=100, place=rack)
    brine = build.recipe("brine", yield_base=300, lines=[(salt, 100)])

    for _ in range(3):
        make(brine, 1 / 3)

    assert lots_of(salt) == []


def test_noise_is_not_said_to_be_owed(curd, sugar):
    bake = make(curd, 5)
    build.stock(sugar, Decimal("-0.0009"), kind="used")

    assert below_nothing(bake) == []

    build.stock(sugar, Decimal("-0.0001"), kind="used")

    assert below_nothing(bake) == [(sugar.pk, Decimal("0.001"))]


def test_less_than_the_ledger_keeps_is_nothing_taken(curd, sugar):
    bake = make(curd, changes={sugar.pk: TakenForLine(sugar.pk, Decimal("0.00001"))})

    assert not bake.lines.filter(amount_base__lt=0).exists()
    assert on_hand() == {"sugar": 1_000, "curd": 450}


def test_of_an_earlier_day_it_keeps_from_that_day(curd, clock):
    clock["now"] = NOON + timedelta(days=1)

    bake = make(curd, on=MONDAY)

    assert bake.made_on == MONDAY
    assert lots_of(curd) == [(date(2026, 5, 6), 450)]


def test_forty_recipes_are_made_in_forty_queries(
    sugar, rack, django_assert_max_num_queries
):
    recipes = [
        build.recipe(f"curd {number}", lines=[(sugar, 1)], keeps_days=number + 1)
        for number in range(40)
    ]
    entries = [
        MakeEntry(row.pk, Decimal(1), f"tap {row.pk}", seen_bake_id=0)
        for row in recipes
    ]

    with django_assert_max_num_queries(40):
        made = make_recipes(entries, baker())

    assert len(made) == 40
    assert on_hand()["sugar"] == 960
