"""Better orders than the usual rule's, where somebody asks for them."""

import json
from datetime import timedelta
from decimal import Decimal
from math import inf

import openpyxl
import pytest
from django.core.management import CommandError, call_command

from planning.engine.ordering.explain.order_comparison import left_worths, wasted_costs
from planning.engine.ordering.instance.wishes import Wishes
from planning.engine.plan import Proof
from planning.plan.plan_json import plan_as_json
from planning.plan.planner import EFFORTS, make_plan, with_better_orders
from planning.wording.better_words import better_words, deliveries_words, proof_words
from stock.models import Bakery, Item
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db

AT_NOON = "2026-05-04T12:00"


@pytest.fixture
def kitchen():
    build.dairy_kitchen()
    return Bakery.objects.get()


def better(kitchen, **options):
    planned = make_plan(bakery=kitchen, as_of=NOON)
    return with_better_orders(planned, effort=EFFORTS["quick"], **options)


def test_better_orders_stand_beside_the_usual_rules(kitchen):
    planned = better(kitchen)

    [order] = planned.plan.purchasing.orders
    assert order.total_cost == Decimal("28.00")
    assert planned.plan.purchasing.usual_total == Decimal("43.00")
    assert len(planned.usual.orders) == 2
    assert better_words(planned) == (
        "$15.00 less than the usual rule, one delivery fewer; "
        "no better ones are possible."
    )


def test_what_is_used_is_said_so_that_reasons_add_up():
    # 1,500 g are 3 lb 4.9 oz, 1,000 g 2 lb 3.3 oz and 500 g 1 lb 1.6 oz, said as
    # 1 lb 1 1/2 oz: with 2 lb 3 oz they are 3 lb 4 1/2 oz.
    butter = build.item("butter", on_hand_base=1_000)
    dairy = build.supplier("Dairy")
    build.pack(butter, dairy, holds="36 lb", size_base=16_329.3253, called="case")
    saturday = build.MONDAY + timedelta(days=5)
    build.planned_cake(build.cake(lines=[(butter, 1_500)]), due_on=saturday)

    planned = better(build.bakery(time_zone="UTC"))

    [order] = planned.plan.purchasing.orders
    assert planned.order_sentences.because(order.lines[0])[1].startswith(
        "2 lb 3 oz on hand, nothing on order, 3 lb 4 1/2 oz used by "
    )


def test_a_supplier_that_is_left_out_brings_nothing(kitchen):
    far = build.supplier("Far Dairy", delivery_fee=40)
    for name in ("butter", "sugar"):
        build.pack(Item.objects.get(name=name), far, size_base=500, price="12")

    planned = better(kitchen, wishes=Wishes(forbidden_suppliers=frozenset({0})))

    # Two packs at 12 and one truck at 40.
    [order] = planned.plan.purchasing.orders
    assert planned.kitchen.suppliers[order.supplier].name == "Far Dairy"
    assert order.total_cost == Decimal("64.00")


def test_a_search_that_is_stopped_at_once_is_no_worse_than_the_usual_rule(kitchen):
    planned = better(kitchen, should_stop=lambda: True)

    found = planned.plan.purchasing
    assert found.total_cost <= Decimal("43.00")


def test_what_is_left_over_either_way_is_compared_by_its_worth(kitchen):
    planned = better(kitchen)

    worths = left_worths(
        planned.kitchen,
        planned.plan.window,
        planned.plan.demand,
        planned.deliveries,
        [planned.plan.purchasing, planned.usual],
    )

    assert worths == (0, 0)


@pytest.mark.parametrize(
    ("keeps_days", "cost"),
    [
        # A box of 1,000 g at 20.00 comes on Tuesday; the cake takes 250 g of it on
        # Wednesday, in a plan of fourteen days. The rest, 750 g, is worth 15.00.
        (3, "15.00"),
        # On average 250 / 14 = 17.857 g a day. To the Monday after the plan's last
        # day, the Sunday: one day's use, 17.857 g, less: 732.143 g are 14.64.
        (14, "14.64"),
        # In date for longer than the plan and four weeks: nobody can tell.
        (60, "0.00"),
        (None, "0.00"),
    ],
)
def test_what_goes_out_of_date_is_counted_at_what_was_paid(keeps_days, cost):
    build.bakery(time_zone="UTC")
    dairy = build.supplier("Dairy")
    berries = build.item("raspberries", keeps_days=keeps_days)
    build.pack(berries, dairy, size_base=1_000, price="20", label="flat")
    on = NOON.date() + timedelta(days=2)
    build.planned_cake(build.cake(lines=[(berries, 250)]), due_on=on)
    planned = make_plan(bakery=Bakery.objects.get(), as_of=NOON)

    [wasted] = wasted_costs(
        planned.kitchen,
        planned.plan.window,
        planned.plan.demand,
        planned.deliveries,
        [planned.plan.purchasing],
    )

    assert [order.goods_cost for order in planned.plan.purchasing.orders] == [20]
    assert planned.plan.window.days == 14
    assert wasted == Decimal(cost)


def test_the_plan_command_looks_only_if_it_is_asked_to(kitchen, capsys):
    call_command("plan", "--at", AT_NOON)
    usual = capsys.readouterr().out
    call_command("plan", "--at", AT_NOON, "--effort", "quick")
    found = capsys.readouterr().out
    call_command("plan", "--at", AT_NOON, "--effort", "quick", "--json")
    totals = json.loads(capsys.readouterr().out)["totals"]

    assert "together $43.00." in usual
    assert "usual rule" not in usual
    assert "together $28.00." in found
    assert "$15.00 less than the usual rule, one delivery fewer;" in found
    assert (totals["total"], totals["usual_total"]) == ("28.00", "43.00")


def test_written_orders_are_the_better_ones_if_asked_for(kitchen, tmp_path):
    call_command(
        "write_orders", "--out", str(tmp_path), "--at", AT_NOON, "--effort", "quick"
    )

    [path] = tmp_path.glob("*.xlsx")
    cells = openpyxl.load_workbook(path)["Order"].iter_rows(values_only=True)
    words = {cell for row in cells for cell in row}
    assert {"Butter", "Sugar"} <= words


def test_an_effort_that_nobody_knows_is_refused(kitchen):
    with pytest.raises(CommandError, match="--effort"):
        call_command("plan", "--effort", "heroic")


def test_a_gap_that_is_not_known_is_null_in_json(kitchen):
    planned = make_plan(bakery=kitchen, as_of=NOON)
    purchasing = planned.plan.purchasing
    object.__setattr__(purchasing, "proof", Proof("best found", inf))

    proof = plan_as_json(planned)["totals"]["proof"]

    assert proof == {"status": "best found", "gap": None}


@pytest.mark.parametrize(
    ("fewer", "words"),
    [
        (1, "one delivery fewer"),
        (2, "two deliveries fewer"),
        (-1, "one delivery more"),
        (12, "12 deliveries fewer"),
    ],
)
def test_deliveries_are_counted_in_words(fewer, words):
    assert deliveries_words(fewer) == words


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        (0.0, "no better ones are possible"),
        (0.00005, "no better ones are possible"),
        (0.0001, "at most 0.01 % above the best possible"),
        (0.0012, "at most 0.12 % above the best possible"),
        (0.0125, "at most 1.3 % above the best possible"),
        (0.1, "at most 10 % above the best possible"),
        (inf, "how close to the best possible is not known yet"),
    ],
)
def test_how_close_to_the_best_is_rounded_up(gap, words):
    assert proof_words(Proof("best found", gap)) == words
