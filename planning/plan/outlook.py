"""What a change of the bake plan does: the shelf ahead as seen before and after it.

A lighter look than a whole plan: no orders are worked out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from planning.engine.deliveries import PossibleDelivery
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import Kitchen, Window
from planning.engine.par_days import par_targets
from planning.engine.plan import Projection, Remedy, Shortfall, ShortfallKind
from planning.engine.scenarios.ways_out import WaysOut
from planning.engine.shortfalls.after_orders import StillLacking
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from planning.engine.shortfalls.shortfalls import Remedies
from planning.plan.amount_words import AmountWords
from planning.plan.horizon import LONGEST_PLAN_DAYS, usual_days
from planning.plan.plan_cache import worked_out
from planning.plan.snapshot import load_kitchen
from stock.models import Bakery

# Smaller differences are noise of the sums, in base units.
SMALLEST_LACK_BASE = 0.001


@dataclass(frozen=True)
class Outlook:
    """The days ahead, with what is made and what runs short on them."""

    kitchen: Kitchen
    window: Window
    explosion: Explosion
    shortfalls: tuple[Shortfall, ...]
    words: AmountWords
    projection: Projection | None = None
    deliveries: tuple[PossibleDelivery, ...] = ()

    @property
    def still_lacking(self) -> Mapping[int, StillLacking]:
        """Nothing is known of what orders leave: none are worked out."""
        return {}

    @cached_property
    def ways_out(self) -> WaysOut:
        """What can still be done about each of its shortfalls."""
        return WaysOut(self.explosion, self.window, self.deliveries)


@dataclass(frozen=True, slots=True)
class NewLack:
    """Something that a change makes short, or shorter than it was."""

    row: Shortfall
    more_base: float
    was_short: bool
    more_on: date  # the first day on which more of it is lacking, where that is known
    remedy: Remedy | None  # for that day: what was short before may be past saving


def look_ahead(
    *, bakery: Bakery, as_of: datetime, until: date | None = None
) -> Outlook:
    """Return the days from today to the usual horizon, or further, to a date.

    Five queries, and two more where amounts are said.
    """
    window = _window(bakery, as_of, until)
    kitchen = load_kitchen(bakery=bakery, as_of=as_of)
    return look_at(kitchen, window, AmountWords(kitchen.nodes))


def look_at(kitchen: Kitchen, window: Window, words: AmountWords) -> Outlook:
    """Return the days ahead of a kitchen that has been read, or made up. No queries."""
    work = worked_out(kitchen, window)
    return Outlook(
        kitchen,
        window,
        work.explosion,
        work.shortfalls,
        words,
        work.projection,
        work.deliveries,
    )


def new_lacks(before: Outlook, after: Outlook) -> list[NewLack]:
    """Return what runs out, or falls below safety, that did not do so as much before.

    What runs out comes first. Both must speak of the same items.
    """
    known = {row.node: row for row in before.shortfalls}
    found = [
        lack
        for row in after.shortfalls
        if row.kind is not ShortfallKind.BELOW_PAR
        and (lack := _compared(row, known.get(row.node))) is not None
    ]
    found = [_from_its_day(lack, before, after) for lack in found]
    return sorted(found, key=lambda lack: lack.row.kind is not ShortfallKind.OUT)


def newly_late(before: Outlook, after: Outlook) -> list[str]:
    """Return the names of what should have been made by now, and was not before."""
    known = set(_late_nodes(before))
    late = [node for node in _late_nodes(after) if node not in known]
    return [after.kitchen.nodes.names[node] for node in late]


def _window(bakery: Bakery, as_of: datetime, until: date | None) -> Window:
    from_on = as_of.astimezone(bakery.zone).date()
    days = usual_days(bakery, from_on)
    if until is not None:
        days = max(days, (until - from_on).days + 1)
    return Window(as_of=as_of, from_on=from_on, days=min(days, LONGEST_PLAN_DAYS))


def last_day_ahead(today: date) -> date:
    """Return the last day that can be looked at from today."""
    return today + timedelta(days=LONGEST_PLAN_DAYS - 1)


def _compared(row: Shortfall, known: Shortfall | None) -> NewLack | None:
    if known is None or known.kind is ShortfallKind.BELOW_PAR:
        return _new_lack(row, row.short_base, was_short=False)
    if known.kind is not row.kind:  # it fell below safety, and now it runs out
        is_graver = row.kind is ShortfallKind.OUT
        return _new_lack(row, row.short_base, was_short=False) if is_graver else None
    more_base = row.short_base - known.short_base
    if more_base <= SMALLEST_LACK_BASE or row.kind is not ShortfallKind.OUT:
        return None
    return _new_lack(row, more_base, was_short=True)


def _new_lack(row: Shortfall, more_base: float, *, was_short: bool) -> NewLack:
    return NewLack(row, more_base, was_short, row.first_on, row.remedy)


def _from_its_day(lack: NewLack, before: Outlook, after: Outlook) -> NewLack:
    """Return a lack that grows, from the day on which it does."""
    if not lack.was_short or before.projection is None or after.projection is None:
        return lack
    node = lack.row.node
    row = after.projection.nodes.index(node)
    was = before.projection.outstanding_base[before.projection.nodes.index(node)]
    now = after.projection.outstanding_base[row]
    days = (now - was[: len(now)] > SMALLEST_LACK_BASE).nonzero()[0]
    if not days.size:
        return lack
    more_on = after.projection.days[int(days[0])]
    remedies = Remedies(
        after.kitchen,
        after.window,
        after.projection,
        par_targets(after.kitchen, after.window, after.deliveries),
        Market(after.kitchen, after.deliveries),
    )
    remedy = remedies.of(DatedShortfall(node, ShortfallKind.OUT, more_on), row)
    return replace(lack, more_on=more_on, remedy=remedy)


def _late_nodes(outlook: Outlook) -> Iterator[int]:
    return (made.node for made in outlook.explosion.making if made.is_late)
