"""The best whole choice among known schedules: one an item, deliveries open or not.

The master problem over some of its columns, all of them whole: an integer programme.
"""

from collections.abc import Callable, Sequence

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.column_generation.master import (
    MasterColumn,
    Rows,
    State,
    States,
    is_decided_open,
    is_out,
    truck_modes,
)
from planning.engine.ordering.column_generation.solver import (
    INFINITY,
    Columns,
    Factors,
    Limits,
    LinearProgramme,
    programme_of,
    quiet_solver,
    set_limits,
)
from planning.engine.ordering.pricing.tasks import Choice


def best_choice(
    rows: Rows,
    columns: Sequence[MasterColumn],
    limits: Limits,
    states: States,
    should_stop: Callable[[], bool],
) -> dict[int, Choice] | None:
    """Return the best choice found, by task, or None.

    What has been decided about deliveries is kept to.

    The solver is not told of a choice that is known: with one, and its presolve, it
    has called worse choices the best.
    """
    model = _Model(rows, states)
    closed = {truck for truck, state in states.items() if state == State.CLOSED}
    columns = [column for column in columns if closed.isdisjoint(column.trucks)]
    for column in columns:
        model.add(column.net_cost, 1.0, *rows.column_entries(column))
    solver = quiet_solver()
    solver.passModel(model.lp())
    solver.setOptionValue("mip_rel_gap", 1e-5)
    set_limits(solver, limits, should_stop)
    solver.run()
    taken = np.array(solver.getSolution().col_value)
    if len(taken) < model.trucks + len(columns) or not solver.getSolution().value_valid:
        return None
    is_taken = taken[model.trucks : model.trucks + len(columns)] > 0.5
    found = {
        column.task: column.choice
        for column, is_in in zip(columns, is_taken.tolist(), strict=True)
        if is_in
    }
    return found if len(found) == rows.tasks else None


class _Model:
    """The integer programme, column by column."""

    def __init__(self, rows: Rows, states: States) -> None:
        self._rows, self._states = rows, states
        self._cost: list[float] = []
        self._upper: list[float] = []
        self._starts: list[int] = [0]
        self._index: list[np.ndarray[tuple[int], np.dtype[np.int64]]] = []
        self._value: list[FloatColumn] = []
        self._is_whole: list[bool] = []
        for truck in rows.shared:
            state = states.get(truck)
            for mode, (fee, goods) in enumerate(truck_modes(rows.terms[truck])):
                upper = 0.0 if is_out(state, mode) else 1.0
                self.add(fee, upper, *rows.truck_entries(truck, goods))
            filler = np.array([rows.value[truck]])
            self.add(1.0, INFINITY, filler, np.ones(1), is_whole=False)
        self.trucks = len(self._cost)

    def add(
        self,
        cost: float,
        upper: float,
        index: np.ndarray[tuple[int], np.dtype[np.int64]],
        value: FloatColumn,
        *,
        is_whole: bool = True,
    ) -> None:
        """Add a column."""
        self._cost.append(cost)
        self._upper.append(upper)
        self._index.append(index)
        self._value.append(value)
        self._starts.append(self._starts[-1] + len(index))
        self._is_whole.append(is_whole)

    def lp(self) -> LinearProgramme:
        """Return the programme."""
        lower, upper = self._rows.bounds()
        for truck, row in self._rows.once.items():
            if is_decided_open(self._states.get(truck)):
                lower[row] = 1.0
        nothing = [0.0] * len(self._cost)
        return programme_of(
            Columns(self._cost, nothing, self._upper, self._is_whole),
            lower,
            upper,
            Factors(
                self._starts,
                np.concatenate(self._index),
                np.concatenate(self._value),
                is_by_row=False,
            ),
        )
