"""What fails or takes long leaves a trace, and a monitor can ask how things are."""

import logging
from datetime import timedelta

import pytest
from django.core import mail
from django.db import DatabaseError, connection
from django.test import Client
from django.utils import timezone

from planning import health
from planning.models import OrderSearch
from planning.web.shortfalls import page as shortfalls_page
from stock.ledger import guard
from stock.web.request.traces import OwnerMailHandler, TraceFormatter

pytestmark = pytest.mark.django_db


class Lines(logging.Handler):
    """Keeps what would stand in the log."""

    def __init__(self):
        super().__init__()
        self.setFormatter(TraceFormatter())
        self.said = []

    def emit(self, record):
        self.said.append(self.format(record))


@pytest.fixture
def log(settings):
    settings.SLOW_REQUEST_SECONDS = 60  # of a busy machine that says nothing
    lines = Lines()
    loggers = [logging.getLogger(name) for name in ("django.request", "stock.slow")]
    for logger in loggers:
        logger.addHandler(lines)
    yield lines.said
    for logger in loggers:
        logger.removeHandler(lines)


@pytest.fixture
def broken(monkeypatch, signed_in):
    """A signed-in browser at a site one of whose pages fails."""

    def fail(*_args, **_kwargs):
        raise RuntimeError("the flour bin is upside down")

    monkeypatch.setattr(shortfalls_page, "show", fail)
    signed_in.raise_request_exception = False
    return signed_in


def test_a_page_that_fails_shows_the_id_under_which_the_log_has_its_cause(broken, log):
    answer = broken.get("/shortfalls/?password=three-tiers")

    assert answer.status_code == 500
    [said] = log
    trace_id = answer.wsgi_request.trace_id
    assert f"the number {trace_id}" in answer.content.decode()
    head, *cause = said.splitlines()
    assert f" ERROR id={trace_id} person=ada GET /shortfalls/ " in head
    assert cause[-1] == "RuntimeError: the flour bin is upside down"
    assert "three-tiers" not in said


def test_a_slow_page_is_logged_with_its_seconds(signed_in, log, settings):
    settings.SLOW_REQUEST_SECONDS = 1e-9

    signed_in.get("/kitchen/")

    assert [line for line in log if "person=ada GET /kitchen/ took 0." in line]


def test_a_quick_page_leaves_no_trace(signed_in, log):
    signed_in.get("/kitchen/")

    assert log == []


def test_a_line_feed_in_an_address_makes_no_line_of_its_own(signed_in, log, settings):
    settings.SLOW_REQUEST_SECONDS = 1e-9

    signed_in.get("/no-such%0A2026-01-01 ERROR forged/")

    assert len(log) == len([said for said in log if "\n" not in said])


def test_the_owner_is_mailed_once_a_minute_at_most(settings):
    settings.ADMINS = [("", "owner@kitchen.example")]
    handler = OwnerMailHandler()
    handler.setFormatter(TraceFormatter())
    record = logging.LogRecord("x", logging.ERROR, "", 1, "it broke", None, None)

    handler.emit(record)
    handler.emit(record)

    [sent] = mail.outbox
    assert sent.to == ["owner@kitchen.example"]
    assert "it broke" in sent.body


def test_a_kitchen_that_works_says_so_to_anybody(db):
    answer = Client().get("/health/")

    assert answer.status_code == 200
    assert answer.json() == {
        "status": "ok",
        "checks": dict.fromkeys(
            ["database", "ledger", "search", "disk", "saving"], "ok"
        ),
    }


def test_a_ledger_without_its_guard_needs_a_look(db):
    guard.remove(connection)

    answer = Client().get("/health/")

    assert answer.status_code == 503
    assert answer.json()["checks"]["ledger"] == "not guarded"


@pytest.mark.parametrize(
    ("ago", "found"), [(timedelta(minutes=5), "lost"), (timedelta(hours=2), "ok")]
)
def test_a_search_lost_of_late_needs_a_look(db, ago, found):
    at = timezone.now() - ago
    OrderSearch.objects.create(
        effort="quick", started_at=at, heartbeat_at=at, stage="pricing"
    )

    assert Client().get("/health/").json()["checks"]["search"] == found


def test_a_disk_that_is_nearly_full_needs_a_look(db, monkeypatch):
    monkeypatch.setattr(health, "LEAST_FREE_BYTES", 2**62)

    assert Client().get("/health/").json()["checks"]["disk"] == "nearly full"


def test_health_is_answered_when_the_database_is_not(db, monkeypatch):
    def gone(*_args, **_kwargs):
        raise DatabaseError("the server at 10.0.0.7 is gone, password x")

    monkeypatch.setattr(connection, "cursor", gone)
    answer = Client().get("/health/")

    assert answer.status_code == 503
    assert answer.json()["checks"]["database"] == "does not answer"
    assert "10.0.0.7" not in answer.content.decode()


def test_the_kitchen_page_names_the_version(signed_in):
    import stock

    assert (
        f"Tierlarder {stock.__version__}."
        in signed_in.get("/kitchen/").content.decode()
    )
