"""The program is updated in the middle of a count: no page loads a mix of two.

Two servers of the same kitchen, whose files are of different versions, stand one after
the other behind one address.
"""

from contextlib import contextmanager

import pytest
from django.conf import settings
from django.test import override_settings
from playwright.sync_api import expect
from pytest_django.live_server_helper import LiveServer

from tests.browser.counting.addresses import Address
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    ready,
    sent,
    texts,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

NEW = "/static/00000000new1/"
VERSIONS = """() => [...new Set(performance.getEntriesByType("resource")
  .map(({ name }) => new URL(name).pathname.split("/"))
  .filter(([, first]) => first === "static").map(([, , version]) => version))]"""
UPDATED = """async () => {
  const changed = new Promise((resolve) => {
    navigator.serviceWorker.addEventListener("controllerchange", resolve);
  });
  await (await navigator.serviceWorker.ready).update();
  await changed;
  await new Promise((resolve) => { setTimeout(resolve, 2_000); }); // it keeps the page
}"""


@contextmanager
def updated(address):
    """Another server stands there now, with files of another version."""
    with override_settings(STATIC_URL=NEW):
        server = LiveServer("localhost")
        address.stands_at(server)
        try:
            yield NEW.split("/")[2]
        finally:
            server.stop()


@pytest.fixture
def address(live_server):
    """What every tab of these tests knows."""
    one = Address(live_server)
    yield one
    one.close()


def test_a_sheet_that_is_open_during_an_update_goes_on_offline_with_one_version(
    phone, ada, count, shelf, address
):
    tab, old = phone(ada), settings.FILE_VERSION
    tab.goto(f"{address.url}/count/{count.pk}/{shelf.pk}/", timeout=PATIENCE_MS)
    ready(tab)
    ready_for_offline(tab)
    assert tab.evaluate(VERSIONS) == [old]

    with updated(address) as new:
        enter(tab, "butter", "2 c")
        tab.evaluate(UPDATED)
        tab.context.set_offline(True)
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)
        assert tab.evaluate(VERSIONS) in ([old], [new])
        expect(field(tab, "butter")).to_have_value("2 c")
        enter(tab, "eggs", "3 flats")

        tab.context.set_offline(False)
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)
        assert tab.evaluate(VERSIONS) == [new]
        sent(tab)
        assert texts(count) == {"butter": ["2 c"], "eggs": ["3 flats"]}
        ready_for_offline(tab)
        tab.context.set_offline(True)
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)
        assert tab.evaluate(VERSIONS) == [new]
