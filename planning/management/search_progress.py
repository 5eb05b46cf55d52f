"""A search for better orders at a terminal: how far it is, and Ctrl-C to stop it.

All of it goes to stderr. A terminal sees one line, written again and again; a log or
a pipe has no use for that and sees nothing on the way.
"""

import shutil
import signal
import threading
import time
from collections.abc import Callable
from decimal import Decimal
from types import FrameType
from typing import Any, Self

from django.core.management.base import OutputWrapper
from django.utils.translation import gettext_lazy

from planning.engine.ordering.column_generation.efforts import Progress
from planning.engine.plan import Proof
from planning.wording.better_words import proof_words, stage_words
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
