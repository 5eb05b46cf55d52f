"""The arguments of every command that makes a plan, read in one place.

A search for better orders at a terminal: how far it is, and Ctrl-C to stop it.

All of it goes to stderr. A terminal sees one line, written again and again; a log or
a pipe has no use for that and sees nothing on the way.
"""

import shutil
import signal
import threading
import time
from argparse import ArgumentParser
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, tzinfo
from decimal import Decimal
from math import inf
from types import FrameType
from typing import Any, Self

from django.core.management.base import OutputWrapper
from django.db.models import Min
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.ordering.column_generation.efforts import Effort, Progress
from planning.engine.plan import Proof
from planning.engine.plan_warnings import StockUnknownBefore
from planning.errors import PlanningError
from planning.plan.horizon import LONGEST_PLAN_DAYS
from planning.plan.planner import EFFORTS, Planned, make_plan, with_better_orders
from planning.search.searching import as_chosen
from planning.wording.better_words import proof_words, stage_words
from stock.entry.calendar_cells import Day
from stock.models import Bakery, Movement
from stock.wording.money_words import money_words

SECONDS_BETWEEN_LINES = 1.0
HINT = gettext_lazy("Looking for best orders. Ctrl-C stops, and keeps the best so far.")
STOPPING = gettext_lazy(
    "Stopping; the best so far comes in a moment. Ctrl-C again ends it at once."
)
STOPPED = gettext_lazy(
    "The search was stopped; these are the best orders found by then."
)


class SearchProgress:
    """Shows how far a search has come, and stops it at Ctrl-C; at a second one, all.

    A context manager around the search, which takes `tell` and `should_stop`.
    """

    def __init__(
        self,
        err: OutputWrapper,
        currency: str,
        *,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._err, self._currency, self._clock = err, currency, clock
        self._is_terminal = err.isatty()
        self._started_s = clock()
        self._shown_s: float | None = None
        self._latest: Progress | None = None
        self._is_stopped = False
        self._is_writing = False
        self._before: Any = None  # what Ctrl-C did

    def __enter__(self) -> Self:
        if self._is_terminal:
            self._write(f"{HINT}\n")
        # Only the main thread may say what a signal does; and who started the command
        # deaf to Ctrl-C, as a shell does in the background, wants it deaf.
        is_main = threading.current_thread() is threading.main_thread()
        if is_main and signal.getsignal(signal.SIGINT) is not signal.SIG_IGN:
            self._before = signal.signal(signal.SIGINT, self._stop)
        return self

    def __exit__(self, *raised: object) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, self._before)
        if self._is_terminal:
            self._write(f"\r{' ' * _width()}\r")
        if self._is_stopped and raised[0] is None:
            self._write(f"{STOPPED}\n")

    def tell(self, progress: Progress) -> None:
        """Show how far the search has come, unless that was shown just now."""
        self._latest = progress
        self._show()

    def should_stop(self) -> bool:
        """Return whether Ctrl-C was pressed; the seconds on the line go on."""
        self._show()
        return self._is_stopped

    def _stop(self, number: int, frame: FrameType | None) -> None:
        if self._is_stopped:
            signal.default_int_handler(number, frame)
        self._is_stopped = True
        self._shown_s = None  # the next line is due now
        if not self._is_writing:
            self._show()

    def _show(self) -> None:
        if not self._is_terminal or self._latest is None:
            return
        moment_s = self._clock()
        last_s = self._shown_s
        if last_s is not None and moment_s - last_s < SECONDS_BETWEEN_LINES:
            return
        self._shown_s = moment_s
        line = self._line(self._latest, int(moment_s - self._started_s))
        if len(line) > _width():
            line = f"{line[: _width() - 1]}…"
        self._write(f"\r{line:<{_width()}}")

    def _line(self, progress: Progress, seconds: int) -> str:
        if self._is_stopped:
            return str(STOPPING)
        money = money_words(Decimal(progress.paid), self._currency)
        proof = proof_words(Proof("", progress.gap))
        return f"{seconds} s: {money}, {proof}; {stage_words(progress.stage)}"

    def _write(self, text: str) -> None:
        self._is_writing = True
        self._err.write(text, lambda plain: plain, ending="")
        self._err.flush()
        self._is_writing = False


