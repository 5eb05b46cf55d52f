"""A question about another place knows what this very phone has counted there."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from stock.counts import counting
from tests import build
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    enter,
    field,
    open_sheet,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

IN_THE_FREEZER = "Is the rest in freezer, which is not counted yet?"


@pytest.fixture
def layers(transactional_db):
    """Frozen layers in the walk-in and in the freezer, 40 kg on record in each."""
    places = [build.place("walk-in"), build.place("freezer")]
    layers = build.item("layers", place=places[0])
    at = timezone.now() - timedelta(days=1)
    for place in places:
        build.stock(layers, 40_000, place=place, at=at)
    now = timezone.now()
    return counting.open_count(counted_at=now, at=now), *places


def test_it_asks_about_a_place_that_nobody_has_counted(phone, ada, layers):
    count, walk_in, _ = layers
    tab = phone(ada)
    open_sheet(tab, count, walk_in)

    enter(tab, "layers", "11 kg")

    expect(tab.locator(".count-ask p")).to_contain_text(IN_THE_FREEZER)


def test_what_this_phone_has_counted_there_is_known_with_no_network(phone, ada, layers):
    count, walk_in, freezer = layers
    tab = phone(ada)
    for place in (walk_in, freezer):
        open_sheet(tab, count, place)
        ready_for_offline(tab)
    tab.context.set_offline(True)
    enter(tab, "layers", "40 kg")
    expect(tab.locator("[data-left]")).to_have_text("All 1 counted")

    open_sheet(tab, count, walk_in)
    enter(tab, "layers", "11 kg")

    expect(
        tab.get_by_text("11 kg. On record 40 kg.", exact=False).first
    ).to_be_visible()
    expect(tab.get_by_text(IN_THE_FREEZER)).to_have_count(0)
    expect(field(tab, "layers")).to_have_value("11 kg")
