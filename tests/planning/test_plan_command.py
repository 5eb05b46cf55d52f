"""`plan` and `write_orders`: the same plan for people, for programs and on disk."""

import io
import json
import os
import subprocess
import sys
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from planning.interchange.loading import load_kitchen
from tests.reference import by_hand

AT = "2026-06-09T12:00"
ROOT = Path(__file__).parents[2]
KITCHENS = ROOT / "tests" / "reference" / "kitchens"
LOADED_AT = datetime(2026, 6, 9, 6, tzinfo=UTC)

pytestmark = pytest.mark.django_db


@pytest.fixture
def wedding_season():
    sheets = by_hand.read_folder(KITCHENS / "wedding_season")
    load_kitchen(sheets, at=LOADED_AT)
    return sheets


def said(*arguments: str) -> str:
    out = io.StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


def plan_json(*arguments: str) -> dict:
    return json.loads(said("plan", "--json", "--at", AT, *arguments))


@pytest.mark.usefixtures("wedding_season")
def test_the_json_has_exactly_the_specified_keys():
    plan = plan_json()

    assert set(plan) == {
        *("as_of", "from", "to", "currency", "demand", "making", "projection"),
        *("shortfalls", "orders", "totals", "warnings"),
    }
    keys = {part: set().union(*(row.keys() for row in plan[part])) for part in plan
            if isinstance(plan[part], list) and part != "warnings"}  # fmt: skip
    assert keys == {
        "demand": {"item", "date", "amount", "unit", "late"},
        "making": {"recipe", "date", "batches", "amount", "unit", "surplus"},
        "projection": {
            *("item", "date", "opening", "received", "used", "expired"),
            *("closing", "unit"),
        },
        "shortfalls": {
            *("item", "kind", "first_date", "short_by", "unit", "cakes", "remedy"),
        },
        "orders": {
            *("supplier", "order_by", "deliver_on", "lines", "goods", "fee", "total"),
        },
    }
    lines = [line for order in plan["orders"] for line in order["lines"]]
    assert lines
    assert all(plan[part] for part in keys)
    assert all(
        set(line) == {"item", "code", "pack", "packs", "price", "amount", "because"}
        for line in lines
    )
    assert all(line["because"] for line in lines)
    assert set(plan["totals"]) == {"goods", "fees", "total", "usual_total", "proof"}
    assert set(plan["totals"]["proof"]) == {"status", "gap"}


@pytest.mark.usefixtures("wedding_season")
def test_lists_are_sorted_by_date_then_name():
    plan = plan_json()

    for part, name in (
        ("demand", "item"),
        ("making", "recipe"),
        ("projection", "item"),
    ):
        order = [(row["date"], row[name].casefold()) for row in plan[part]]
        assert order == sorted(order)
    order = [(row["deliver_on"], row["supplier"].casefold()) for row in plan["orders"]]
    assert order == sorted(order)


@pytest.mark.usefixtures("wedding_season")
def test_moments_carry_offsets_and_money_two_places():
    plan = plan_json()

    assert plan["as_of"][-6] in "+-"
    for order in plan["orders"]:
        assert order["order_by"][-6] in "+-"
        for money in (order["goods"], order["fee"], order["total"]):
            assert Decimal(money).as_tuple().exponent == -2


@pytest.mark.usefixtures("wedding_season")
def test_the_totals_are_the_sums_of_the_lines():
    plan = plan_json()

    for order in plan["orders"]:
        goods = sum(Decimal(line["amount"]) for line in order["lines"])
        assert Decimal(order["goods"]) == goods
        assert Decimal(order["total"]) == goods + Decimal(order["fee"])
    assert Decimal(plan["totals"]["goods"]) == sum(
        Decimal(order["goods"]) for order in plan["orders"]
    )


@pytest.mark.usefixtures("wedding_season")
def test_the_spreadsheets_carry_the_totals_of_the_json(tmp_path):
    plan = plan_json()

    paths = said("write_orders", "--at", AT, "--out", str(tmp_path)).split("\n")[:-1]

    totals = []
    for path in paths:
        rows = openpyxl.load_workbook(path)["Order"].values
        [total] = [row[6] for row in rows if row[3] == "Total, USD"]
        totals.append(f"{total:.2f}")
    assert totals == [order["total"] for order in plan["orders"]]


@pytest.mark.usefixtures("wedding_season")
def test_the_text_names_what_runs_short_and_what_to_order():
    text = said("plan", "--at", AT)

    plan = plan_json()
    for row in plan["shortfalls"]:
        assert row["item"].casefold() in text.casefold()
    for order in plan["orders"]:
        assert order["supplier"] in text


def test_an_empty_kitchen_has_a_plan_without_lines(tmp_path):
    plan = plan_json()

    assert plan["demand"] == plan["orders"] == plan["shortfalls"] == []
    assert plan["totals"]["proof"]["gap"] == 0
    assert "no file was written" in said("write_orders", "--out", str(tmp_path))


def test_a_moment_before_anything_was_written_down_is_told(wedding_season):
    plan = json.loads(said("plan", "--json", "--at", "2026-06-08T12:00"))

    assert any("Stock is known only from" in warning for warning in plan["warnings"])


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (["--at", "yesterday"], "isn't a moment. Write it like"),
        (["--from", "2026-02-30"], "There is no 2026-02-30 in the calendar."),
        (["--from", "30.2.2026"], "isn't a date. Write year-month-day"),
        (["--from", "9999-12-31"], "is too far away. Write a year from 1990"),
        (["--at", "9999-12-31T23:59"], "is too far away. Write a year from 1990"),
        (["--days", "0"], "a whole number from 1 to 366, not 0"),
        (["--days", "9" * 5_000], "a whole number from 1 to 366, not 999"),
        (["--days", "two"], "a whole number from 1 to 366, not two"),
        (["--tentative", "maybe"], "invalid choice"),
    ],
)
def test_what_cannot_be_planned_is_one_sentence(arguments, sentence):
    with pytest.raises(CommandError, match=r".+") as caught:
        said("plan", *arguments)

    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


def test_from_a_terminal_that_is_one_line_on_stderr_and_exit_code_2(tmp_path):
    run = subprocess.run(
        [sys.executable, "manage.py", "plan"],
        check=False,
        cwd=ROOT,
        env={**os.environ, "DATABASE_URL": f"sqlite:///{tmp_path}/empty.sqlite3"},
        capture_output=True,
        text=True,
        timeout=60,
    )

    assert run.returncode == 2
    assert run.stdout == ""
    assert run.stderr.count("\n") == 1
    assert "manage.py migrate" in run.stderr


@pytest.mark.usefixtures("wedding_season")
def test_planning_reads_with_the_same_few_queries(django_assert_max_num_queries):
    # The bakery, the plan's 7, the first movement, which orders are gone by, and
    # whether a time zone is set.
    with django_assert_max_num_queries(11):
        plan_json()
    assert connection.in_atomic_block  # the test's own: nothing was committed
