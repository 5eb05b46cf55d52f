"""What stands behind the demo's figures adds up to them: lacks, use, makings."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from planning.demo import build_sheets, counted_on
from planning.engine.demand.pegging import making_sum, shares
from planning.engine.kitchen import NodeKind
from planning.engine.shortfalls.after_orders import lack_sum
from planning.interchange.loading import load_kitchen
from planning.plan.planner import make_plan
from stock.models import Bakery

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")
STARTS = [date(2026, 5, 2), date(2026, 5, 5), date(2027, 12, 31)]


@pytest.fixture(params=STARTS, ids="{:%a %d %b %Y}".format)
def planned(request):
    today = request.param
    counted_at = datetime.combine(counted_on(today), datetime.min.time(), CHICAGO)
    load_kitchen(build_sheets(today), at=counted_at)
    as_of = datetime(today.year, today.month, today.day, 9, tzinfo=CHICAGO)
    return make_plan(bakery=Bakery.objects.get(), as_of=as_of)


def test_every_lack_is_what_is_wanted_less_what_is_there(planned):
    plan = planned.plan

    assert len(plan.shortfalls) > 9
    for lack in plan.shortfalls:
        added = lack_sum(planned.kitchen, plan.projection, lack)
        wanted_base = (
            added.used_base + added.expired_base + added.kept_base + added.waits_base
        )
        there_base = added.opening_base + added.received_base + added.later_base
        assert wanted_base - there_base == pytest.approx(lack.short_base, abs=1e-6)


def test_every_use_is_what_its_cakes_take(planned):
    demand = planned.plan.demand

    assert len(demand.node) > 99
    for node, day, amount_base in zip(
        demand.node.tolist(),
        demand.day.tolist(),
        demand.amount_base.tolist(),
        strict=True,
    ):
        found = shares(planned.explosion, node, [date.fromordinal(day)])
        assert sum(row.takes_base for row in found) == pytest.approx(amount_base)
        assert all(row.takes_base > 0 for row in found)


def test_every_making_is_what_is_needed_and_lost_and_left_over(planned):
    kind = planned.kitchen.nodes.kind
    makings = [row for row in planned.plan.making if kind[row.node] == NodeKind.MADE]

    assert len(makings) > 20
    for making in makings:
        added = making_sum(planned.explosion, making.node, making.on)
        total_base = (
            added.needed_base - added.ready_base + added.lost_base
        ) + added.left_over_base
        assert total_base == pytest.approx(making.amount_base)
        assert added.made_base == pytest.approx(making.amount_base)
        assert added.left_over_base == pytest.approx(making.surplus_base, abs=1e-6)
        assert added.ready_base > -1e-9
