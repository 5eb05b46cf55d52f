"""The worker of a search: looks for better orders and says on the way how it stands."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from math import isfinite
from typing import Any

from planning.engine.order_comparison import bought
from planning.engine.ordering.efforts import Progress
from planning.engine.ordering.wishes import Wishes
from planning.errors import PlanningError
from planning.found_orders import found_as_json
from planning.models import OrderSearch
from planning.planner import EFFORTS, Planned, make_plan, with_better_orders
from planning.searching import fingerprint_of
from stock.errors import StockError
from stock.models import Bakery
from stock.money_words import CENT

State = OrderSearch.State

SECONDS_BETWEEN_SIGNS = 1.0
UNEXPECTED = "Something went wrong that nobody foresaw, and nothing was found."


def look_for_orders(search_id: int, *, now: Callable[[], datetime]) -> None:
    """Look for the orders that a search asks for, and keep them in its row.

    What goes wrong is kept there too: somebody waits at the other end.
    """
    search = OrderSearch.objects.get(pk=search_id, state=State.RUNNING)
    watch = _Watch(search_id, now)
    try:
        outcome = _found(search, watch)
    except (PlanningError, StockError) as error:
        watch.write(state=State.FAILED, problem=str(error))
    except Exception:
        watch.write(state=State.FAILED, problem=UNEXPECTED)
        raise
    else:
        state = State.STOPPED if watch.is_stopped else State.DONE
        watch.write(state=state, **outcome)


def _found(search: OrderSearch, watch: "_Watch") -> dict[str, Any]:
    bakery = Bakery.objects.first() or Bakery()
    planned = make_plan(bakery=bakery, as_of=search.started_at)
    better = with_better_orders(
        planned,
        effort=EFFORTS[search.effort],
        on_progress=watch.tell,
        should_stop=watch.should_stop,
        wishes=_wishes(search, planned),
    )
    found = better.plan.purchasing
    outcome = {**found_as_json(planned.kitchen, found), **_left(better)}
    gap = found.proof.gap
    return {
        "fingerprint": fingerprint_of(planned),
        "outcome": outcome,
        "paid": found.total_cost,
        "gap": gap if isfinite(gap) else None,
    }


def _wishes(search: OrderSearch, planned: Planned) -> Wishes:
    ids = [supplier.supplier_id for supplier in planned.kitchen.suppliers]

    def places(chosen: list[int]) -> frozenset[int]:
        return frozenset(place for place, key in enumerate(ids) if key in chosen)

    return Wishes(
        forbidden_suppliers=places(search.left_out),
        preferred_suppliers=places(search.preferred),
    )


def _left(better: Planned) -> dict[str, str]:
    """Return what is left over either way, at what it is worth."""
    plan = better.plan
    found, usual = bought(
        better.kitchen,
        plan.window,
        plan.demand,
        better.deliveries,
        [plan.purchasing, better.usual or plan.purchasing],
    )
    return {"left": str(found.left_worth), "usual_left": str(usual.left_worth)}


@dataclass(slots=True)
class _Watch:
    """What passes between a search at work and those who look at its row."""

    search_id: int
    now: Callable[[], datetime]
    is_stopped: bool = False
    _last_sign: float | None = None  # on the clock of time.monotonic

    def should_stop(self) -> bool:
        """Give a sign of life now and then; return whether anybody wants it to stop.

        A row that is gone, or no longer running, wants nothing more either.
        """
        moment = time.monotonic()
        is_due = (
            self._last_sign is None or moment - self._last_sign >= SECONDS_BETWEEN_SIGNS
        )
        if is_due and not self.is_stopped:
            self._last_sign = moment
            waiting = self._rows().filter(stop_asked=False)
            self.is_stopped = not waiting.update(heartbeat_at=self.now())
        return self.is_stopped

    def tell(self, progress: Progress) -> None:
        """Keep how far the search has come."""
        self.write(
            stage=progress.stage,
            paid=Decimal(progress.paid).quantize(CENT),
            gap=progress.gap if isfinite(progress.gap) else None,
        )

    def write(self, **values: Any) -> None:
        """Change the row, if it still waits for this worker."""
        self._rows().update(heartbeat_at=self.now(), **values)

    def _rows(self) -> Any:
        return OrderSearch.objects.filter(pk=self.search_id, state=State.RUNNING)