def _width() -> int:
    """Return what fits on a line of the terminal without wrapping."""
    return max(shutil.get_terminal_size().columns - 1, 1)


INCLUDE, LEAVE_OUT = "include", "leave-out"
LONGEST_NUMBER = 20  # letters; a number of days is shorter
NO_EFFORT = "none"  # the usual rule's orders, even where found ones are gone by


class PlanArgumentError(PlanningError):
    """A moment or a number of days that no plan can be made for."""


def add_plan_arguments(parser: ArgumentParser) -> None:
    """Add --from, --days, --at, --tentative and --effort."""
    parser.add_argument(
        "--from", dest="from_on", metavar="DATE", help=_("first day, like 2026-05-04")
    )
    parser.add_argument(
        "--days",
        metavar="N",
        help=_(
            "how many days to plan; default: the kitchen's own, and on to the next "
            "par day"
        ),
    )
    parser.add_argument(
        "--at",
        metavar="MOMENT",
        help=_("plan as seen at this moment, like 2026-05-04T15:10; default: now"),
    )
    parser.add_argument(
        "--tentative",
        choices=[INCLUDE, LEAVE_OUT],
        default=INCLUDE,
        help=_("whether tentative cakes are planned for"),
    )
    seconds = ", ".join(
        _("{name} up to {seconds:g} s").format(name=name, seconds=effort.seconds)
        for name, effort in EFFORTS.items()
    )
    parser.add_argument(
        "--effort",
        choices=[NO_EFFORT, *EFFORTS],
        help=_(
            "how long to look for best orders: {seconds}; or {no_effort}, the "
            "usual rule; default: as the Orders page has them, the usual "
            "rule's unless best orders were drafted there"
        ).format(seconds=seconds, no_effort=NO_EFFORT),
    )


def plan_from_arguments(options: Mapping[str, Any], err: OutputWrapper) -> Planned:
    """Return the plan that the arguments ask for, or say which one is wrong.

    A search for better orders says on `err` how far it is.
    """
    bakery = Bakery.current()
    as_of = read_moment(options["at"], bakery.zone)
    planned = make_plan(
        bakery=bakery,
        as_of=as_of,
        from_on=Day().parse(options["from_on"]) if options["from_on"] else None,
        days=_days(options["days"]),
        tentative=options["tentative"] == INCLUDE,
    )
    first_at = Movement.objects.aggregate(first_at=Min("at"))["first_at"]
    if first_at is not None and as_of < first_at:
        warnings = (
            *planned.plan.warnings,
            StockUnknownBefore(first_at.astimezone(bakery.zone)),
        )
        planned = replace(planned, plan=replace(planned.plan, warnings=warnings))
    if options["effort"] is None:
        return as_chosen(planned)
    if options["effort"] == NO_EFFORT:
        return planned
    return _looked_for(planned, EFFORTS[options["effort"]], err)


def _looked_for(planned: Planned, effort: Effort, err: OutputWrapper) -> Planned:
    usual_cost = float(planned.plan.purchasing.total_cost)
    with SearchProgress(err, planned.bakery.currency) as progress:
        progress.tell(Progress(_("usual rule"), usual_cost, inf))
        return with_better_orders(
            planned,
            effort=effort,
            on_progress=progress.tell,
            should_stop=progress.should_stop,
        )


def read_moment(text: str | None, zone: tzinfo) -> datetime:
    """Return the moment that --at names, local if it has no offset; without it now."""
    if text is None:
        return timezone.now()
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise PlanArgumentError(
            _("--at {text!r} isn't a moment. Write it like 2026-05-04T15:10.").format(
                text=text
            )
        ) from error
    Day().parse(moment.date())  # near the end of time no day can be added to it
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _days(text: str | None) -> int | None:
    if text is None:
        return None
    is_short = text.strip().isdecimal() and len(text) <= LONGEST_NUMBER
    days = int(text) if is_short else 0
    if not 1 <= days <= LONGEST_PLAN_DAYS:
        raise PlanArgumentError(
            _(
                "--days must be a whole number from 1 to {longest_plan_days}, not "
                "{text}."
            ).format(longest_plan_days=LONGEST_PLAN_DAYS, text=text)
        )
    return days
