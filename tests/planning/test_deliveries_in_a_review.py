"""What an open count says of a delivery, and of its undoing."""

from datetime import timedelta

import pytest

from tests import build
from tests.build import NOON
from tests.planning.deliveries import receive, undo
from tests.stock import counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def rack():
    return build.place("rack")


@pytest.fixture
def order(mill, flour, rack):
    """Three bags of flour and two of sugar, for today."""
    flour.item.place = rack
    flour.item.save()
    sugar = build.pack(build.item("sugar", place=rack), mill, label="bag")
    return build.order(mill, reference="2026-004", lines=[(flour, 3), (sugar, 2)])


@pytest.mark.parametrize(
    ("minutes", "told"),
    [
        (
            -10,
            [
                "1 kg received today noon, after the count's moment: it stays on top.",
                "1 kg off record, its delivery undone, today noon, "
                "after the count's moment: it stays on top.",
            ],
        ),
        (
            5,
            [
                "1 kg off record, its delivery undone, today noon, "
                "entered since: already in what is on record."
            ],
        ),
    ],
)
def test_an_open_count_tells_a_delivery_and_its_undoing_apart(
    signed_in, order, flour, rack, clock, minutes, told
):
    delivery = receive(order, 1, 0, closes=False)
    clock["now"] = NOON + timedelta(minutes=10)
    count = counts.opened(rack, counted_at=NOON + timedelta(minutes=minutes))
    counts.enter(count, flour.item, "1 kg")
    undo(delivery)

    page = signed_in.get(f"/count/{count.pk}/review/")

    items = [*page.context["differing"], *page.context["agreeing"]]
    remarks = [remark for item in items for remark in item.remarks]
    assert [said.replace("\N{NO-BREAK SPACE}", " ") for said in remarks] == told
