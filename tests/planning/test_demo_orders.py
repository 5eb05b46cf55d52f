"""The demo's week: why each pack of butter, sugar and molasses is bought."""

import re
from collections import defaultdict
from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from planning.demo import build_sheets, counted_on
from planning.engine.usual_rule.line_reasons import NeedReason
from planning.interchange.loading import load_kitchen
from planning.plan.planner import EFFORTS, make_plan, with_better_orders
from stock.models import Bakery

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")
TODAY = date(2026, 5, 2)
WATCHED = re.compile("butter|sugar|molasses")


@pytest.fixture
def planned():
    counted_at = datetime.combine(counted_on(TODAY), datetime.min.time(), CHICAGO)
    load_kitchen(build_sheets(TODAY), at=counted_at)
    as_of = datetime(TODAY.year, TODAY.month, TODAY.day, 9, tzinfo=CHICAGO)
    return make_plan(bakery=Bakery.objects.get(), as_of=as_of)


def watched_lines(planned):
    names = planned.kitchen.nodes.names
    return [
        (names[line.pack.node], " ".join(planned.order_sentences.because(line)))
        for order in planned.plan.purchasing.orders
        for line in order.lines
        if WATCHED.search(names[line.pack.node])
    ]


BY_RULE = [r": out on|below safety on|to reach par on", r"on hand", r"order by"]
WHY = [
    r"Without it: .+ (out on|below the par)",
    r"on hand, .+ used by",
    r"holds? .+ for a need of",
    r"order by",
]
ANOTHER_WAY = r"No other delivery|Any other way|Next best"


def test_the_usual_rule_says_why_each_pack_is_bought(planned):
    found = watched_lines(planned)

    assert {"unsalted butter", "granulated sugar", "molasses"} <= {n for n, _ in found}
    for name, reasons in found:
        for pattern in BY_RULE:
            assert re.search(pattern, reasons), (name, pattern, reasons)


def test_better_orders_say_why_each_pack_is_bought_and_what_else_would_cost(planned):
    better = with_better_orders(planned, effort=EFFORTS["usual"])
    found = watched_lines(better)

    assert better.plan.purchasing.proof.status == "proven"
    assert {"unsalted butter", "granulated sugar", "molasses"} <= {n for n, _ in found}
    for name, reasons in found:
        for pattern in [*WHY, ANOTHER_WAY]:
            assert re.search(pattern, reasons), (name, pattern, reasons)


def test_an_items_order_lines_count_the_cakes_of_its_shortfall(planned):
    cakes = defaultdict(set)
    kinds = defaultdict(set)
    for order in planned.plan.purchasing.orders:
        for line in order.lines:
            for reason in line.because:
                if isinstance(reason, NeedReason):
                    cakes[reason.node].update(reason.cakes)
                    kinds[reason.node].add(reason.kind)

    alike = [row for row in planned.plan.shortfalls if kinds[row.node] == {row.kind}]
    assert len([row for row in alike if len(row.cakes) > 1]) > 3
    for row in alike:
        assert sorted(cakes[row.node]) == list(row.cakes)
