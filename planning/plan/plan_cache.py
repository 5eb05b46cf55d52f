"""What the engine works out for a kitchen and its days, kept while nothing changes.

A kitchen is always read anew; its content is the key. So what another process stored,
what was rolled back and a cut-off that has passed are never missed: they make another
key. Kept in each process for itself, the plans that were asked for last.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from functools import cached_property, lru_cache
from typing import Any, TypeVar

import numpy as np

from planning.engine.decided import not_counted
from planning.engine.deliveries import (
    PossibleDelivery,
    possible_deliveries,
    possible_shop_trips,
)
from planning.engine.demand.explosion import Explosion, explode
from planning.engine.fingerprint import exact_fingerprint
from planning.engine.kitchen import Kitchen, Window
from planning.engine.plan import Projection, Purchasing, Shortfall
from planning.engine.plan_warnings import NotCounted
from planning.engine.shelves.projection import project
from planning.engine.shortfalls.after_orders import StillLacking, gravest
from planning.engine.shortfalls.shortfalls import find_shortfalls
from planning.engine.usual_rule.usual_rule import usual_rule

# Of a kitchen of 400 items each takes about 1 MB.
PLANS_KEPT = 8

Columns = TypeVar("Columns")


@dataclass(frozen=True)
class WorkedOut:
    """All that a kitchen and a window say, each part worked out once it is asked for.

    It is shared: its columns cannot be written to.
    """

    kitchen: Kitchen
    window: Window
    deliveries: tuple[PossibleDelivery, ...]
    not_counted: tuple[NotCounted, ...]

    @cached_property
    def explosion(self) -> Explosion:
        """What is made and taken, day by day."""
        explosion = explode(self.kitchen, self.window)
        _read_only(explosion.demand)
        return explosion

    @cached_property
    def projection(self) -> Projection:
        """What stands on each shelf, day by day."""
        demand = self.explosion.demand
        return _read_only(project(self.kitchen, self.window, demand))

    @cached_property
    def shortfalls(self) -> tuple[Shortfall, ...]:
        """What runs short."""
        return find_shortfalls(
            self.kitchen,
            self.window,
            self.projection,
            self.explosion.cakes_behind,
            self.deliveries,
        )

    @cached_property
    def usual_orders(self) -> Purchasing:
        """What the usual rule buys."""
        return usual_rule(
            self.kitchen,
            self.window,
            self.explosion.demand,
            self.deliveries,
            cakes_behind=self.explosion.cakes_behind,
        )

    @cached_property
    def lacking_after_usual_orders(self) -> Mapping[int, StillLacking]:
        """What lacks although they come: of each node the gravest way."""
        return gravest(
            self.kitchen,
            self.window,
            self.explosion.demand,
            self.deliveries,
            self.usual_orders.orders,
        )


@dataclass(frozen=True)
class _Key:
    """What the work depends on; of the moment only what is still in time counts."""

    content: str
    days: tuple[object, ...]
    in_time: tuple[object, ...]
    work: WorkedOut = field(compare=False)


def worked_out(kitchen: Kitchen, window: Window) -> WorkedOut:
    """Return what a kitchen says of its days; kept if it was asked for before.

    Its own window may be of an earlier moment with the same deliveries in time.
    """
    deliveries = possible_deliveries(kitchen, window)
    missed = not_counted(kitchen, window, deliveries)
    key = _Key(
        exact_fingerprint(kitchen),
        (window.from_on, window.days, window.tentative),
        (deliveries, possible_shop_trips(kitchen, window), missed),
        WorkedOut(kitchen, window, deliveries, missed),
    )
    return _kept(key)


@lru_cache(PLANS_KEPT)
def _kept(key: _Key) -> WorkedOut:
    return key.work


def _read_only(columns: Columns) -> Columns:
    named: Any = columns
    for each in fields(named):
        column = getattr(columns, each.name)
        if isinstance(column, np.ndarray):
            column.setflags(write=False)
    return columns
