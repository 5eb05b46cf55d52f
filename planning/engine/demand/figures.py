"""The figures of an explosion, one array for each kind."""

from dataclasses import dataclass

import numpy as np

from planning.engine.demand.bill import BillLevel
from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn


@dataclass(slots=True)
class Figures:
    """What is needed, made and left over; rows are nodes, columns are days.

    Needs stand on the day their parent is made (or the cake is due), batches on the
    day of making. Only the first day is ever late, so lateness has no column.
    """

    needed_base: FloatColumn
    net_base: FloatColumn  # of what is made and of parts: needed, less what lies ready
    batches: FloatColumn  # of a cake: how many
    surplus_base: FloatColumn  # of a part: left over, and used on no later day
    takes: FloatColumn  # takers by days: batches, or base cakes, that take something
    cakes_to_make: FloatColumn  # of each planned line
    is_need_late: BoolColumn  # needed on the first day by something late
    is_late: BoolColumn  # made on the first day, and late
    is_taker_late: BoolColumn
    days_late: IntColumn  # how long before the first day it should have been made

    @classmethod
    def empty(cls, shape: tuple[int, int], takes_shape: tuple[int, int]) -> "Figures":
        """Return figures of nothing at all."""
        return cls(
            needed_base=np.zeros(shape),
            net_base=np.zeros(shape),
            batches=np.zeros(shape),
            surplus_base=np.zeros(shape),
            takes=np.zeros(takes_shape),
            cakes_to_make=np.zeros(0),
            is_need_late=np.zeros(shape[0], dtype=np.bool_),
            is_late=np.zeros(shape[0], dtype=np.bool_),
            is_taker_late=np.zeros(takes_shape[0], dtype=np.bool_),
            days_late=np.zeros(shape[0], dtype=np.int64),
        )

    def mark_late(self, nodes: IntColumn, days_late: IntColumn) -> None:
        """Mark which of these are late: themselves, or because of what needs them.

        `days_late` says for each day of need how late its making is.
        """
        late_columns = np.flatnonzero(days_late > 0)
        has_net = self.net_base[np.ix_(nodes, late_columns)] > 0
        self.days_late[nodes] = (has_net * days_late[late_columns]).max(
            axis=1, initial=0
        )
        has_late_need = self.is_need_late[nodes] & (self.net_base[nodes, 0] > 0)
        self.is_late[nodes] = (self.days_late[nodes] > 0) | has_late_need
        self.is_late[nodes] &= self.batches[nodes, 0] > 0

    def pass_lateness_down(self, level: BillLevel) -> None:
        """Mark the needs of what the late makings of a level take."""
        is_late = self.is_taker_late[level.takers] & (self.takes[level.takers, 0] > 0)
        if is_late.any():
            self.is_need_late |= (level.matrix @ is_late.astype(np.float64)) > 0
