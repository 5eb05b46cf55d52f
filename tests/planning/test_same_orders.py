"""The command and the Orders page give the same orders, whichever are gone by."""

import csv
import io
import json

import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from planning.models import OrderSearch
from planning.orders.drafting import draft_found_orders
from planning.search.searching import SearchRequest, go_by_usual_rule, start_search
from planning.search.worker import look_for_orders
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db

AT = "2026-05-04T12:00"
# Supplier, day of delivery, packs of each, goods, fee and total. The usual rule lets
# the dairy come as late as it may, twice for $15 each; both on one truck spare one.
MILL = ("Mill", "2026-05-08", {"sack": 2}, "40.00", "5.00", "45.00")
USUAL = [
    ("Dairy", "2026-05-05", {"brick": 1}, "10.00", "15.00", "25.00"),
    ("Dairy", "2026-05-08", {"bag": 3}, "9.00", "15.00", "24.00"),
    MILL,
]
FOUND = [
    ("Dairy", "2026-05-05", {"bag": 3, "brick": 1}, "19.00", "15.00", "34.00"),
    MILL,
]


@pytest.fixture(autouse=True)
def _noon(at_noon):
    """The page's clock stands still."""


@pytest.fixture
def kitchen():
    """Three bags and two sacks for Saturday; the mill comes on Fridays only."""
    return build.dairy_and_mill_kitchen(
        sugar_base=300, flour_base=2_000, mill_days="Fri"
    )


@pytest.fixture
def found_in_force(kitchen):
    search_id = start_search(SearchRequest("quick"), at=NOON)
    look_for_orders(search_id, now=timezone.now)
    draft_found_orders(search_id=search_id, bakery=kitchen, at=NOON)


@pytest.fixture
def site(client):
    client.force_login(build.user("rosa"))
    return client


def planned(*options):
    """What `plan --json` would order."""
    out = io.StringIO()
    call_command("plan", "--json", "--at", AT, *options, stdout=out)
    return [
        (
            order["supplier"],
            order["deliver_on"],
            {line["pack"]: line["packs"] for line in order["lines"]},
            *(order[name] for name in ("goods", "fee", "total")),
        )
        for order in json.loads(out.getvalue())["orders"]
    ]


def written(folder, *options):
    """Whom the files of `write_orders` are for, and which packs they ask for."""
    call_command(
        "write_orders", "--out", str(folder), "--at", AT, *options, stdout=io.StringIO()
    )
    rows = [
        row
        for path in folder.glob("*.csv")
        for row in csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())
    ]
    return sorted((row["Pack"], int(row["Qty"])) for row in rows if row["Qty"])


def shown(site):
    """What the Orders page would order; its tables show these very sheets."""
    suggested = site.get(reverse("planning:orders")).context["suggested"]
    return [
        (
            sheet.supplier,
            sheet.deliver_on.isoformat(),
            {line.pack: line.packs for line in sheet.lines},
            *(
                f"{cost:.2f}"
                for cost in (sheet.goods_cost, sheet.fee, sheet.total_cost)
            ),
        )
        for sheet in (truck.sheet for truck in suggested.trucks)
    ]


def test_both_go_by_the_usual_rule_until_somebody_drafts_found_orders(kitchen, site):
    assert planned() == shown(site) == USUAL


def test_both_go_by_found_orders_that_were_drafted(found_in_force, site):
    assert planned() == shown(site) == FOUND


def test_orders_are_written_as_the_page_has_them(found_in_force, tmp_path):
    assert written(tmp_path) == [("bag", 3), ("brick", 1), ("sack", 2)]
    assert len(list(tmp_path.glob("*.csv"))) == len(FOUND)


def test_the_usual_rule_is_there_for_who_asks_for_it(found_in_force, tmp_path):
    assert planned("--effort", "none") == USUAL

    assert written(tmp_path, "--effort", "none") == [
        ("bag", 3),
        ("brick", 1),
        ("sack", 2),
    ]
    assert len(list(tmp_path.glob("*.csv"))) == len(USUAL)


def test_both_go_by_the_usual_rule_again_when_somebody_says_so(found_in_force, site):
    go_by_usual_rule()

    assert planned() == shown(site) == USUAL


def test_both_go_by_the_usual_rule_once_the_kitchen_is_another(found_in_force, site):
    OrderSearch.objects.update(fingerprint="of another kitchen")

    assert planned() == shown(site) == USUAL


def test_another_look_ahead_is_by_the_usual_rule(found_in_force):
    # What was found is for the usual days; for more of them it may not be the best.
    assert planned("--days", "21") == USUAL


def test_the_plan_says_how_what_was_found_stands(found_in_force):
    out = io.StringIO()

    call_command("plan", "--at", AT, stdout=out)

    assert "$15.00 less than the usual rule, one delivery fewer;" in out.getvalue()


def test_the_help_says_what_is_gone_by(capsys):
    with pytest.raises(SystemExit):
        call_command("plan", "--help")

    words = " ".join(capsys.readouterr().out.split())
    assert "default: as the Orders page has them" in words
    assert "none, the usual rule" in words
