"""Makes a plan: reads the kitchen once, then lets the engine work it out."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cached_property

from planning.engine.decided import waiting_order
from planning.engine.deliveries import PossibleDelivery
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import DecidedLine, Kitchen, Window
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import (
    QUICK,
    THOROUGH,
    USUAL,
    Effort,
    Progress,
)
from planning.engine.ordering.instance.wishes import NO_WISHES, Wishes
from planning.engine.plan import Plan, Purchasing, SuggestedOrder
from planning.engine.plan_warnings import PlanWarning
from planning.engine.scenarios.ways_out import WaysOut
from planning.engine.shelves.supplies import overdue_orders
from planning.engine.shortfalls.after_orders import StillLacking, gravest
from planning.plan.amount_words import AmountWords
from planning.plan.horizon import usual_days
from planning.plan.plan_cache import WorkedOut, worked_out
from planning.plan.snapshot import load_kitchen
from planning.sentences.order_sentences import OrderSentences
from planning.sentences.plan_warnings import warnings_words
from planning.sentences.teller import Teller
from stock.models import Bakery

# How hard to look for better orders, by the words that people choose it with.
EFFORTS = {"quick": QUICK, "usual": USUAL, "thorough": THOROUGH}


@dataclass(frozen=True)
class Planned:
    """A plan, with the kitchen that it speaks of and all that is behind its figures."""

    bakery: Bakery
    kitchen: Kitchen
    work: WorkedOut
    plan: Plan
    words: AmountWords
    usual: Purchasing | None = None  # the usual rule's, where the plan has better ones

    @property
    def explosion(self) -> Explosion:
        """What is made and taken, day by day, and why."""
        return self.work.explosion

    @property
    def deliveries(self) -> tuple[PossibleDelivery, ...]:
        """What can still be ordered."""
        return self.work.deliveries

    @cached_property
    def node_by_id(self) -> dict[int, int]:
        """The index of every node by its item's id."""
        return {item_id: node for node, item_id in enumerate(self.kitchen.nodes.ids)}

    @property
    def warnings(self) -> tuple[str, ...]:
        """A sentence for all that it warns of, but for its orders."""
        return self._said(self.plan.warnings)

    @property
    def demand_warnings(self) -> tuple[str, ...]:
        """A sentence for all that the bake plan warns of."""
        return self._said(self.explosion.warnings)

    @property
    def order_sentences(self) -> OrderSentences:
        """What says the reasons and warnings of its orders."""
        return OrderSentences(self._teller)

    @property
    def order_warnings(self) -> tuple[str, ...]:
        """A sentence for all that its orders warn of."""
        return self.order_sentences.warnings(self.plan.purchasing)

    @property
    def uncounted(self) -> tuple[str, ...]:
        """A sentence for every approved or changed order that cannot come any more."""
        return self._said(self.work.not_counted)

    def _said(self, warnings: Iterable[PlanWarning]) -> tuple[str, ...]:
        return warnings_words(warnings, self._teller)

    @property
    def _teller(self) -> Teller:
        return Teller(self.kitchen, self.words)

    def waiting(self, order: SuggestedOrder) -> DecidedLine | None:
        """Return a line of the order that waits and brings all of a suggested one."""
        return waiting_order(self.kitchen, self.deliveries, order)

    @cached_property
    def still_lacking(self) -> Mapping[int, StillLacking]:
        """What lacks although the plan's orders come: of each node the gravest way."""
        plan = self.plan
        if plan.purchasing is self.work.usual_orders:
            return self.work.lacking_after_usual_orders
        orders = plan.purchasing.orders
        return gravest(self.kitchen, plan.window, plan.demand, self.deliveries, orders)

    @cached_property
    def ways_out(self) -> WaysOut:
        """What can still be done about each of its shortfalls."""
        return WaysOut(
            self.explosion,
            self.plan.window,
            self.deliveries,
            self.plan.purchasing.orders,
        )


def make_plan(
    *,
    bakery: Bakery,
    as_of: datetime,
    from_on: date | None = None,
    days: int | None = None,
    tentative: bool = True,
) -> Planned:
    """Return the plan as seen at a moment; today and the usual horizon by default.

    Reads with five queries, whatever the kitchen's size; two more read the words in
    which amounts are said, once somebody asks for them.
    """
    from_on = from_on or as_of.astimezone(bakery.zone).date()
    window = Window(
        as_of=as_of,
        from_on=from_on,
        days=days or usual_days(bakery, from_on),
        tentative=tentative,
    )
    kitchen = load_kitchen(bakery=bakery, as_of=as_of)
    return plan_kitchen(bakery, kitchen, window, AmountWords(kitchen.nodes))


def plan_kitchen(
    bakery: Bakery, kitchen: Kitchen, window: Window, words: AmountWords
) -> Planned:
    """Return the plan of a kitchen that has been read, or made up. No queries."""
    work = worked_out(kitchen, window)
    explosion = work.explosion
    plan = Plan(
        window=window,
        demand=explosion.demand,
        making=explosion.making,
        projection=work.projection,
        shortfalls=work.shortfalls,
        purchasing=work.usual_orders,
        warnings=(
            *explosion.warnings,
            *overdue_orders(kitchen, window),
            *work.not_counted,
        ),
    )
    return Planned(bakery, kitchen, work, plan, words)


def with_better_orders(
    planned: Planned,
    *,
    effort: Effort = USUAL,
    on_progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    wishes: Wishes = NO_WISHES,
) -> Planned:
    """Return the same plan with the best orders that can be found. No queries.

    Without wishes they are never worse than the usual rule's. Told to stop, it keeps
    the best so far.
    """
    plan = planned.plan
    found = best_orders(
        planned.kitchen,
        plan.window,
        plan.demand,
        planned.deliveries,
        effort=effort,
        on_progress=on_progress,
        should_stop=should_stop,
        wishes=wishes,
        cakes_behind=planned.explosion.cakes_behind,
    )
    return with_orders(planned, found)


def with_orders(planned: Planned, found: Purchasing) -> Planned:
    """Return the same plan with other orders, the usual rule's beside them."""
    return replace(
        planned,
        plan=replace(planned.plan, purchasing=found),
        usual=planned.usual or planned.plan.purchasing,
    )
