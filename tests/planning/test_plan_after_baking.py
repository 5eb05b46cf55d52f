"""The plan counts what is made and used as made and used.

Making exactly what the plan says leaves the plan of the days after today what it was.
"""

from collections import defaultdict
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from planning.baking.entries import CakeEntry, MakeEntry
from planning.baking.making import bake_cake, make_recipes
from planning.engine.kitchen import NodeKind
from planning.models import PlannedCake
from planning.plan.planner import make_plan
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.bakes import baker

pytestmark = pytest.mark.usefixtures("at_noon")

DAYS = 8
LEAST_BASE = 1e-3
SIZES = ["6 in round x 2", "", "9 x 13 in sheet x 2"]


def plan():
    return make_plan(bakery=Bakery.current(), as_of=NOON, days=DAYS)


def make_what_it_says(planned):
    """Make today's recipes, then bake today's cakes, as the plan has them."""
    nodes, today = planned.kitchen.nodes, planned.plan.window.from_on
    made = [row for row in planned.plan.making if row.on == today]
    is_cake = [nodes.kind[row.node] == NodeKind.CAKE for row in made]
    depth = {row.node: level for level, row in _levels(planned)}
    recipes = sorted(
        (row for row, cake in zip(made, is_cake, strict=True) if not cake),
        key=lambda row: -depth[row.node],
    )
    make_recipes(
        [
            MakeEntry(nodes.ids[row.node], Decimal(repr(row.batches)), f"r{row.node}")
            for row in recipes
        ],
        baker(),
    )
    prepared = planned.explosion.prepared
    for row in prepared.planned.row[prepared.made_column == 0].tolist():
        reference = planned.kitchen.cakes.references[row]
        cake = PlannedCake.objects.get(reference=reference)
        bake_cake(CakeEntry(cake.pk, f"c{row}"), baker())


def _levels(planned):
    for level, each in enumerate(planned.explosion.prepared.bill.levels):
        for node in each.made.tolist():
            for row in planned.plan.making:
                if row.node == node:
                    yield level, row


def days_after_today(planned):
    """What the plan says of every day but today, by item and day."""
    nodes, plan = planned.kitchen.nodes, planned.plan
    figures = defaultdict(float)
    demand = plan.demand
    for node, day, amount in zip(
        demand.node.tolist(),
        demand.day.tolist(),
        demand.amount_base.tolist(),
        strict=True,
    ):
        figures["demand", nodes.names[node], day] += amount
    for row in plan.making:
        figures["made", nodes.names[row.node], row.on.toordinal()] += row.amount_base
    projection = plan.projection
    for place, node in enumerate(projection.nodes):
        for column, day in enumerate(projection.days):
            key = (nodes.names[node], day.toordinal())
            figures["closing", *key] = projection.closing_base[place, column]
            figures["short", *key] = projection.outstanding_base[place, column]
            figures["expired", *key] = projection.expired_base[place, column]
    first = plan.window.from_on.toordinal()
    return {key: each for key, each in figures.items() if key[2] > first}


def assert_same(before, after):
    for key in before.keys() | after.keys():
        difference = before.get(key, 0.0) - after.get(key, 0.0)
        assert abs(difference) <= LEAST_BASE, (key, before.get(key), after.get(key))


def check():
    before = plan()

    make_what_it_says(before)

    after = plan()
    assert_same(days_after_today(before), days_after_today(after))
    assert not [row for row in after.plan.making if row.on == MONDAY]
    assert not (after.plan.demand.day == MONDAY.toordinal()).any()
    assert verify_ledger().is_whole


@pytest.mark.django_db
def test_made_is_made_with_whole_batches_parts_and_loss():
    """Figures by hand: 2 cakes take 1.5 batches of layers, made as 2."""
    build.bakery(time_zone="UTC")
    rack = build.place("rack")
    eggs = build.item("eggs", measure="count", on_hand_base=30, place=rack)
    flour = build.item("flour", on_hand_base=5_000, place=rack)
    white = build.part("white", whole=eggs, yields_base=33)
    yolk = build.part("yolk", whole=eggs, yields_base=17, keeps_days=3)
    layers = build.recipe(
        "layers",
        yield_base=1_000,
        batch_step=1,
        keeps_days=4,
        loss_percent=4,
        lines=[(flour, 500), (white, 100)],
    )
    custard = build.recipe("custard", yield_base=300, lines=[(yolk, 60)])
    cake = build.cake("cake", lines=[(layers, 720), (custard, 100)])
    for day in (0, 0, 2, 3):
        build.planned_cake(cake, due_on=MONDAY + timedelta(days=day))

    check()


