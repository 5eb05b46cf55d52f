"""What an item asks of a whole programme: use, safety and par, and what is left over.

Every lot may be used on any day on which it is in date. That is no more freedom than
going by use-by has: to take the lot that goes out of date first, where another was
taken, leaves no less, and nothing staler, on any day. Amounts are counted in the
smallest pack.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.compact_model.lines import OfferEntries
from planning.engine.ordering.compact_model.programmes import (
    Entries,
    Programme,
    minus,
    times,
)
from planning.engine.ordering.pricing.dating import caps_base, without_dates
from planning.engine.ordering.pricing.keeping import KeepingStock, all_helped
from planning.engine.ordering.pricing.tasks import Task
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD

# The solver's presolve loses answers where factors are as small as its tolerances. So
# what is smaller than these is never a factor; where that matters at all, it leaves
# the programme too easy by as much, never too hard.
SMALL_FACTOR = 1e-3
SMALL_AMOUNT = 1e-4
LEAST_ROOM = 1e-5


@dataclass(frozen=True, slots=True)
class Spare:
    """What is left over above par of all that is in date for more than so many days."""

    days: int
    base: Entries
    there_base: float  # in it whatever is bought; below 0 where par is above it
    least_base: float  # it is never less than this in all


@dataclass(slots=True)
class ArrivingLot:
    """An amount that comes on one day, bought or not."""

    arrives: int
    usable: int
    use_by: int
    there_base: float = 0.0
    columns: OfferEntries | None = None
    taken: dict[int, int] = field(default_factory=dict)  # by day, the column


def add_shelf(programme: Programme, task: Task, offers: Sequence[OfferEntries]) -> None:
    """Add one item's needs, and the worth of what is left over."""
    sizes = [base for columns in offers for _, base in columns.base if base > 0]
    if sizes:
        size = min(sizes)
        task = _counted_in(size, task)
        offers = [
            replace(columns, base=times(columns.base, 1 / size)) for columns in offers
        ]
    if task.is_undated:
        _add_undated(programme, task, offers)
    else:
        _DatedShelf(programme, task, offers).add()


def _counted_in(size_base: float, task: Task) -> Task:
    """Return a task whose amounts are in another measure."""
    return replace(
        task,
        used_base=task.used_base / size_base,
        opening_base=task.opening_base / size_base,
        same_day_base=task.same_day_base / size_base,
        next_day_base=task.next_day_base / size_base,
        owed_base=task.owed_base / size_base,
        most_owed_base=task.most_owed_base / size_base,
        least_closing_base=task.least_closing_base / size_base,
        par_base=task.par_base / size_base,
        daily_base=task.daily_base / size_base,
        worth=task.worth * size_base,
        tolerance_base=task.tolerance_base / size_base,
        safety_base=task.safety_base / size_base,
        offers=tuple(
            replace(offer, amount_base=offer.amount_base / size_base)
            for offer in task.offers
        ),
    )


def _ask(
    programme: Programme,
    task: Task,
    offers: Sequence[OfferEntries],
    asked_base: FloatColumn,
    caps_base: FloatColumn,
) -> float:
    """Ask for what must have been bought up to each offer; return how much in all.

    What is asked for first at an offer is parted among the offers up to then, and none
    can give its part unless it comes (the facility-location form of lot sizing, which
    makes the bound strong). `caps_base` says how much of all that is bought
    up to an offer can be of use; it gives nothing beyond that.
    """
    so_far, most_asked = 0.0, 0.0
    gives: list[Entries] = [[] for _ in offers]
    for place, base in enumerate((asked_base - task.tolerance_base).tolist()):
        if base <= most_asked:
            continue
        most_asked, mine = base, offers[: place + 1]
        brings = [entry for columns in mine for entry in columns.base]
        programme.row(brings, lower=most_asked)
        more = most_asked - so_far
        if more <= SMALL_FACTOR:
            continue
        parts = []
        for columns, cap, given in zip(mine, caps_base, gives, strict=False):
            if cap > so_far:
                most = min(more, max(float(cap) - so_far, SMALL_FACTOR))
                parts.append(_part(programme, columns, most))
                given.append(parts[-1])
        programme.row(parts, lower=more)
        so_far = most_asked
    for columns, given in zip(offers, gives, strict=True):
        if given:
            programme.row([*columns.base, *minus(given)], lower=0.0)
    return most_asked


