"""Can we take it? One more cake, asked of the plan as it stands."""

from dataclasses import dataclass
from datetime import date, datetime

from rapidfuzz import process

from planning.amount_words import AmountWords
from planning.engine.kitchen import Kitchen, NodeKind
from planning.engine.trying.one_more import OneMore, more_of_retired
from planning.engine.trying.promise import Promise, Promiser
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    NoSuchCakeError,
    TakesRetiredError,
)
from planning.outlook import LONGEST_PLAN_DAYS, last_day_ahead
from planning.planner import Planned, make_plan
from stock.entries import folded
from stock.models import Bakery

MOST_NAMES_OFFERED = 3
ALIKE_PERCENT = 60.0  # names less like what was typed are not offered


@dataclass(frozen=True, slots=True)
class Asked:
    """What somebody asks for, as it is said."""

    cake: str
    size: str
    due_on: date
    quantity: float


@dataclass(frozen=True, slots=True)
class Answered:
    """The answer, beside the plan that it was asked of."""

    asked: Asked
    planned: Planned
    promise: Promise

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen without the cake."""
        return self.planned.kitchen

    @property
    def words(self) -> AmountWords:
        """The words its amounts are said in."""
        return self.planned.words


def can_take(
    asked: Asked, *, bakery: Bakery, as_of: datetime, tentative: bool = True
) -> Answered:
    """Return whether a cake can be taken; nothing is stored.

    The plan looks ahead to the usual horizon, or further, to the cake's day. Reads
    what a plan reads.
    """
    from_on = as_of.astimezone(bakery.zone).date()
    if asked.due_on < from_on:
        raise DueInThePastError(asked.due_on)
    days = (asked.due_on - from_on).days + 1
    if days > LONGEST_PLAN_DAYS:
        raise DueTooFarAheadError(asked.due_on, last_day_ahead(from_on))
    planned = make_plan(
        bakery=bakery,
        as_of=as_of,
        days=max(days, bakery.horizon_days),
        tentative=tentative,
    )
    return ask(planned, asked)


def ask(planned: Planned, asked: Asked) -> Answered:
    """Return whether a cake can be taken, by a plan that reaches to its day.

    A cake that takes something retired is an error: how much is there is not known.
    """
    promiser = Promiser(
        planned.explosion,
        planned.plan.window,
        planned.deliveries,
        planned.plan.purchasing.orders,
    )
    cake = cake_node(planned.kitchen, asked.cake)
    one_more = OneMore(cake, asked.size, asked.due_on, asked.quantity)
    promise = promiser.ask(one_more)
    names = planned.kitchen.nodes.names
    if retired := more_of_retired(planned.explosion, promise.change):
        raise TakesRetiredError(names[cake], [names[node] for node in retired])
    return Answered(asked, planned, promise)


def cake_node(kitchen: Kitchen, name: str) -> int:
    """Return the cake of a name, or say which ones are meant perhaps."""
    nodes = kitchen.nodes
    cakes = {
        folded(nodes.names[node]): node
        for node, kind in enumerate(nodes.kind.tolist())
        if kind == NodeKind.CAKE
    }
    if folded(name) in cakes:
        return cakes[folded(name)]
    alike = process.extract(
        folded(name),
        list(cakes),
        limit=MOST_NAMES_OFFERED,
        score_cutoff=ALIKE_PERCENT,
    )
    raise NoSuchCakeError(name, [nodes.names[cakes[key]] for key, _, _ in alike])