@st.composite
def kitchens(draw):
    """Three levels of recipes over bought items, a split egg, and made stock."""
    amount = st.integers(50, 900)
    return {
        "stock": [draw(st.integers(0, 4_000)) for _ in range(3)],
        "keeps": [draw(st.sampled_from([None, 2, 5])) for _ in range(3)],
        "made": [
            {
                "step": draw(st.sampled_from([0, 0.5, 1, 0.25])),
                "loss": draw(st.sampled_from([3, 0, 12.5])),
                "lead": draw(st.integers(0, 1)),
                "yields": draw(st.sampled_from([707, 130, 1_900])),
                "takes": [draw(amount) for _ in range(5)],
                "below": draw(st.sampled_from([97, 0, 410])),
                "yield_percent": draw(st.sampled_from([100, 61.5])),
                "ready": draw(st.sampled_from([0, 111, 512])),
            }
            for _ in range(3)
        ],
        "cakes": [
            {
                "day": draw(st.sampled_from([1, 0, 2, 3, 6])),
                "lead": draw(st.integers(0, 1)),
                "size": draw(st.sampled_from(SIZES)),
                "quantity": draw(st.integers(1, 3)),
                "takes": [draw(amount) for _ in range(4)],
            }
            for _ in range(draw(st.integers(1, 4)))
        ],
    }


def put_up(kitchen):
    build.bakery(time_zone="UTC", closed_days="Sun")
    rack = build.place("rack")
    bought = []
    for number, (base, keeps) in enumerate(
        zip(kitchen["stock"], kitchen["keeps"], strict=True)
    ):
        row = build.item(f"bought {number}", place=rack, keeps_days=keeps)
        use_by = MONDAY + timedelta(days=keeps - 1) if keeps else None
        if base:
            build.stock(row, base, use_by=use_by)
        bought.append(row)
    eggs = build.item("eggs", measure="count", on_hand_base=40, place=rack)
    parts = [
        build.part("white", whole=eggs, yields_base=33, keeps_days=2),
        build.part("yolk", whole=eggs, yields_base=17, keeps_days=3),
    ]
    made = []
    for number, said in enumerate(kitchen["made"]):
        row = build.recipe(
            f"made {number}",
            yield_base=said["yields"],
            batch_step=Decimal(str(said["step"])),
            loss_percent=Decimal(str(said["loss"])),
            lead_days=said["lead"],
            keeps_days=6,
        )
        for component, base in zip([*bought, *parts], said["takes"], strict=True):
            build.recipe_line(row, component, base)
        if made and said["below"]:
            build.recipe_line(
                row,
                made[-1],
                said["below"],
                yield_percent=Decimal(str(said["yield_percent"])),
            )
        if said["ready"]:
            build.stock(row.item, said["ready"], use_by=MONDAY + timedelta(days=4))
        made.append(row)
    for number, said in enumerate(kitchen["cakes"]):
        row = build.cake(f"cake {number}", lead_days=said["lead"])
        build.recipe_line(row, made[-1], said["takes"][0], scales_with="volume")
        build.recipe_line(row, made[0], said["takes"][1], scales_with="filling")
        build.recipe_line(row, bought[0], said["takes"][2], scales_with="surface")
        build.recipe_line(row, parts[0], said["takes"][3])
        build.planned_cake(
            row,
            due_on=MONDAY + timedelta(days=said["day"]),
            size=said["size"],
            quantity=said["quantity"],
        )


class AnyKitchen(TestCase):
    """Drawn kitchens, the same ones in every run."""

    @given(kitchen=kitchens())
    @settings(max_examples=30, deadline=None)
    def test_making_what_the_plan_says_leaves_later_days_alone(self, kitchen):
        put_up(kitchen)

        check()
