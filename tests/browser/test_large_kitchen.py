"""A kitchen of 400 items, from the page: brought in, planned better, and stopped.

Progress, the stop and the result come from a real worker, a process of its own, which
would go on for minutes; the test waits for what it says, never for a time.
"""

import re
from datetime import timedelta
from urllib.parse import quote

import openpyxl
import pytest
from django.db import connection
from playwright.sync_api import expect

from planning.models import OrderSearch
from planning.search import searching
from tests import build
from tests.benchmarks.bakeries import SIZES, sheets_of

pytestmark = pytest.mark.browser

LARGE = SIZES["large"]
SEED = 1
PATIENCE_MS = 120_000  # of a slow machine; a quick one needs 5 s for each step
STOP = "Stop, and keep the best so far"


@pytest.fixture
def workbook(tmp_path):
    """The kitchen as a bakery has it: one sheet each, text in every cell."""
    book = openpyxl.Workbook(write_only=True)
    for name, rows in sheets_of(LARGE, SEED).items():
        columns = list(dict.fromkeys(column for row in rows for column in row))
        sheet = book.create_sheet(name)
        for values in (columns, *([row.get(key) for key in columns] for row in rows)):
            if values:
                sheet.append(values)
    path = tmp_path / "large.xlsx"
    book.save(path)
    return path


@pytest.fixture
def _worker_at_this_database(monkeypatch):
    """What the site starts has to find the test's database, not the kitchen's own."""
    at = connection.settings_dict
    if connection.vendor == "sqlite":
        url = f"sqlite:///{quote(at['NAME'])}"
    else:
        who = f"{quote(at['USER'])}:{quote(at['PASSWORD'])}"
        url = (
            f"postgresql://{who}@{quote(at['HOST'], safe='')}:{at['PORT']}/{at['NAME']}"
        )
    monkeypatch.setenv("DATABASE_URL", url)
    # The site's day stands still and the worker's does not: its signs of life are far
    # ahead of the site's clock, which would otherwise take them for none.
    for patience in ("LOST_AFTER", "NOT_BEGUN_AFTER"):
        monkeypatch.setattr(searching, patience, timedelta(days=50_000))


@pytest.fixture
def tab(
    transactional_db, _day_stands_still, _worker_at_this_database, open_tab, sign_in
):
    """A browser, signed in at a site with no kitchen yet."""
    build.bakery()
    page = open_tab()
    page.set_default_timeout(PATIENCE_MS)
    sign_in(page)
    return page


@pytest.fixture(autouse=True)
def _no_worker_is_left(tab):
    """A test that fails half-way leaves nothing for its worker to do."""
    yield
    OrderSearch.objects.all().delete()


def appears(what):
    """Wait for something of a page, however slow the machine."""
    expect(what).to_be_visible(timeout=PATIENCE_MS)


def words(tab):
    return " ".join(tab.get_by_role("main").inner_text().split())


def press(tab, name):
    tab.get_by_role("button", name=name, exact=True).click()


def test_a_kitchen_of_400_items_is_planned_from_the_page_and_stopped(tab, workbook):
    bring_in(tab, workbook)
    look_for_better_orders(tab)

    appears(tab.get_by_text("Best so far", exact=True))
    appears(tab.get_by_text("Above the best possible", exact=True))
    press(tab, STOP)

    appears(tab.get_by_role("heading", name="What was found"))
    assert re.search(
        r"Stopped early, best so far of today .*: \$[\d,.]+ less than the usual rule, "
        r".*; at most [\d.]+ % above the best possible\.",
        words(tab),
    )
    assert OrderSearch.objects.get().state == OrderSearch.State.STOPPED


def bring_in(tab, workbook):
    tab.goto("/kitchen/files/")
    tab.get_by_label("Kitchen workbook").set_input_files(workbook)
    press(tab, "Look at this workbook")
    assert f"Items {LARGE.items}" in words(tab)
    press(tab, "Store this")
    assert "large.xlsx is stored" in tab.get_by_role("status").inner_text()


def look_for_better_orders(tab):
    tab.goto("/orders/better/")
    tab.get_by_label("Up to four minutes").check()
    press(tab, "Find best orders")
