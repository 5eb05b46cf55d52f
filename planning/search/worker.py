"""The worker of a search: looks for better orders and says on the way how it stands."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from math import isfinite
from typing import Any

from django.db import DatabaseError, connection
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.ordering.column_generation.efforts import Progress
from planning.engine.ordering.explain.found_warnings import LeftShortWarning
from planning.engine.ordering.explain.order_comparison import left_worths
from planning.engine.ordering.explain.wish_warnings import wish_warnings
from planning.engine.ordering.instance.wishes import Wishes
from planning.engine.plan import Purchasing
from planning.engine.reasons import OrderWarning
from planning.errors import PlanningError
from planning.models import OrderSearch
from planning.plan.planner import EFFORTS, Planned, make_plan, with_better_orders
from planning.search.found_orders import found_as_json
from planning.search.searching import fingerprint_of
from stock.errors import StockError
from stock.models import Bakery
from stock.wording.money_words import CENT

State = OrderSearch.State

UNEXPECTED = gettext_lazy(
    "Something went wrong that nobody foresaw, and nothing was found."
)


def look_for_orders(
    search_id: int, *, now: Callable[[], datetime], sign_every_s: float | None = None
) -> None:
    """Look for the orders that a search asks for, and keep them in its row.

    What goes wrong is kept there too: somebody waits at the other end. With
    `sign_every_s` the row is looked at so often, from a thread of its own; without,
    only as the search gets on.
    """
    search = OrderSearch.objects.get(pk=search_id, state=State.RUNNING)
    watch = _Watch(search_id, now, is_stop_asked=search.stop_asked)
    with _looking_often(watch, sign_every_s):
        try:
            outcome = _found(search, watch)
        except (PlanningError, StockError) as error:
            watch.write(state=State.FAILED, problem=str(error))
        except Exception:
            watch.write(state=State.FAILED, problem=UNEXPECTED)
            raise
        else:
            state = State.STOPPED if watch.has_stopped else State.DONE
            watch.write(state=state, **outcome)


def _found(search: OrderSearch, watch: "_Watch") -> dict[str, Any]:
    watch.write(stage="reading")
    bakery = Bakery.current()
    planned = make_plan(bakery=bakery, as_of=search.started_at)
    planned.words.read()  # the items may be others by the time the reasons are said
    wishes = search.kept_wishes.in_kitchen(planned.kitchen)
    if wishes.has_any:  # the usual rule knows nothing of them
        watch.write(stage=_("first orders"))
    else:
        usual_cost = planned.plan.purchasing.total_cost
        watch.write(stage=_("usual rule"), paid=usual_cost)
    better = with_better_orders(
        planned,
        effort=EFFORTS[search.effort],
        on_progress=watch.tell,
        should_stop=watch.heed_stop,
        wishes=wishes,
    )
    found = better.plan.purchasing
    if wishes.has_any:
        found = replace(found, warnings=_warnings(better, wishes))
    outcome = {
        **found_as_json(planned.kitchen, planned.order_sentences.as_said(found)),
        "left_short": _leaves_short(found),
        **_left(better),
    }
    gap = found.proof.gap
    return {
        "fingerprint": fingerprint_of(planned),
        "outcome": outcome,
        "paid": found.total_cost,
        "gap": gap if isfinite(gap) else None,
    }


def _leaves_short(found: Purchasing) -> bool:
    """Whether wishes leave short what some other order would have saved."""
    return any(isinstance(each, LeftShortWarning) for each in found.warnings)


def _warnings(better: Planned, wishes: Wishes) -> tuple[OrderWarning, ...]:
    """Return what orders around wishes leave short, and why."""
    plan = better.plan
    return wish_warnings(
        better.kitchen,
        plan.window,
        plan.demand,
        better.deliveries,
        plan.purchasing,
        wishes,
    )


def _left(better: Planned) -> dict[str, str]:
    """Return what is left over either way, at what it is worth."""
    plan = better.plan
    found_worth, usual_worth = left_worths(
        better.kitchen,
        plan.window,
        plan.demand,
        better.deliveries,
        [plan.purchasing, better.usual or plan.purchasing],
    )
    return {"left": str(found_worth), "usual_left": str(usual_worth)}


@dataclass(slots=True)
class _Watch:
    """What passes between a search at work and those who look at its row."""

    search_id: int
    now: Callable[[], datetime]
    is_stop_asked: bool = False
    has_stopped: bool = False

    def heed_stop(self) -> bool:
        """Note that the search hears what was asked; return whether it has to stop.

        Reads no row, so that it may be asked from within a solver, as often as it
        likes.
        """
        self.has_stopped = self.is_stop_asked
        return self.is_stop_asked

    def look(self) -> None:
        """Give a sign of life, and see whether anybody wants the search to stop.

        A row that is gone, or no longer running, wants nothing more either.
        """
        self.write()
        self.is_stop_asked = not self._rows().filter(stop_asked=False).exists()

    def tell(self, progress: Progress) -> None:
        """Keep how far the search has come."""
        self.write(
            stage=progress.stage,
            paid=Decimal(progress.paid).quantize(CENT),
            gap=progress.gap if isfinite(progress.gap) else None,
        )

    def write(self, **values: Any) -> None:
        """Change the row, if it still waits for this worker; a sign of life too."""
        self._rows().update(heartbeat_at=self.now(), **values)

    def _rows(self) -> Any:
        return OrderSearch.objects.filter(pk=self.search_id, state=State.RUNNING)


@contextmanager
def _looking_often(watch: _Watch, every_s: float | None) -> Iterator[None]:
    """Let a thread look at the row now and then, whatever the search is doing.

    A solver may take half a minute for one question, and leaves Python alone for it.
    """
    if every_s is None:
        yield
        return
    is_over = threading.Event()

    def look() -> None:
        while not is_over.wait(every_s):
            with suppress(DatabaseError):  # somebody else writes: the next one counts
                watch.look()
        connection.close()

    thread = threading.Thread(target=look, name="signs of life")
    thread.start()
    try:
        yield
    finally:
        is_over.set()
        thread.join()
