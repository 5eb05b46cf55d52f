"""What the demo kitchen notes as substitutes, and that its rescue speaks of one."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from planning.demo import build_sheets, counted_on
from planning.interchange.loading import load_kitchen
from planning.plan.planner import make_plan
from planning.wording.rescue import find_lost_items
from planning.wording.substitutes import find
from stock.items.substitutes import substitute_entries
from stock.models import Bakery

pytestmark = pytest.mark.django_db

CHICAGO = ZoneInfo("America/Chicago")
STARTS = [date(2026, 5, 2), date(2026, 5, 5), date(2027, 12, 31)]


def planned_at_nine(today):
    counted_at = datetime.combine(counted_on(today), datetime.min.time(), CHICAGO)
    load_kitchen(build_sheets(today), at=counted_at)
    as_of = datetime(today.year, today.month, today.day, 9, tzinfo=CHICAGO)
    return make_plan(bakery=Bakery.objects.get(), as_of=as_of)


def test_every_row_is_kept():
    planned_at_nine(STARTS[0])

    assert len(substitute_entries()) == len(build_sheets(STARTS[0])["Substitutes"])


@pytest.mark.parametrize("today", STARTS, ids="{:%a %d %b %Y}".format)
def test_on_every_day_something_on_the_shelf_could_take_a_place(today):
    planned = planned_at_nine(today)

    found = find(planned, find_lost_items(planned))

    names = planned.kitchen.nodes.names
    pairs = {
        (names[each.lost.node], names[each.node]): each.stand_in.covers_base
        for each in found
    }
    assert pairs["hazelnuts", "pecans"] > 0
    assert pairs["sugar pearls", "white chocolate"] > 0
