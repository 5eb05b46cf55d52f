"""Can we take it? One more cake, asked of the plan as it stands."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256

from planning.engine.decided import coming_lines, decided_orders
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import DeliveryKey, Kitchen, NodeKind
from planning.engine.scenarios.one_more import OneMore, more_of_retired
from planning.engine.scenarios.promise import Promise, Promiser
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    NoCakeNamedError,
    NoSuchCakeError,
    TakesRetiredError,
)
from planning.models import Order
from planning.plan.amount_words import AmountWords
from planning.plan.horizon import LONGEST_PLAN_DAYS
from planning.plan.outlook import last_day_ahead
from planning.plan.plan_cache import worked_out
from planning.plan.planner import Planned
from stock.entry.entries import folded
from stock.wording.names import offered

MOST_NAMES_OFFERED = 3
MARK_LETTERS = 16


@dataclass(frozen=True, slots=True)
class AskedCake:
    """What somebody asks for, as it is said."""

    cake: str
    size: str
    due_on: date
    quantity: float


@dataclass(frozen=True, slots=True)
class WaitingOrder:
    """An order that is stored, but not sent yet."""

    reference: str
    state: str  # "draft" or "approved"
    packs: Mapping[int, int]  # by the pack's id


@dataclass(frozen=True, slots=True)
class CakeAnswer:
    """The answer, beside the plan that it was asked of."""

    asked: AskedCake
    planned: Planned  # up to the cake's day, with the orders that people go by
    promise: Promise
    planned_to: date  # the last day that these orders look ahead to
    waiting: Mapping[DeliveryKey, WaitingOrder]

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen without the cake."""
        return self.planned.kitchen

    @property
    def words(self) -> AmountWords:
        """The words its amounts are said in."""
        return self.planned.words

    @property
    def is_beyond(self) -> bool:
        """Whether the cake is for a day that nobody has planned orders for yet."""
        return self.asked.due_on > self.planned_to

    @property
    def mark(self) -> str:
        """What the answer depends on, for a page to send back: another, another mark.

        That is yes or no and why, what has to be ordered up to when, and which other
        cakes it hurts.
        """
        promise, kitchen = self.promise, self.kitchen
        said = [
            promise.answer,
            *(
                f"{kitchen.nodes.names[block.node]} {block.on} {block.cause}"
                for block in promise.blocks
            ),
            *(
                f"{kitchen.suppliers[order.delivery.supplier].name} "
                f"{order.delivery.deliver_on} {order.delivery.order_by} "
                f"{line.pack.pack_id} {line.packs} {line.more_packs}"
                for order in promise.orders
                for line in order.lines
            ),
            *sorted(promise.all_hurt_cakes),
        ]
        return sha256("\n".join(said).encode()).hexdigest()[:MARK_LETTERS]

    def waiting_for(self, delivery: PossibleDelivery) -> WaitingOrder | None:
        """Return the order that waits for a delivery."""
        return self.waiting.get(delivery.key)


def can_take(planned: Planned, asked: AskedCake) -> CakeAnswer:
    """Return whether a cake can be taken, by a plan with the orders people go by.

    A day after the plan's last is looked at too, but nothing more is taken as
    suggested than the plan suggests. A cake that takes something retired is an error:
    how much is there is not known. Two queries, for the orders that wait.
    """
    cake = cake_node(planned.kitchen, asked.cake)
    longer = _up_to(planned, asked.due_on)
    planned_to = planned.plan.window.to_on
    promiser = Promiser(
        longer.explosion,
        longer.plan.window,
        longer.deliveries,
        longer.plan.purchasing.orders,
        planned_to,
    )
    one_more = OneMore(cake, asked.size, asked.due_on, asked.quantity)
    promise = promiser.ask(one_more)
    names = planned.kitchen.nodes.names
    if retired := more_of_retired(longer.explosion, promise.effect):
        raise TakesRetiredError(names[cake], [names[node] for node in retired])
    return CakeAnswer(asked, longer, promise, planned_to, _waiting(planned))


def _up_to(planned: Planned, due_on: date) -> Planned:
    """Return the plan, with more days if a cake's day is after its last one.

    The orders stay those of the shorter plan, and what was decided on for later days.
    """
    window, kitchen = planned.plan.window, planned.kitchen
    days = (due_on - window.from_on).days + 1
    if days <= 0:
        raise DueInThePastError(due_on)
    if days > LONGEST_PLAN_DAYS:
        raise DueTooFarAheadError(due_on, last_day_ahead(window.from_on))
    if days <= window.days:
        return planned
    longer = replace(window, days=days)
    work = worked_out(kitchen, longer)
    later = (each for each in work.deliveries if each.deliver_on > window.to_on)
    orders = decided_orders(kitchen, coming_lines(kitchen, later))
    bought = planned.plan.purchasing
    plan = replace(
        planned.plan,
        purchasing=replace(bought, orders=(*bought.orders, *orders)),
        window=longer,
        demand=work.explosion.demand,
        making=work.explosion.making,
        projection=work.projection,
    )
    return replace(planned, work=work, plan=plan)


def _waiting(planned: Planned) -> dict[DeliveryKey, WaitingOrder]:
    """Return the orders that were not sent yet, by delivery. Two queries.

    Of two for one delivery, the one that a person touched.
    """
    place_of = {
        terms.supplier_id: place
        for place, terms in enumerate(planned.kitchen.suppliers)
    }
    orders = Order.objects.filter(state__in=Order.UNSENT_STATES)
    latest_first = orders.order_by("changed_by_hand", "-state").prefetch_related(
        "lines"
    )
    return {
        DeliveryKey(place_of[order.supplier_id], order.deliver_on): WaitingOrder(
            order.reference,
            order.get_state_display().lower(),
            {line.pack_id: line.packs for line in order.lines.all()},
        )
        for order in latest_first
        if order.supplier_id in place_of
    }


def cake_node(kitchen: Kitchen, name: str) -> int:
    """Return the cake of a name, or say which ones are meant perhaps."""
    if not name.strip():
        raise NoCakeNamedError
    nodes = kitchen.nodes
    cakes = {
        folded(nodes.names[node]): node
        for node, kind in enumerate(nodes.kind.tolist())
        if kind == NodeKind.CAKE
    }
    if folded(name) in cakes:
        return cakes[folded(name)]
    known = [nodes.names[node] for node in cakes.values()]
    raise NoSuchCakeError(name, offered(name, known, most=MOST_NAMES_OFFERED))
