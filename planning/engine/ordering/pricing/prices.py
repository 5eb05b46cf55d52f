"""What deliveries cost an item, as the search for the best orders sees it."""

from typing import NamedTuple

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn


class Prices(NamedTuple):
    """What deliveries cost an item; a row a delivery of the problem, or an offer."""

    charge: FloatColumn  # for buying anything there
    rate: FloatColumn  # of each unit of money spent on goods
    is_closed: BoolColumn  # nothing can be bought there

    @classmethod
    def plain(cls, trucks: int) -> "Prices":
        """Return prices at which deliveries come free."""
        return cls(np.zeros(trucks), np.ones(trucks), np.zeros(trucks, dtype=np.bool_))

    def of(self, trucks: IntColumn) -> "Prices":
        """Return the prices of some of the deliveries."""
        return Prices(self.charge[trucks], self.rate[trucks], self.is_closed[trucks])
