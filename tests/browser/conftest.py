"""A real browser at the site, with the demo kitchen behind it.

The day stands still, so that every run sees the same pages. Chromium is looked for
where CHROMIUM says; without it the tests are skipped, but on CI they fail.
"""

import os
from datetime import UTC, date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.test import override_settings
from django.utils import timezone
from playwright.sync_api import expect, sync_playwright

from planning.demo import build_sheets, counted_on
from planning.interchange.loading import load_kitchen
from stock.models import Bakery
from tests import build

CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
CHROMIUM_ARGS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic"),
    *("--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
]
TODAY = date(2026, 5, 5)  # a Tuesday; the demo kitchen is closed on Mondays
ZONE = ZoneInfo("America/Chicago")  # the demo kitchen's
NOW = datetime(2026, 5, 5, 15, tzinfo=UTC)  # ten in the morning there
WAIT_MS = 20_000  # a busy machine answers late; no test is slower for it
expect.set_options(timeout=WAIT_MS)


@pytest.fixture(scope="module")
def chromium():
    """The browser itself, started once for each module of tests.

    It ends with them: what they need in the environment must not be found there
    by the tests that follow, which check how a deployment starts.
    """
    if not Path(CHROMIUM).exists():
        missing = f"No browser at {CHROMIUM}: install Chromium, or set CHROMIUM."
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright runs a loop in this thread; its tests still read the database.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=CHROMIUM_ARGS
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session", autouse=True)
def _static_files_as_they_lie():
    """The server reads this once, when it starts."""
    with override_settings(WHITENOISE_AUTOREFRESH=True):
        yield


@pytest.fixture
def _day_stands_still(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def demo_kitchen(transactional_db, _day_stands_still):
    """The demo kitchen as it was counted on the Sunday before."""
    counted_at = datetime.combine(counted_on(TODAY), time(20), tzinfo=ZONE)
    load_kitchen(build_sheets(TODAY), at=counted_at)
    return Bakery.objects.get()


@pytest.fixture
def baker(transactional_db):
    """Whoever works at the site, people and passwords included."""
    return build.user("baker", is_staff=True)


@pytest.fixture
def open_tab(chromium, live_server):
    """Open a tab at the site; keywords are those of a Playwright context."""
    contexts = []

    def open_one(**options):
        context = chromium.new_context(base_url=live_server.url, **options)
        contexts.append(context)
        context.set_default_timeout(WAIT_MS)
        return context.new_page()

    yield open_one
    for context in contexts:
        context.close()


@pytest.fixture
def sign_in(baker):
    """Sign the baker in, at the page for it."""

    def sign_in_at(tab):
        tab.goto("/sign-in/")
        tab.get_by_label("Username").fill("baker")
        tab.get_by_label("Password").fill("flour-and-water")
        tab.get_by_role("button", name="Sign in").click()

    return sign_in_at
