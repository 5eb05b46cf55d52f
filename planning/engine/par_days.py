"""On which days of a plan an item's par is asked for, and what is to stand there.

Par stands at the close of the bakery's par weekdays, from the first day on which the
item's usual supplier can still deliver, and at the close of the plan's last day. What
open orders bring later counts as if it were there.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from planning.engine.costing import pack_preference
from planning.engine.decided import decided_after_base
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    BoolColumn,
    Kitchen,
    NodeKind,
    PackTerms,
    Window,
)
from planning.engine.shelves.supplies import due_after_base

FloatMatrix = npt.NDArray[np.float64]
BoolMatrix = npt.NDArray[np.bool_]

# Par is kept from this share of it on: three ounces under par force no order.
KEPT_FRACTION = 0.9
# What keeps for less than a week cannot stand over from one par weekday to the next,
# so a plan that ends on another day does not ask for it at its end.
WEEK_DAYS = 7


def days_to_par_weekday(from_on: date, days: int, par_weekdays: Collection[int]) -> int:
    """Return so many days, and on to the next par weekday where they end on none.

    >>> days_to_par_weekday(date(2026, 11, 28), 14, {6}), date(2026, 12, 13).weekday()
    (16, 6)
    """
    last = from_on.weekday() + days - 1
    more = [
        ahead
        for ahead in range(WEEK_DAYS)
        if (last + ahead) % WEEK_DAYS in par_weekdays
    ]
    return days + min(more, default=0)


@dataclass(frozen=True, slots=True)
class ParTargets:
    """What is to stand there on par days: a row a node, a column a day of the window.

    Open orders that are due after the day are taken off. On other days the figures are
    minus infinity: nothing is asked for.
    """

    full_base: FloatMatrix  # all of par
    least_base: FloatMatrix  # from which on par counts as kept


def par_targets(
    kitchen: Kitchen, window: Window, deliveries: Sequence[PossibleDelivery]
) -> ParTargets:
    """Return what is to stand on the shelf on the par days of every node."""
    later_base = due_after_base(kitchen, window)
    return _targets(kitchen, window, deliveries, later_base)


def par_targets_of_orders(
    kitchen: Kitchen, window: Window, deliveries: Sequence[PossibleDelivery]
) -> ParTargets:
    """Return the same for orders that are still to be found.

    What was decided on and comes later counts as what open orders bring later: it is
    not to be bought once more for the par days before.
    """
    later_base = due_after_base(kitchen, window)
    if kitchen.decided:
        later_base = later_base + decided_after_base(kitchen, window, deliveries)
    return _targets(kitchen, window, deliveries, later_base)


def _targets(
    kitchen: Kitchen,
    window: Window,
    deliveries: Sequence[PossibleDelivery],
    later_base: FloatMatrix,
) -> ParTargets:
    asked = par_days(kitchen, window, deliveries)
    par_base = kitchen.nodes.par_base[:, None]
    return ParTargets(
        np.where(asked, par_base - later_base, -np.inf),
        np.where(asked, KEPT_FRACTION * par_base - later_base, -np.inf),
    )


def par_days(
    kitchen: Kitchen, window: Window, deliveries: Sequence[PossibleDelivery]
) -> BoolMatrix:
    """Return whether par is asked for: a row a node, a column a day of the window.

    `deliveries` are all that can still be ordered. What is not bought, retired items
    and items without par have no par day. An item with a shelf life has none on a day
    on which no delivery would be in date; where nothing can be delivered at all, its
    par is still asked for on the last day.

    While the usual supplier can bring nothing, par is asked for on the last day alone,
    though others deliver before: so the definition has it. What keeps for less than a
    week then has no par day in a plan that ends between two par weekdays, and none at
    all where no delivery is in date on one.
    """
    nodes, bakery = kitchen.nodes, kitchen.bakery
    asked = np.zeros((len(nodes.ids), window.days), dtype=np.bool_)
    is_bought = (nodes.kind == NodeKind.BOUGHT) & ~nodes.retired
    with_par = np.flatnonzero(is_bought & (nodes.par_base > 0.0)).tolist()
    first = window.from_on.weekday()
    is_par_weekday = np.array(
        [(first + day) % WEEK_DAYS in bakery.par_weekdays for day in range(window.days)]
    )
    arrivals = _arrivals(window, deliveries)
    packs = _packs_by_node(kitchen, set(with_par))
    for node in with_par:
        keeps_days = int(nodes.keeps_days[node])
        mine = packs.get(node, ())
        usual = _usual_supplier(kitchen, mine)
        if usual is not None and usual in arrivals:
            day = int(np.argmax(arrivals[usual]))
            asked[node, day:] = is_par_weekday[day:]
        if keeps_days == NO_LIMIT_DAYS or keeps_days >= WEEK_DAYS or is_par_weekday[-1]:
            asked[node, -1] = True
        if keeps_days != NO_LIMIT_DAYS:
            coming = [arrivals[s] for s in {p.supplier for p in mine} if s in arrivals]
            if coming:
                asked[node] &= _in_date(np.any(coming, axis=0), keeps_days)
    return asked


def _arrivals(
    window: Window, deliveries: Sequence[PossibleDelivery]
) -> Mapping[int, BoolColumn]:
    """Return on which days of the window each supplier can still deliver."""
    found: dict[int, BoolColumn] = defaultdict(
        lambda: np.zeros(window.days, dtype=np.bool_)
    )
    for delivery in deliveries:
        day = (delivery.deliver_on - window.from_on).days
        found[delivery.supplier][day] = True
    return dict(found)


def _packs_by_node(
    kitchen: Kitchen, nodes: set[int]
) -> Mapping[int, Sequence[PackTerms]]:
    found: dict[int, list[PackTerms]] = defaultdict(list)
    for pack in kitchen.packs:
        if pack.node in nodes:
            found[pack.node].append(pack)
    return found


def _usual_supplier(kitchen: Kitchen, packs: Sequence[PackTerms]) -> int | None:
    """Return who sells the pack that is liked best; None where nobody sells any."""
    if len({pack.supplier for pack in packs}) < 2:  # nothing to weigh
        return packs[0].supplier if packs else None
    return min(packs, key=lambda pack: pack_preference(kitchen, pack)).supplier


def _in_date(arrives: BoolColumn, keeps_days: int) -> BoolColumn:
    """Return on which days something that came that day or earlier is in date."""
    brought = np.concatenate([[0], np.cumsum(arrives)])
    days = np.arange(len(arrives))
    return np.asarray(brought[days + 1] > brought[np.maximum(days + 1 - keeps_days, 0)])
