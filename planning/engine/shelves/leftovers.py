"""What is left over when a plan ends, and how much of it will be used in time.

Left over is what stands above par after the last day, taken from the amounts that go
out of date first. It is of use as far as the plan's own average daily use would use
it up in date, for at most four weeks. Of an item with par no more than par is believed
to be used in a week: a heavy week is no reason to fill the store.
"""

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import FloatColumn
from planning.engine.shelves.expiry import use_up
from planning.engine.shelves.supplies import ON_HAND, Supplies

# How far ahead a use that is only an average is believed.
MOST_DAYS_AHEAD = 28
# Par is set for a week: by it more than this share of par a day is a heavy week.
PAR_LASTS_DAYS = 7


def daily_use_base(
    used_base: npt.NDArray[np.float64], par_base: FloatColumn
) -> FloatColumn:
    """Return, by column, the daily use that is believed in when the plan is over.

    `used_base` has a row a day and a column an item.
    """
    average_base = used_base.sum(axis=0) / len(used_base)
    most_base = np.where(par_base > 0.0, par_base / PAR_LASTS_DAYS, np.inf)
    return np.asarray(np.minimum(average_base, most_base))


def useful_leftover_base(
    supplies: Supplies, used_base: npt.NDArray[np.float64], par_base: FloatColumn
) -> FloatColumn:
    """Return, by row, how much of what is left over will be used in date."""
    days, rows = used_base.shape
    _, lots = use_up(supplies, used_base, np.arange(rows))
    closing_base = lots.left_base.sum(axis=0) - lots.owed_base
    spare_base = np.maximum(closing_base - par_base, 0.0)
    daily_base = daily_use_base(used_base, par_base)
    useful_base = np.zeros(rows)
    for left_base, use_by in zip(lots.left_base, lots.use_by, strict=True):
        taken_base = np.minimum(left_base, spare_base)
        spare_base = spare_base - taken_base
        days_ahead = np.clip(use_by - (days - 1), 0, MOST_DAYS_AHEAD)
        in_date_base = np.maximum(daily_base * days_ahead - useful_base, 0.0)
        useful_base = useful_base + np.minimum(taken_base, in_date_base)
    return useful_base


def never_expiring_balance_base(
    supplies: Supplies, used_base: npt.NDArray[np.float64]
) -> FloatColumn:
    """Return, by row, what would be left if nothing in date at the start went out.

    Never less than what a plan with the same supplies really ends with.
    """
    is_good = (supplies.use_by >= 0) | (supplies.arrives > ON_HAND)
    there_base = np.bincount(
        supplies.row[is_good],
        supplies.amount_base[is_good],
        minlength=used_base.shape[1],
    )
    return np.asarray(there_base - used_base.sum(axis=0))