def _part(
    programme: Programme, columns: OfferEntries, most: float
) -> tuple[int, float]:
    """Return what an offer gives of what is asked for: at most so much, if it comes."""
    part = programme.column(0.0, most)
    if columns.open_ is not None:
        programme.row([(part, 1.0), *times(columns.open_, -most)], upper=0.0)
    return part, 1.0


def _add_worth(
    programme: Programme, task: Task, most_days: int, spares: Sequence[Spare]
) -> None:
    """Add what is left over is worth.

    The stalest is used first, as far as the average use takes it in date. So no more
    is of use than is used in so many days, and what is above par of the fresher stock.
    """
    most = most_days * task.daily_base
    if most * task.worth <= 0:
        return
    useful = programme.column(-task.worth, most)
    if most <= SMALL_AMOUNT:
        return
    for spare in spares:
        before = spare.days * task.daily_base
        entries = [(useful, 1.0), *minus(spare.base)]
        slack = max(0.0, -spare.least_base)
        if slack <= max(2 * task.tolerance_base, SMALL_AMOUNT):
            programme.row(entries, upper=before + spare.there_base + slack)
            continue
        is_some = programme.column(upper=1.0, is_whole=True)
        programme.row([(useful, 1.0), (is_some, before - most)], upper=before)
        programme.row(
            [*entries, (is_some, slack)], upper=before + spare.there_base + slack
        )


def _add_undated(
    programme: Programme, task: Task, offers: Sequence[OfferEntries]
) -> None:
    stock, course = KeepingStock(task), all_helped(task)
    asked = _ask(programme, task, offers, stock.asked_after, stock.caps_base)
    left = course.left_base[-1].copy()
    left[-1] = task.opening_base[-1] - course.last_used_base.sum()
    left[-1] += task.same_day_base[:, -1].sum() + task.next_day_base[:, -1].sum()
    days = _days_ahead(task)
    bought = [entry for columns in offers for entry in columns.base]
    spares = []
    for passed in sorted({0, *days.tolist()} - {int(days[-1])}):
        there = float(left[days > passed].sum() - course.owed_base[-1] - task.par_base)
        spares.append(Spare(passed, bought, there, there + asked))
    _add_worth(programme, task, int(days[-1]), spares)


