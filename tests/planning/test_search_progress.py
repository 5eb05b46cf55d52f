"""A search at a terminal: how far it is, on one line, and Ctrl-C to stop it."""

import io
import json
import signal
from datetime import timedelta
from math import inf

import pytest
from django.core.management import call_command
from django.core.management.base import OutputWrapper

from planning.engine.ordering.column_generation.efforts import Progress
from planning.management.plan_arguments import (
    HINT,
    STOPPED,
    STOPPING,
    SearchProgress,
)
from tests import build
from tests.build import MONDAY

WEDNESDAY, SATURDAY = MONDAY + timedelta(days=2), MONDAY + timedelta(days=5)
QUICK = ("--at", "2026-05-04T12:00", "--effort", "quick")


class Terminal(io.StringIO):
    """A screen that keeps all that was ever written to it."""

    def isatty(self):
        return True


class ImpatientTerminal(Terminal):
    """A screen before which somebody presses Ctrl-C as soon as money shows."""

    def __init__(self):
        super().__init__()
        self.pressed = False

    def write(self, text):
        if "$" in text and not self.pressed:
            self.pressed = True
            signal.raise_signal(signal.SIGINT)
        return super().write(text)


@pytest.fixture(autouse=True)
def _line_of_80_characters(monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")


@pytest.fixture(autouse=True)
def _ctrl_c_is_heard():
    """As at a terminal; a run in the background is started deaf to it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture
def clock():
    return {"s": 0.0}


@pytest.fixture
def screen():
    return Terminal()


@pytest.fixture
def shown(screen, clock):
    progress = SearchProgress(OutputWrapper(screen), "USD", clock=lambda: clock["s"])
    with progress:
        yield progress


@pytest.fixture
def kitchen(db):
    """Two trucks of $15 by the usual rule, for goods of $13; one is enough."""
    dairy = build.supplier("Dairy", delivery_fee=15)
    for name, price, due_on in (("butter", 10, WEDNESDAY), ("sugar", 3, SATURDAY)):
        item = build.item(name)
        build.pack(item, dairy, size_base=500, price=price)
        build.planned_cake(build.cake(lines=[(item, 500)]), due_on=due_on)
    return build.bakery(name="Crumb", currency="USD", time_zone="UTC")


def lines(screen):
    """What stood on the line, one time after the other, without blanks at its end."""
    after_hint = screen.getvalue().split(f"{HINT}\n")[1]
    return [line.rstrip() for line in after_hint.split("\r") if line.strip()]


def test_the_line_says_money_gap_stage_and_seconds(shown, screen, clock):
    clock["s"] = 12.3

    shown.tell(Progress("proving", 1234.5, 0.0125))

    [line] = lines(screen)
    assert line.startswith("12 s: $1,234.50, at most 1.3 % above the best possible; ")
    assert line.endswith("; proving how close to t…")  # where the terminal ends


def test_without_a_proof_the_line_says_so(shown, screen):
    shown.tell(Progress("pricing", 43, inf))

    [line] = lines(screen)
    assert line.startswith("0 s: $43.00, how close to the best possible is not known y")


def test_the_line_is_written_again_once_a_second(shown, screen, clock):
    for tenths in range(25):
        clock["s"] = tenths / 10
        shown.tell(Progress("choosing", 40 - tenths, 0))

    # At 0, 1 and 2 seconds.
    assert [line.split(",")[0] for line in lines(screen)] == [
        "0 s: $40.00",
        "1 s: $30.00",
        "2 s: $20.00",
    ]


def test_the_seconds_go_on_while_nothing_new_is_told(shown, screen, clock):
    shown.tell(Progress("choosing", 40, 0))
    clock["s"] = 3.0

    assert not shown.should_stop()

    assert lines(screen)[-1].startswith("3 s: $40.00")


def test_the_line_is_gone_when_the_search_is_over(screen):
    with SearchProgress(OutputWrapper(screen), "USD") as shown:
        shown.tell(Progress("choosing", 40, 0))

    assert screen.getvalue().endswith(" \r")


def test_a_log_or_a_pipe_is_told_nothing_on_the_way():
    log = io.StringIO()

    with SearchProgress(OutputWrapper(log), "USD") as shown:
        shown.tell(Progress("choosing", 40, 0))
        shown.should_stop()

    assert log.getvalue() == ""


def test_ctrl_c_asks_the_search_to_stop_and_says_so_in_a_log_too():
    log = io.StringIO()

    with SearchProgress(OutputWrapper(log), "USD") as shown:
        signal.raise_signal(signal.SIGINT)
        stops = shown.should_stop()

    assert stops
    assert log.getvalue() == f"{STOPPED}\n"


def test_the_line_says_at_once_that_it_stops(shown, screen):
    shown.tell(Progress("choosing", 40, 0))

    signal.raise_signal(signal.SIGINT)

    assert lines(screen)[-1] == STOPPING


def test_ctrl_c_in_the_middle_of_a_line_shows_with_the_next_one():
    screen = ImpatientTerminal()
    with SearchProgress(OutputWrapper(screen), "USD") as shown:
        shown.tell(Progress("choosing", 40, 0))
        assert str(STOPPING) not in screen.getvalue()

        shown.should_stop()

        assert lines(screen)[-1] == STOPPING


def test_a_second_ctrl_c_ends_the_command():
    with SearchProgress(OutputWrapper(io.StringIO()), "USD"):
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)


def test_after_the_search_ctrl_c_is_what_it_was():
    before = signal.getsignal(signal.SIGINT)

    with SearchProgress(OutputWrapper(io.StringIO()), "USD"):
        assert signal.getsignal(signal.SIGINT) != before

    assert signal.getsignal(signal.SIGINT) == before


def test_a_program_that_is_deaf_to_ctrl_c_stays_so():
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with SearchProgress(OutputWrapper(io.StringIO()), "USD") as shown:
            signal.raise_signal(signal.SIGINT)
            assert not shown.should_stop()
    finally:
        signal.signal(signal.SIGINT, before)


def test_the_plan_as_json_stays_clean_beside_its_progress(kitchen, screen):
    out = io.StringIO()

    call_command("plan", "--json", *QUICK, stdout=out, stderr=screen)

    assert json.loads(out.getvalue())["totals"]["total"] == "28.00"
    # The usual rule's money is there before anything was looked for.
    assert lines(screen)[0].startswith("0 s: $43.00")


def test_a_plan_that_is_not_looked_for_shows_no_progress(kitchen, screen):
    call_command("plan", "--at", QUICK[1], stdout=io.StringIO(), stderr=screen)

    assert screen.getvalue() == ""


def test_a_search_that_ctrl_c_stops_still_gives_a_whole_plan(kitchen):
    out, screen = io.StringIO(), ImpatientTerminal()

    call_command("plan", "--json", *QUICK, stdout=out, stderr=screen)

    plan = json.loads(out.getvalue())
    assert plan["orders"]
    assert float(plan["totals"]["total"]) <= 43
    assert screen.getvalue().endswith(f"{STOPPED}\n")


def test_orders_are_written_after_ctrl_c_too(kitchen, tmp_path):
    screen = ImpatientTerminal()

    call_command(
        "write_orders", "--out", str(tmp_path), *QUICK, stdout=io.StringIO(),
        stderr=screen,
    )  # fmt: skip

    assert list(tmp_path.glob("*.xlsx"))
    assert screen.getvalue().endswith(f"{STOPPED}\n")