def _days_ahead(task: Task) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Return for how many days after the last each class is in date, as it counts."""
    return np.clip(task.use_by - (task.days - 1), 0, MOST_DAYS_AHEAD)


class _DatedShelf:
    """Adds an item whose goods go out of date: what is taken of each lot, by day."""

    def __init__(
        self, programme: Programme, task: Task, offers: Sequence[OfferEntries]
    ) -> None:
        self._programme, self._task, self._offers = programme, task, offers
        self._lots = _lots_of(task, offers)
        self._room = max(task.tolerance_base, LEAST_ROOM)
        self._owed = [
            programme.column(0.0, float(most) + self._room)
            for most in task.most_owed_base
        ]

    def add(self) -> None:
        """Add all rows."""
        task = self._task
        undated = without_dates(task)
        stock = KeepingStock(undated, caps_base(task, undated)[0])
        _ask(self._programme, task, self._offers, stock.asked_after, stock.caps_base)
        for lot in self._lots:
            self._take(lot)
        for day in range(task.days):
            self._serve(day)
            self._close(day)
        self._add_worth()

    def _take(self, lot: ArrivingLot) -> None:
        """Let no more be taken than is there, and nothing that does not come."""
        task, columns = self._task, lot.columns
        for day in range(lot.usable, min(lot.use_by, task.days - 1) + 1):
            lot.taken[day] = self._programme.column()
            if columns is not None and columns.open_ is not None:
                before = task.most_owed_base[day - 1] if day else task.owed_base
                most = float(task.used_base[day] + before) + self._room
                if most > SMALL_FACTOR:
                    shut = times(columns.open_, -most)
                    self._programme.row([(lot.taken[day], 1.0), *shut], upper=0.0)
        if lot.taken:
            self._programme.row(self._left(lot, task.days), lower=-lot.there_base)

    def _left(self, lot: ArrivingLot, day: int) -> Entries:
        """Return what of a lot is left at the end of a day, beside what was there."""
        bought = lot.columns.base if lot.columns is not None else []
        return [
            *bought,
            *((column, -1.0) for on, column in lot.taken.items() if on <= day),
        ]

    def _serve(self, day: int) -> None:
        task = self._task
        entries: Entries = [(self._owed[day], 1.0)]
        needed = float(task.used_base[day])
        if day:
            entries.append((self._owed[day - 1], -1.0))
        else:
            needed += task.owed_base
        entries += [(lot.taken[day], 1.0) for lot in self._lots if day in lot.taken]
        self._programme.row(entries, needed, needed)

    def _close(self, day: int) -> None:
        """Ask for safety and par."""
        task = self._task
        least = float(task.least_closing_base[day])
        if least <= -task.most_owed_base[day]:
            return
        entries: Entries = [(self._owed[day], -1.0)]
        there = 0.0
        for lot in self._lots:
            if lot.arrives <= day <= lot.use_by:
                there += lot.there_base
                entries += self._left(lot, day)
        self._programme.row(entries, lower=least - task.tolerance_base - there)

    def _add_worth(self) -> None:
        task, last = self._task, self._task.days - 1
        ahead = [min(lot.use_by - last, MOST_DAYS_AHEAD) for lot in self._lots]
        most_days = max(ahead, default=0)
        owed_base = float(task.most_owed_base[-1]) + task.tolerance_base
        spares = []
        for passed in sorted({0, *(days for days in ahead if days > 0)} - {most_days}):
            lots = [
                lot
                for lot, days in zip(self._lots, ahead, strict=True)
                if days > passed
            ]
            least = -owed_base - task.par_base
            if not passed and 0 not in ahead:
                closing = float(task.least_closing_base[-1]) - task.tolerance_base
                least = max(least, closing - task.par_base)
            spares.append(
                Spare(
                    passed,
                    [
                        *(entry for lot in lots for entry in self._left(lot, last)),
                        (self._owed[-1], -1.0),
                    ],
                    sum(lot.there_base for lot in lots) - task.par_base,
                    least,
                )
            )
        _add_worth(self._programme, task, most_days, spares)


def _lots_of(task: Task, offers: Sequence[OfferEntries]) -> list[ArrivingLot]:
    """Return every lot of an item: there already, on its way, and to be bought."""
    use_by = task.use_by.tolist()
    found = [
        ArrivingLot(0, 0, last, amount)
        for last, amount in zip(use_by, task.opening_base.tolist(), strict=True)
    ]
    for comes, waits in ((task.same_day_base, 0), (task.next_day_base, 1)):
        for day, stock_class in np.argwhere(comes > 0).tolist():
            amount = float(comes[day, stock_class])
            found.append(ArrivingLot(day, day + waits, use_by[stock_class], amount))
    for columns in offers:
        offer = columns.offer
        usable = offer.arrives + offer.is_next_day
        last = use_by[offer.stock_class]
        found.append(ArrivingLot(offer.arrives, usable, last, columns=columns))
    return [lot for lot in found if lot.there_base > 0 or lot.columns is not None]
